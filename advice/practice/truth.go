package practice

import "math"

// Truth is what nobody who tests the car can see. Slices are by component, in
// the order of the path; pressures in Pa at the reference point: the engine's
// reference rpm in 99 kPa, 25 C, dry air, without ram.
type Truth struct {
	MassFlow    float64   // kg/s
	Loss        []float64 // drop of total pressure
	Recoverable []float64 // share of it that a well-made replacement of the same size gives back
	Head        []float64 // velocity head of the air at the station after each; 0 where it is still
	Reading     []float64 // what a perfect gauge from open air to a perfect tap there would show
	Total       float64   // sum of Loss
	Gain        []float64 // share of power that the best replacement of each gives, alone
	GainAll     float64   // of all of them together
	Best        int       // component with the largest gain; -1 where none gives any
}

// flowState is one condition of the path: what passes and through which air.
type flowState struct {
	flow float64 // kg/s
	air  weather
}

// march follows the air from the mouth inwards and calls each with the loss of
// every component and the dynamic pressure (pulsation counted in) behind it. The
// air thins as its pressure falls and as it warms.
func (c *Car) march(at flowState, each func(i int, loss, dynamic float64)) {
	ratio := at.flow / c.Engine.MassFlow
	pressure, open := at.air.pressure, at.air.density()
	for i := range c.Path {
		p := &c.Path[i]
		warm := at.air.temperature + c.heating*float64(i+1)/float64(len(c.Path))
		density := open * pressure / at.air.pressure * at.air.temperature / warm
		thick := viscosity(warm) / referenceViscosity
		loss := p.law.at(ratio, thick, density/referenceDensity)
		pressure -= loss
		flux := p.Share * at.flow / p.area()
		dynamic := c.Engine.pulse * flux * flux / (2 * density)
		if p.still() {
			dynamic = 0
		}
		each(i, loss, dynamic)
	}
}

// reveal works out the truth.
func (c *Car) reveal() Truth {
	n := len(c.Path)
	t := Truth{
		MassFlow: c.Engine.MassFlow,
		Loss:     make([]float64, n), Recoverable: make([]float64, n), Head: make([]float64, n),
		Reading: make([]float64, n), Gain: make([]float64, n), Best: -1,
	}
	c.march(flowState{c.Engine.MassFlow, referenceAir}, func(i int, loss, dynamic float64) {
		p := &c.Path[i]
		t.Total += loss
		t.Loss[i] = loss
		t.Recoverable[i] = loss * max(0, 1-p.best/p.law.loss)
		t.Head[i] = p.profile * dynamic
		t.Reading[i] = t.Total + t.Head[i]
	})
	for i, r := range t.Recoverable {
		t.Gain[i] = c.gain(t.Total, r)
		if t.Gain[i] > 0 && (t.Best < 0 || t.Gain[i] > t.Gain[t.Best]) {
			t.Best = i
		}
	}
	t.GainAll = c.gain(t.Total, sum(t.Recoverable))
	return t
}

// gain is the share of power that comes back when the path, which now loses
// total, would lose saved less at the same flow. Less loss lets more air in,
// which loses more: the two are brought into balance.
func (c *Car) gain(total, saved float64) float64 {
	before := referenceAir.pressure - total
	after := before + saved
	for range 12 {
		flow := math.Pow(after/before, c.Engine.pressureExponent)
		after = referenceAir.pressure - (total-saved)*flow*flow
	}
	return math.Pow(after/before, c.Engine.powerExponent) - 1
}

func sum(xs []float64) float64 {
	s := 0.0
	for _, x := range xs {
		s += x
	}
	return s
}
