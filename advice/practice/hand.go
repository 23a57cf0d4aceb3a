package practice

import "math"

// Hand is who made the cars: the same trade, another character. An estimator
// that suits one hand only has been tuned to it.
type Hand int

// Hands.
const (
	Draughtsman Hand = iota // near the handbooks: single fittings, normal scatter
	Fitter                  // fittings that disturb each other, other authors' figures
	Tinker                  // rough work: long tails, worn parts, hasty readers
)

// Hands lists them all.
func Hands() []Hand { return []Hand{Draughtsman, Fitter, Tinker} }

// String names a hand.
func (h Hand) String() string {
	return [...]string{"draughtsman", "fitter", "tinker"}[h]
}

// manner is the physics and the habits of one hand. Shares are of 1.
type manner struct {
	protruding, sharp, flared float64 // loss coefficients of an edge
	discharge                 float64 // of a duct that blows into a box
	expansion                 float64 // share of the sudden-expansion loss that a step costs
	bend                      func(ratio float64) float64
	friction                  func(reynolds, roughness float64) float64
	meet                      func(d dice, nearness, stir float64) float64

	scatter   float64    // of a component's coefficient, sd of the logarithm
	long      bool       // scatter and noise have long tails
	lumps     float64    // chance of a step, seam or rag that nobody sees
	exponent  [2]float64 // range of the flow exponent of ducts and edges
	viscous   [2]float64 // range of the viscous share of a clean element
	profile   [2]float64 // range of the velocity-head factor at a wall tap
	tap       float64    // sd of a wall tap's own error, share of the velocity head
	bore      float64    // manufacturing scatter of a bore, sd of the logarithm
	heating   [2]float64 // range of the warming of the air on its way, K
	noise     [2]float64 // run-to-run scatter: range of the share of the reading
	floor     [2]float64 // and of the fixed part, Pa
	tape      float64    // sd of the tape on a bore, m
	outside   float64    // chance that a hose was measured over its outside
	unlikely  float64    // chance that an edge is described wrongly
	unread    float64    // chance that a reading could not be read
	nonlinear float64    // gauge: amplitude of its curve, share of its accuracy
}

// Coefficients lie within what authors give for the same fitting (entry losses:
// 0.50, 0.51 and 0.57 for a sharp edge, 0.93 to 1.0 for an open end, 0.03 to 0.09
// for r/D 0.12 to 0.2; bends: Rennels against Miller). The rest is our choice.
var manners = [...]manner{
	Draughtsman: {
		protruding: 0.93, sharp: 0.50, flared: 0.05, discharge: 1.0, expansion: 0.8,
		bend: bendShallow, friction: frictionImplicit, meet: meetLittle,
		scatter: 0.15, lumps: 0.05, exponent: [2]float64{1.85, 2.0}, viscous: [2]float64{0.3, 0.6},
		profile: [2]float64{1.01, 1.06}, tap: 0.02, bore: 0.006, heating: [2]float64{0, 3},
		noise: [2]float64{0.010, 0.022}, floor: [2]float64{8, 25}, tape: 0.0005, unlikely: 0.02, unread: 0.005, nonlinear: 0.2,
	},
	Fitter: {
		protruding: 0.85, sharp: 0.57, flared: 0.08, discharge: 1.06, expansion: 0.6,
		bend: bendSteep, friction: frictionExplicit, meet: meetStirred,
		scatter: 0.12, lumps: 0.08, exponent: [2]float64{1.8, 2.0}, viscous: [2]float64{0.4, 0.8},
		profile: [2]float64{1.02, 1.10}, tap: 0.03, bore: 0.010, heating: [2]float64{0, 6},
		noise: [2]float64{0.012, 0.028}, floor: [2]float64{10, 30}, tape: 0.0008, unlikely: 0.03, unread: 0.01, nonlinear: 0.35,
	},
	Tinker: {
		protruding: 0.98, sharp: 0.45, flared: 0.06, discharge: 0.95, expansion: 1.0,
		bend: bendLevel, friction: frictionPower, meet: meetAnyhow,
		scatter: 0.20, long: true, lumps: 0.12, exponent: [2]float64{1.8, 2.03}, viscous: [2]float64{0.2, 0.7},
		profile: [2]float64{0.98, 1.12}, tap: 0.04, bore: 0.012, heating: [2]float64{1, 9},
		noise: [2]float64{0.012, 0.035}, floor: [2]float64{10, 40}, tape: 0.0010, outside: 0.06, unlikely: 0.04, unread: 0.015, nonlinear: 0.5,
	},
}

// Bend laws: loss of a smooth right angle against centre-line radius over bore.
// Each passes within a fifth of the published 0.31 at 1 and 0.225 to 0.245 at 1.5.
func bendShallow(ratio float64) float64 { return 0.175 + 0.135*math.Pow(ratio, -2.2) }
func bendSteep(ratio float64) float64   { return 0.145 + 0.165*math.Pow(ratio, -1.8) }
func bendLevel(ratio float64) float64   { return 0.215 + 0.095/(ratio*ratio*ratio) }

// frictionImplicit is Darcy's factor after Colebrook, two substitutions from a
// rough-wall start.
func frictionImplicit(reynolds, roughness float64) float64 {
	f := 0.02
	for range 3 {
		x := -2 * math.Log10(roughness/3.7+2.51/(reynolds*math.Sqrt(f)))
		f = 1 / (x * x)
	}
	return f
}

// frictionExplicit is Moody's closed formula of 1947 (from memory).
func frictionExplicit(reynolds, roughness float64) float64 {
	return 0.0055 * (1 + math.Cbrt(2e4*roughness+1e6/reynolds))
}

// frictionPower is a smooth-wall power law with a rough-wall part added.
func frictionPower(reynolds, roughness float64) float64 {
	return 0.184*math.Pow(reynolds, -0.2) + 0.11*math.Pow(roughness, 0.25)*0.35
}

// Neighbours: the factor by which a component's coefficient changes because of
// what stands upstream. nearness is 1 hard behind it and 0 far away; stir is the
// loss coefficient of the upstream piece, up to 1.
func meetLittle(d dice, nearness, _ float64) float64 {
	return 1 + nearness*d.normal(0.04, 0.07)
}

func meetStirred(d dice, nearness, stir float64) float64 {
	return 1 + nearness*stir*d.between(-0.10, 0.60)
}

func meetAnyhow(d dice, nearness, _ float64) float64 {
	return d.about(1, 0.16*math.Sqrt(nearness))
}

// spread is one throw of scatter around 1 in this hand's manner.
func (m *manner) spread(d dice, sd float64) float64 {
	if m.long {
		return math.Exp(sd * d.heavy())
	}
	return math.Exp(sd * d.NormFloat64())
}
