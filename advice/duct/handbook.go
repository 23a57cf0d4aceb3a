package duct

import "math"

// Air is what the laws need of the air: density in kg/m3, dynamic viscosity in
// Pa s. It has the shape of air.Gas.
type Air struct{ Density, Viscosity float64 }

// Piece is one piece of the path in SI units. A field at nought is unknown.
type Piece struct {
	Kind          string  // mouth, duct, box-entry, filter, box-exit, meter, resonator, screen, throttle, other
	Diameter      float64 // m
	Width, Height float64 // m, of a rectangular passage; they beat Diameter
	Length        float64 // m along the centre line, bends included
	Edge          string  // protruding, flush, rounded, bellmouth
	Radius        float64 // m, of a rounded edge
	Wall          float64 // m, wall thickness of a protruding edge
	Surface       string  // smooth, ribbed
	Bends         []Bending
	Face          float64 // m2, of a filter
	OpenArea      float64 // share, of a screen
	Share         float64 // share of the flow that this piece carries; 0 is all of it
	Before        float64 // m, bore of the passage before, where the air arrives moving; for the step into this piece
}

// Bending is one bend of a duct: angle in rad, centre-line radius in m.
type Bending struct{ Angle, Radius float64 }

// Loss is what the handbook expects of a piece at one flow.
type Loss struct {
	MedianPa float64
	// LogSD is the standard deviation of ln(loss): scatter of handbook figures in a
	// real intake, spread between authors, and what isn't known of the geometry.
	LogSD float64
	// Known is false where the bore (of a filter the face) is missing and the loss
	// rests on the air speed that is usual for the kind.
	Known bool
	// Source names what the figures rest on. The slices are shared: don't change them.
	Source []string
	// Best is the loss in Pa of a well-made piece of the kind at the same bore and
	// flow.
	Best float64
	// Fixed is true where nothing can be won back at the same bore: meter, throttle.
	Fixed bool
	// LinearPa is the part of MedianPa that goes with the first power of the flow;
	// the rest goes with its square.
	LinearPa float64
}

// Exponent is the power of the flow with which the loss grows near its flow.
func (l Loss) Exponent() float64 {
	if l.MedianPa <= 0 {
		return 2
	}
	return 2 - l.LinearPa/l.MedianPa
}

// At gives a loss in Pa at another flow and air: ratios new over old of mass
// flow, density and viscosity. The square part goes with m^2/rho, the linear
// part with mu m/rho.
func (l Loss) At(lossPa, mass, density, viscosity float64) float64 {
	linear := 2 - l.Exponent()
	return lossPa * mass / density * (linear*viscosity + (1-linear)*mass)
}

// Scatter and typical values of the handbook, with their reasons.
const (
	// scatter is the log standard deviation of a handbook loss in a real intake:
	// handbook curves are read to 5 % at best and hold for fittings five bores
	// apart; nearer ones are good to 20-30 % (from memory, medium confidence).
	scatter = 0.25
	// speed is the usual air speed in m/s at full load where no bore is known:
	// 60-75 mm for 100 g/s gives 20-31 m/s (common practice, no source). speedSD is
	// its scatter; the head goes with the square.
	speed   = 27.0
	speedSD = 0.30
	// screenSpeed is the same for a screen, which is put where the passage is wide
	// (common practice, no source).
	screenSpeed = 15.0
	// smoothWall is the height of roughness in m of moulded plastic and drawn tube:
	// 1.5e-6 for drawn tubing (Moody 1944, from memory).
	smoothWall = 1.5e-6
	// ribbedFriction is the Darcy friction factor of ribbed hose, the geometric
	// middle of 0.04 to 0.10 (from memory, medium confidence), ribbedSD a quarter of
	// that range.
	ribbedFriction = 0.063
	ribbedSD       = 0.25
	// ribbedTurning is the factor on the turning loss of a bend in ribbed hose, the
	// limit of Miller's correction for roughness (from memory, medium confidence).
	ribbedTurning   = 1.4
	ribbedTurningSD = 0.25
	// bestBend is the radius over bore of a well-made bend.
	bestBend = 1.5
)

var (
	sourceMouth    = []string{"Idel'chik (1966)", "ACGIH (2001)", "Crane TP-410 (2009)"}
	sourceBell     = []string{"ACGIH (2001)"}
	sourceRounded  = []string{"Idel'chik (1966)", "Crane TP-410 (2009)"}
	sourceFree     = []string{"Idel'chik diagram 3-4 (from memory)"}
	sourceEntry    = []string{"Borda-Carnot"}
	sourceGradual  = []string{"Borda-Carnot", "Rennels & Hudson (2012)", "Idel'chik (1966)", "Crane TP-410 (2009)"}
	sourceStraight = []string{"Colebrook"}
	sourceBent     = []string{"Colebrook", "Rennels & Hudson (2012)", "Miller (1990)"}
	sourceRibbed   = []string{"ribbed hose, f 0.04-0.10 (from memory)", "Rennels & Hudson (2012)", "Miller (1990)"}
	sourceFilter   = []string{"Dziubak & Bakala, PTNSS", "Combustion Engines 161881"}
	sourceMeter    = []string{"meter body, K 0.2-0.8 (from memory)"}
	sourceScreen   = []string{"Blevins (1984)"}
	sourcePractice = []string{"common practice, no source"}
)

// Handbook is the expected loss of a piece at a mass flow in kg/s. A missing
// field widens the answer, it never stops it; an unknown kind counts as other.
// A flow, density or viscosity that isn't above nought gives a zero Loss.
func Handbook(p Piece, massFlow float64, air Air) Loss {
	if !(massFlow > 0 && air.Density > 0 && air.Viscosity > 0) {
		return Loss{}
	}
	if p.Share > 0 {
		massFlow *= p.Share
	}
	f := flowIn(p, massFlow, air)
	switch p.Kind {
	case "mouth":
		return f.mouth(p)
	case "duct":
		return f.duct(p)
	case "box-entry":
		return f.boxEntry(p)
	case "filter":
		return filter(p, massFlow, air)
	case "box-exit":
		return f.boxExit(p)
	case "meter":
		return f.meter(p)
	case "resonator":
		return f.resonator(p)
	case "screen":
		return f.screen(p)
	case "throttle":
		return f.throttle(p)
	}
	return f.other(p)
}

// passage is the air in the bore of one piece.
type passage struct {
	massFlow float64
	air      Air
	bore     float64 // hydraulic diameter, m
	area     float64 // m2
	head     float64 // Pa
	re       float64 // effective, for friction
	known    bool
	smooth   float64 // friction factor of a smooth wall; 0 until asked for
}

func flowIn(p Piece, massFlow float64, air Air) *passage {
	f := &passage{massFlow: massFlow, air: air, known: true}
	shape := 1.0
	switch {
	case p.Width > 0 && p.Height > 0:
		f.area = p.Width * p.Height
		f.bore = HydraulicDiameter(p.Width, p.Height)
		shape = EffectiveReynolds(1, p.Width, p.Height)
	case p.Diameter > 0:
		f.area, f.bore = area(p.Diameter), p.Diameter
	default:
		usual := speed
		if p.Kind == "screen" {
			usual = screenSpeed
		}
		f.area = massFlow / (air.Density * usual)
		f.bore = math.Sqrt(f.area * 4 / math.Pi)
		f.known = false
	}
	g := massFlow / f.area
	f.head = g * g / (2 * air.Density)
	f.re = g * f.bore / air.Viscosity * shape
	return f
}

// tally adds up the parts of a loss in heads of the passage.
type tally struct{ k, variance, linear float64 }

func (t *tally) add(k, logSD, exponent float64) {
	t.k += k
	t.variance += k * logSD * k * logSD
	t.linear += k * (2 - exponent)
}

// loss closes a tally: the handbook's scatter is common to its parts, the doubt
// about each part is its own, and where the bore is a guess so is the head.
func (f *passage) loss(t tally, best float64, source []string) Loss {
	v := scatter * scatter
	if t.k > 0 {
		v += t.variance / (t.k * t.k)
	}
	if !f.known {
		v += 4 * speedSD * speedSD
	}
	return Loss{
		MedianPa: t.k * f.head,
		LogSD:    math.Sqrt(v),
		Known:    f.known,
		Source:   source,
		Best:     min(best, t.k) * f.head,
		LinearPa: t.linear * f.head,
	}
}

func (f *passage) mouth(p Piece) Loss {
	k, sd, source := mouthLoss(p, f.bore)
	var t tally
	t.add(k, sd, 2)
	best := Bellmouth
	if p.Length > 0 {
		best += f.straight(&t, p.Length, p.Surface)
	}
	return f.loss(t, best, source)
}

// mouthLoss is K of an opening to the free air, which seldom has a wall round it.
func mouthLoss(p Piece, bore float64) (k, logSD float64, source []string) {
	switch p.Edge {
	case "bellmouth":
		// Bends and panels close by spoil so small a loss easily.
		return Bellmouth, 0.4, sourceBell
	case "flush":
		return SharpFlush, 0, sourceMouth
	case "rounded":
		if p.Radius > 0 {
			return RoundedFree(p.Radius / bore), 0.2, sourceFree
		}
		// A radius of 0.03 to 0.15 bores is usual (common practice, no source).
		return RoundedFree(0.08), 0.6, sourceFree
	case "protruding":
		if p.Wall > 0 {
			return Projecting(p.Wall/bore, 10), 0.1, sourceMouth
		}
		// By wall thickness from 0.5 (thick) to 0.94 (thin); Crane's 0.78 for any
		// wall lies in the middle.
		return ThickProjecting, 0.15, sourceMouth
	}
	// Anything from a bellmouth to a thin-walled end; most are plain.
	return 0.6, 0.5, sourceMouth
}

func (f *passage) boxExit(p Piece) Loss {
	var t tally
	source := sourceRounded
	switch {
	case p.Edge == "bellmouth":
		t.add(Bellmouth, 0.4, 2)
		source = sourceBell
	case p.Edge == "rounded" && p.Radius > 0:
		r := p.Radius / f.bore
		i, c := RoundedIdelchik(r), RoundedCrane(r)
		t.add((i+c)/2, math.Abs(math.Log(i/c))/2+0.1, 2)
	case p.Edge == "rounded":
		t.add(Rounded(0.08), 0.6, 2)
	case p.Edge == "protruding" && p.Wall > 0:
		t.add(Projecting(p.Wall/f.bore, 10), 0.1, 2)
	case p.Edge == "protruding":
		t.add(ThickProjecting, 0.15, 2)
		source = sourceMouth
	case p.Edge == "flush":
		t.add(SharpFlush, 0, 2)
		source = sourceMouth
	default:
		// Sharp, or with the small radius of a moulding.
		t.add(0.42, 0.4, 2)
		source = sourceMouth
	}
	best := Bellmouth
	if p.Length > 0 {
		best += f.straight(&t, p.Length, p.Surface)
	}
	return f.loss(t, best, source)
}

// gradualEntry is K of the best entry into a box that finds room in a car: a
// cone of 20 degrees to twice the area, then a dump of the quarter of the head
// that is left.
var gradualEntry, gradualEntrySD = func() (float64, float64) {
	k, sd := Diffuser(1, math.Sqrt2, math.Pi/9, 0.02)
	return k + Dump/4, sd
}()

func (f *passage) boxEntry(p Piece) Loss {
	var t tally
	source := sourceEntry
	if p.Edge == "bellmouth" {
		t.add(gradualEntry, gradualEntrySD, 2)
		source = sourceGradual
	} else {
		t.add(Dump, 0, 2)
	}
	best := gradualEntry + f.step(&t, p.Before)
	if p.Length > 0 {
		best += f.straight(&t, p.Length, p.Surface)
	}
	return f.loss(t, best, source)
}

func (f *passage) smoothFriction() float64 {
	if f.smooth == 0 {
		f.smooth = Friction(f.re, smoothWall/f.bore)
	}
	return f.smooth
}

// friction gives the friction factor of a wall, its log standard deviation and
// the exponent of the loss.
func (f *passage) friction(surface string) (factor, logSD, exponent float64) {
	smooth := f.smoothFriction()
	ribbed := max(ribbedFriction, smooth)
	if surface == "ribbed" {
		return ribbed, ribbedSD, 2
	}
	exponent = frictionExponent(f.re, smoothWall/f.bore)
	if surface == "smooth" {
		return smooth, 0.1, exponent
	}
	// Smooth or ribbed, nobody said: the middle of the two, half the way to each.
	return math.Sqrt(smooth * ribbed), math.Log(ribbed/smooth) / 2, (exponent + 2) / 2
}

// straight adds the friction of a straight length in m and gives that of a
// smooth wall, both in heads.
func (f *passage) straight(t *tally, length float64, surface string) (best float64) {
	factor, sd, exponent := f.friction(surface)
	t.add(factor*length/f.bore, sd, exponent)
	return f.smoothFriction() * length / f.bore
}

func (f *passage) duct(p Piece) Loss {
	var t tally
	best := f.step(&t, p.Before)
	straight, source := p.Length, sourceStraight
	if len(p.Bends) > 0 {
		source = sourceBent
		arcs, bent := f.bends(&t, p)
		best += bent
		straight -= arcs
	}
	switch {
	case p.Length > 0 && straight > 0:
		best += f.straight(&t, straight, p.Surface)
	case p.Length == 0 && len(p.Bends) == 0:
		// Some five bores of duct with a bend (common practice, no source).
		best += f.undescribed(&t, p.Surface)
		source = sourcePractice
	case p.Length == 0:
		// The straight parts between bends: three bores, unseen.
		factor, _, exponent := f.friction(p.Surface)
		t.add(3*factor, 0.6, exponent)
		best += 3 * f.smoothFriction()
	}
	if p.Surface == "ribbed" {
		source = sourceRibbed
	}
	return f.loss(t, best, source)
}

// undescribed adds a duct of which only the bore is known, if that.
func (f *passage) undescribed(t *tally, surface string) (best float64) {
	factor, sd, exponent := f.friction(surface)
	t.add(5*factor, sd+0.5, exponent)
	smooth := f.smoothFriction()
	bend, _ := Bend(1, math.Pi/2, smooth)
	t.add(bend, 0.7, frictionExponent(f.re, smoothWall/f.bore))
	good, _ := Bend(bestBend, math.Pi/2, smooth)
	return 5*smooth + good
}

// bends adds the bends of a duct and gives the length in m of their arcs and the
// loss of well-made bends of the same angles, in heads.
func (f *passage) bends(t *tally, p Piece) (arcs, best float64) {
	smooth := f.smoothFriction()
	wall, wallSD, wallExponent := f.friction(p.Surface)
	exponent := frictionExponent(f.re, smoothWall/f.bore)
	// 0 for a smooth wall, 1 for a ribbed one.
	rough := 0.0
	if wall > smooth {
		rough = math.Log(wall/smooth) / math.Log(ribbedFriction/smooth)
	}
	turn, turnSD := math.Pow(ribbedTurning, rough), math.Hypot(rough*ribbedTurningSD, wallSD/2)
	for _, b := range p.Bends {
		angle, sd := b.Angle, 0.0
		if angle <= 0 {
			// A bend that somebody thought worth noting (common practice, no source).
			angle, sd = math.Pi/3, 0.4
		}
		radius := b.Radius / f.bore
		if radius <= 0 {
			// Moulded ducts turn as tightly as about one bore (common practice, no source).
			radius, sd = 1, sd+0.35
		}
		k, authors := Bend(radius, angle, smooth)
		arc := angle * radius
		// A rougher wall adds friction along the arc and raises what turning costs.
		// By Rennels turning goes with the friction factor but for 0.10 sin(angle/2),
		// so it falls a little with Reynolds number.
		turning := turn * max(k-smooth*arc, 0)
		falling := max(turning-turn*0.10*math.Sin(angle/2), 0)
		k = turning + wall*arc
		linear := falling*(2-exponent) + wall*arc*(2-wallExponent)
		t.add(k, math.Sqrt(sd*sd+authors*authors+turnSD*turnSD), 2-linear/k)

		good, _ := Bend(max(radius, bestBend), angle, smooth)
		best += min(good, k)
		arcs += arc * f.bore
	}
	return arcs, best
}

// step adds the change of bore from the passage before and gives the loss of a
// slow taper instead, both in heads of this passage.
func (f *passage) step(t *tally, before float64) (best float64) {
	if before <= 0 || !f.known {
		return 0
	}
	here := math.Sqrt(f.area * 4 / math.Pi)
	switch {
	case before > here*1.02:
		t.add(Contraction(before, here), 0.2, 2)
		return 0.02
	case before < here*0.98:
		// The heads of the two bores are as the inverse squares of the areas.
		ratio := areaRatio(here, before)
		ratio *= ratio
		t.add(Expansion(before, here)*ratio, 0.1, 2)
		k, _ := Diffuser(before, here, math.Pi/18, 0.02)
		return k * ratio
	}
	return 0
}

// filter is a clean pleated element.
func filter(p Piece, massFlow float64, air Air) Loss {
	l := Loss{Source: sourceFilter, LogSD: 0.65}
	law, v := element.in(air), pleating*math.Sqrt(MediaSpeedLow*MediaSpeedHigh)
	if p.Face > 0 {
		// The face is known, the depth and number of the pleats aren't: paper speeds
		// in cars span a factor of two.
		v, l.Known, l.LogSD = massFlow/(air.Density*p.Face), true, 0.45
	}
	l.MedianPa = law.Drop(v)
	l.Best = l.MedianPa
	l.LinearPa = law.A * v
	return l
}

// meter: K 0.2-0.8, centre 0.35, varies by make (from memory, medium confidence).
func (f *passage) meter(p Piece) Loss {
	var t tally
	t.add(0.35, 0.4, 2)
	f.step(&t, p.Before)
	return f.loss(t, 0, sourceMeter).fixed()
}

// throttle: a thin plate and its shaft in a bore, wide open: K 0.2-0.5 (common
// practice, no source).
func (f *passage) throttle(p Piece) Loss {
	var t tally
	t.add(0.3, 0.45, 2)
	f.step(&t, p.Before)
	return f.loss(t, 0, sourcePractice).fixed()
}

// fixed marks a loss of which nothing can be won back.
func (l Loss) fixed() Loss {
	l.Best, l.Fixed = l.MedianPa, true
	return l
}

// resonator: a side branch costs little, a chamber that the air passes costs an
// expansion and a contraction, 0.1-0.9 (common practice, no source; the sum of
// step losses is the upper end).
func (f *passage) resonator(p Piece) Loss { return f.vague(p, 0.3, 0.65) }

// vague is a piece whose loss is known by its kind alone: k with a log SD, and
// what its step and its length add.
func (f *passage) vague(p Piece, k, logSD float64) Loss {
	var t tally
	t.add(k, logSD, 2)
	best := f.step(&t, p.Before)
	if p.Length > 0 {
		best += f.straight(&t, p.Length, p.Surface)
	}
	return f.loss(t, best+0.05, sourcePractice)
}

// screen: perforated plate and round wire of the same open area are the two
// ends; the middle is taken. The best is a coarse wire mesh, 80 % open.
func (f *passage) screen(p Piece) Loss {
	open, sd := p.OpenArea, 0.0
	if open <= 0 || open >= 1 {
		// Meshes and grilles in cars, 0.5 to 0.8 open (common practice, no source).
		open, sd = 0.65, 0.5
	}
	plate, wire := ScreenSquare(open), ScreenWire(open, 400)
	var t tally
	if plate > 0 && wire > 0 {
		half := math.Log(plate/wire) / 2
		t.add(math.Sqrt(plate*wire), math.Hypot(half, sd), 2)
	} else {
		t.add(max(plate, wire), 0.5, 2)
	}
	return f.loss(t, ScreenWire(0.8, 400), sourceScreen)
}

// other: a piece of which nothing is said but that it is there.
func (f *passage) other(p Piece) Loss { return f.vague(p, 0.4, 1.0) }
