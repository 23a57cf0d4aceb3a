package duct

import "math"

// Media is the law of a filter element: drop = A V + B V^2 in Pa with the face
// speed V in m/s. A (Pa s/m) is Darcy's part and goes with the viscosity, B
// (Pa s2/m2) is inertia of pleats and housing and goes with the density.
type Media struct{ A, B float64 }

// FitMedia is the law through two points of speed in m/s and drop in Pa.
func FitMedia(v1, drop1, v2, drop2 float64) Media {
	b := (drop2/v2 - drop1/v1) / (v2 - v1)
	return Media{A: drop1/v1 - b*v1, B: b}
}

// Drop is the loss in Pa at a speed in m/s.
func (m Media) Drop(v float64) float64 { return m.A*v + m.B*v*v }

// Exponent is the power of the flow with which the drop grows at a speed in m/s.
func (m Media) Exponent(v float64) float64 { return (m.A + 2*m.B*v) / (m.A + m.B*v) }

// ApparentExponent is the power that joins two points.
func ApparentExponent(v1, drop1, v2, drop2 float64) float64 {
	return math.Log(drop2/drop1) / math.Log(v2/v1)
}

// MediaArea is the area of paper in m2 for a volume flow in m3/s at a speed
// through the paper in m/s.
func MediaArea(flow, speed float64) float64 { return flow / speed }

const (
	// MediaSpeedLow and MediaSpeedHigh bound the recommended speed through the
	// paper of passenger car elements in m/s; 62 % of 44 elements lay within.
	// Source: Dziubak & Bakala, Problems of selecting filter partition in
	// passenger car engine intake air filters (PTNSS).
	MediaSpeedLow  = 0.06
	MediaSpeedHigh = 0.12
	// CleanDrop is the drop in Pa of a clean element at full load, LoadedDrop of
	// the same after about 50 000 km. Source: Combustion Engines, article 161881
	// (a truck element).
	CleanDrop  = 580
	LoadedDrop = 2024
	// pleating is the area of paper over the face of a pleated element: common
	// practice, no source.
	pleating = 30
	// linearShare is the share of the clean drop that goes with the first power of
	// flow: it makes the exponent 1.5, the middle of 1.2 to 1.8 (general filtration
	// literature, from memory, medium confidence).
	linearShare = 0.5
)

// element is the default law of a clean pleated element by its face: the
// published clean drop at the middle of the published range of paper speed, in
// air of 25 degC and 99 kPa.
var element = func() Media {
	v := pleating * math.Sqrt(MediaSpeedLow*MediaSpeedHigh)
	return Media{A: linearShare * CleanDrop / v, B: (1 - linearShare) * CleanDrop / (v * v)}
}()

// in gives the law in another air than the reference air.
func (m Media) in(air Air) Media {
	const viscosity, density = 1.83723e-5, 1.157118 // 25 degC, 99 kPa, dry
	return Media{A: m.A * air.Viscosity / viscosity, B: m.B * air.Density / density}
}

// ToStandard corrects a measured drop in Pa, of which a share is linear in flow,
// to air of another density and viscosity at the same volume flow, as a filter
// bench does: ratios are standard over test. The drop of ISO 5011 is then quoted
// at 25 degC and 100 kPa (from memory, medium confidence).
func ToStandard(drop, linear, densityRatio, viscosityRatio float64) float64 {
	return drop * (linear*viscosityRatio + (1-linear)*densityRatio)
}
