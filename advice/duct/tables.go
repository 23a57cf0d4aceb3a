package duct

// The tables below are handbook figures taken over as they are printed. Figures
// read from curves are good to 5 % at best. Where an author gives no figure
// for a point, his curve passes over it.

// reentrant is K of a mouth that stands out of a wall: wall thickness over bore
// down, length of the part that stands out over bore across. Source: Idel'chik,
// Handbook of Hydraulic Resistance (1966).
var reentrant = grid{
	across: []float64{0, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 10},
	down:   []float64{0.0, 0.004, 0.008, 0.012, 0.016, 0.02, 0.024, 0.03, 0.04, 0.05, 1.0},
	k: [][]float64{
		{0.5, 0.57, 0.63, 0.68, 0.73, 0.8, 0.86, 0.92, 0.97, 1, 1},
		{0.5, 0.54, 0.58, 0.63, 0.67, 0.74, 0.8, 0.86, 0.9, 0.94, 0.94},
		{0.5, 0.53, 0.55, 0.58, 0.62, 0.68, 0.74, 0.81, 0.85, 0.88, 0.88},
		{0.5, 0.52, 0.53, 0.55, 0.58, 0.63, 0.68, 0.75, 0.79, 0.83, 0.83},
		{0.5, 0.51, 0.51, 0.53, 0.55, 0.58, 0.64, 0.7, 0.74, 0.77, 0.77},
		{0.5, 0.51, 0.51, 0.52, 0.53, 0.55, 0.6, 0.66, 0.69, 0.72, 0.72},
		{0.5, 0.5, 0.5, 0.51, 0.52, 0.53, 0.58, 0.62, 0.65, 0.68, 0.68},
		{0.5, 0.5, 0.5, 0.51, 0.52, 0.52, 0.54, 0.57, 0.59, 0.61, 0.61},
		{0.5, 0.5, 0.5, 0.51, 0.51, 0.51, 0.51, 0.52, 0.52, 0.54, 0.54},
		{0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5},
		{0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5},
	},
}

// bevelled is K of a flush mouth with a conical bevel: bevel length over bore
// down, full cone angle in degrees across. Source: Idel'chik (1966).
var bevelled = grid{
	across: []float64{0, 10, 20, 30, 40, 60, 100, 140, 180},
	down:   []float64{0.025, 0.05, 0.075, 0.1, 0.15, 0.6},
	k: [][]float64{
		{0.5, 0.47, 0.45, 0.43, 0.41, 0.4, 0.42, 0.45, 0.5},
		{0.5, 0.45, 0.41, 0.36, 0.33, 0.3, 0.35, 0.42, 0.5},
		{0.5, 0.42, 0.35, 0.3, 0.26, 0.23, 0.3, 0.4, 0.5},
		{0.5, 0.39, 0.32, 0.25, 0.22, 0.18, 0.27, 0.38, 0.5},
		{0.5, 0.37, 0.27, 0.2, 0.16, 0.15, 0.25, 0.37, 0.5},
		{0.5, 0.27, 0.18, 0.13, 0.11, 0.12, 0.23, 0.36, 0.5},
	},
}

// diffuser is the expansion part of K of a conical diffuser on the head at its
// narrow end, without wall friction: narrow area over wide area down, full cone
// angle in degrees across. Source: Idel'chik (1966).
var diffuser = grid{
	across: []float64{3, 6, 8, 10, 12, 14, 16, 20, 24, 30, 40, 60, 90, 180},
	down:   []float64{0, 0.05, 0.075, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6},
	k: [][]float64{
		{0.03, 0.08, 0.11, 0.15, 0.19, 0.23, 0.27, 0.36, 0.47, 0.65, 0.92, 1.15, 1.1, 1.02},
		{0.03, 0.07, 0.1, 0.14, 0.16, 0.2, 0.24, 0.32, 0.42, 0.58, 0.83, 1.04, 0.99, 0.92},
		{0.03, 0.07, 0.09, 0.13, 0.16, 0.19, 0.23, 0.3, 0.4, 0.55, 0.79, 0.99, 0.95, 0.88},
		{0.03, 0.07, 0.09, 0.12, 0.15, 0.18, 0.22, 0.29, 0.38, 0.52, 0.75, 0.93, 0.89, 0.83},
		{0.02, 0.06, 0.08, 0.11, 0.14, 0.17, 0.2, 0.26, 0.34, 0.46, 0.67, 0.84, 0.79, 0.74},
		{0.02, 0.05, 0.07, 0.1, 0.12, 0.15, 0.17, 0.23, 0.3, 0.41, 0.59, 0.74, 0.7, 0.65},
		{0.02, 0.05, 0.06, 0.08, 0.1, 0.13, 0.15, 0.2, 0.26, 0.35, 0.47, 0.65, 0.62, 0.58},
		{0.02, 0.04, 0.05, 0.07, 0.09, 0.11, 0.13, 0.18, 0.23, 0.31, 0.4, 0.57, 0.54, 0.5},
		{0.01, 0.03, 0.04, 0.06, 0.07, 0.08, 0.1, 0.13, 0.17, 0.23, 0.33, 0.41, 0.39, 0.37},
		{0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07, 0.09, 0.12, 0.16, 0.23, 0.29, 0.28, 0.26},
		{0.01, 0.01, 0.02, 0.03, 0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.15, 0.18, 0.17, 0.16},
	},
}

// roundedIdelchik is K of a flush mouth with a rounded edge against edge radius
// over bore. Source: Idel'chik (1966).
var roundedIdelchik = curve{
	x: []float64{0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.12, 0.16, 0.2},
	y: []float64{0.5, 0.44, 0.37, 0.31, 0.26, 0.22, 0.2, 0.15, 0.09, 0.06, 0.03},
}

// roundedCrane is the same by Crane TP-410 (2009).
var roundedCrane = curve{
	x: []float64{0, 0.02, 0.04, 0.06, 0.1, 0.15, 0.2},
	y: []float64{0.5, 0.28, 0.24, 0.15, 0.09, 0.04, 0.04},
}

// roundedHarris is the same by Harris, as coded in the reference library fluids
// 1.3.1.
var roundedHarris = curve{
	x: []float64{0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.12, 0.16},
	y: []float64{0.44, 0.35, 0.28, 0.22, 0.17, 0.13, 0.1, 0.07, 0.03, 0},
}

// roundedUnflanged is K of a rounded mouth that stands free, with no wall round
// it. Source: Idel'chik diagram 3-4, ASHRAE ED1-2 (from memory, medium
// confidence).
var roundedUnflanged = curve{
	x: []float64{0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.12, 0.16, 0.2},
	y: []float64{1.0, 0.87, 0.74, 0.61, 0.51, 0.4, 0.32, 0.2, 0.15, 0.1, 0.06, 0.03},
}

// mitreCrane is K of a mitre bend over the friction factor of fully turbulent
// flow, against the angle in degrees. Source: Crane TP-410 (2009).
var mitreCrane = curve{
	x: []float64{0, 15, 30, 45, 60, 75, 90},
	y: []float64{2, 4, 8, 15, 25, 40, 60},
}

// mitreBlevins is K of a mitre bend at Re 2e5 against the angle in degrees.
// Source: Blevins, Applied Fluid Dynamics Handbook (1984).
var mitreBlevins = curve{
	x: []float64{0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 120},
	y: []float64{0, 0.025, 0.055, 0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 1.1, 1.5},
}

// screenSquare is K on the approach head of a perforated plate or square-edged
// screen against its share of open area. Source: Blevins (1984).
var screenSquare = curve{
	x: []float64{0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 1.0},
	y: []float64{250, 85, 52, 30, 17, 11, 7.7, 5.5, 3.8, 2.8, 2, 1.5, 1.1, 0.78, 0.53, 0.35, 0.08, 0},
}

// screenWire is the factor beta of a round-wire screen against the Reynolds
// number of the wire. Source: Blevins (1984).
var screenWire = curve{
	x: []float64{20, 30, 40, 60, 80, 100, 200, 400},
	y: []float64{1.3, 1.1, 0.95, 0.83, 0.75, 0.7, 0.6, 0.52},
}

// bendCrane is K of a smooth 90 degree bend over the friction factor of fully
// turbulent flow, against centre-line radius over bore. Source: Crane TP-410
// (2009) (from memory, high confidence).
var bendCrane = curve{
	x: []float64{1, 1.5, 2, 3, 4, 6, 8, 10, 12, 14, 16, 20},
	y: []float64{20, 14, 12, 12, 14, 17, 24, 30, 34, 38, 42, 50},
}

// bendMiller is K of a smooth 90 degree bend at Re 1e5 in a smooth duct against
// centre-line radius over bore. Source: Miller, Internal Flow Systems (1990),
// as digitised in the reference library fluids 1.3.1.
var bendMiller = curve{
	x: []float64{0.75, 1, 1.5, 2, 3, 5},
	y: []float64{0.4813, 0.3083, 0.2449, 0.2187, 0.2103, 0.2561},
}

// bendMillerAngle is K of a bend of radius over bore 1 against its angle in
// degrees, of the same source.
var bendMillerAngle = curve{
	x: []float64{0, 30, 45, 60, 90},
	y: []float64{0, 0.061, 0.107, 0.167, 0.3083},
}

// curve is a table of one variable, read by straight lines between its points
// and held at its ends.
type curve struct{ x, y []float64 }

func (c curve) at(x float64) float64 {
	i, w := between(c.x, x)
	if w == 0 {
		return c.y[i]
	}
	return c.y[i] + w*(c.y[i+1]-c.y[i])
}

// grid is a table of two variables, read by straight lines both ways and held
// at its edges.
type grid struct {
	across, down []float64
	k            [][]float64
}

func (g grid) at(down, across float64) float64 {
	i, w := between(g.down, down)
	k := row(g.k[i], g.across, across)
	if w == 0 {
		return k
	}
	return k + w*(row(g.k[i+1], g.across, across)-k)
}

func row(k, across []float64, x float64) float64 {
	i, w := between(across, x)
	if w == 0 {
		return k[i]
	}
	return k[i] + w*(k[i+1]-k[i])
}

// between gives the point at or before x and the share of the way to the next;
// beyond the ends the share is nought.
func between(xs []float64, x float64) (int, float64) {
	if x <= xs[0] {
		return 0, 0
	}
	for i := 1; i < len(xs); i++ {
		if x < xs[i] {
			return i - 1, (x - xs[i-1]) / (xs[i] - xs[i-1])
		}
	}
	return len(xs) - 1, 0
}
