package practice

import "math"

// Engine is the true engine of a simulated car.
type Engine struct {
	Displacement float64 // m3
	Cylinders    int
	Fuel         string  // petrol, diesel
	Induction    string  // natural, turbo, supercharged
	Boost        float64 // gauge pressure at the reference point, Pa; 0 with natural induction
	BoostControl string  // absolute, ratio; "" with natural induction
	RPM          float64 // of peak power: the reference
	Filling      float64 // volumetric efficiency, share: of the open air, or of the charge if boosted
	MassFlow     float64 // kg/s at the reference rpm in the reference air
	Power        float64 // W at the reference point

	pressureExponent    float64 // mass flow against inlet pressure
	temperatureExponent float64 // mass flow against reference over air temperature
	speedExponent       float64 // mass flow against rpm near the reference
	powerExponent       float64 // power against inlet pressure
	pulse               float64 // mean of the square of the flow over the square of its mean
}

// drawEngine fills what is nought in spec.
func drawEngine(d dice, spec Engine) Engine {
	e := spec
	drawKind(d, &e)
	drawSize(d, &e)
	drawBoost(d, &e)
	if e.RPM == 0 {
		e.RPM = drawRPM(d, &e)
	}
	if e.Filling == 0 {
		e.Filling = clamp(d.normal(0.88, 0.055), 0.75, 1)
	}
	e.MassFlow = e.Filling * e.chargeDensity(d) * e.Displacement * e.RPM / 120
	drawBreathing(d, &e)
	e.Power = e.MassFlow * 1e6 * d.about(specificPower(&e), 0.06)
	return e
}

// drawKind sets fuel and induction. Shares: our choice after what stands on the road.
func drawKind(d dice, e *Engine) {
	kinds := [...]struct {
		fuel, induction string
		share           float64
	}{
		{"petrol", "natural", 45}, {"petrol", "turbo", 22}, {"petrol", "supercharged", 6},
		{"diesel", "turbo", 24}, {"diesel", "natural", 3},
	}
	weights := make([]float64, len(kinds))
	for i, k := range kinds {
		if (e.Fuel == "" || e.Fuel == k.fuel) && (e.Induction == "" || e.Induction == k.induction) {
			weights[i] = k.share
		}
	}
	k := kinds[d.pick(weights...)]
	e.Fuel, e.Induction = k.fuel, k.induction
}

func drawSize(d dice, e *Engine) {
	if e.Displacement == 0 {
		median, spread := 1.9e-3, 0.45
		if e.Fuel == "diesel" {
			median, spread = 2.1e-3, 0.42
		}
		e.Displacement = round(clamp(d.about(median, spread), 0.6e-3, 8e-3), 1e-6)
	}
	if e.Cylinders != 0 {
		return
	}
	each := d.about(0.45e-3, 0.18)
	best := math.Inf(1)
	for _, n := range []int{2, 3, 4, 5, 6, 8, 10, 12} {
		if off := math.Abs(math.Log(e.Displacement / float64(n) / each)); off < best {
			best, e.Cylinders = off, n
		}
	}
}

func drawBoost(d dice, e *Engine) {
	if e.Induction == "natural" {
		e.Boost, e.BoostControl = 0, ""
		return
	}
	span := [2]float64{40e3, 140e3}
	ratio := 0.35 // of turbo engines that hold a pressure ratio rather than a pressure
	switch {
	case e.Induction == "supercharged":
		span, ratio = [2]float64{30e3, 80e3}, 0.9
	case e.Fuel == "diesel":
		span = [2]float64{60e3, 170e3}
	}
	held := "absolute"
	if d.chance(ratio) {
		held = "ratio"
	}
	if boost := round(d.between(span[0], span[1]), 1e3); e.Boost == 0 {
		e.Boost = boost
	}
	if e.BoostControl == "" {
		e.BoostControl = held
	}
}

func drawRPM(d dice, e *Engine) float64 {
	big := math.Log(e.Displacement/2e-3) / math.Ln2 // 1 at 4 L
	rpm := 0.0
	switch {
	case e.Fuel == "diesel":
		rpm = d.normal(3900-350*big, 250)
	case e.Induction == "natural":
		rpm = d.normal(6100-250*big, 450)
	default:
		rpm = d.normal(5700-200*big, 300)
	}
	return round(clamp(rpm, 2200, 8200), 100)
}

// chargeDensity is that of the air which the cylinders take, kg/m3, in reference air.
func (e *Engine) chargeDensity(d dice) float64 {
	if e.Induction == "natural" {
		return referenceDensity
	}
	efficiency, cooled := d.between(0.62, 0.76), 0.85
	if e.Induction == "supercharged" {
		efficiency, cooled = d.between(0.5, 0.65), 0.5
	}
	ratio := 1 + e.Boost/referenceAir.pressure
	rise := referenceAir.temperature * (math.Pow(ratio, 0.286) - 1) / efficiency
	if d.chance(cooled) {
		rise *= 1 - d.between(0.5, 0.85)
	}
	return (referenceAir.pressure + e.Boost) / (gasConstant * (referenceAir.temperature + rise))
}

// drawBreathing sets how flow and power answer to inlet pressure, temperature
// and rpm. An engine that holds its boost hardly cares for inlet pressure.
func drawBreathing(d dice, e *Engine) {
	held := e.Induction != "natural" && e.BoostControl == "absolute"
	e.pressureExponent = clamp(d.normal(1.0, 0.04), 0.9, 1.1)
	e.temperatureExponent = d.between(0.5, 1)
	if held {
		e.pressureExponent = d.between(0, 0.15)
		e.temperatureExponent = d.between(0, 0.5)
	}
	e.speedExponent = d.between(0.7, 1.05)
	e.powerExponent = powerExponent(d, e, held)
	rough := d.between(0.03, 0.10) * math.Sqrt(6/float64(e.Cylinders)) // rms of the flow over its mean
	e.pulse = 1 + rough*rough
}

// powerExponent is the share of power that a share of inlet pressure is worth.
// Petrol without boost: the published 1.0 to 1.5 % a kPa at 99 kPa is 0.99 to
// 1.49 here. Diesel: the published 0.4 to 0.6 % a kPa. Held boost: compressor work only,
// and nothing at all where the engine gives it back as boost.
func powerExponent(d dice, e *Engine, held bool) float64 {
	switch {
	case held && d.chance(0.25):
		return 0
	case held:
		return d.between(0.05, 0.45)
	case e.Fuel == "diesel":
		return d.between(0.38, 0.65)
	case e.Induction == "natural":
		return clamp(d.normal(1.19, 0.09), 0.99, 1.45)
	}
	return d.between(0.85, 1.2)
}

// specificPower in kW for each g/s of air at full load: about one for petrol,
// less for diesel, which burns lean.
func specificPower(e *Engine) float64 {
	if e.Fuel == "diesel" {
		return 0.66
	}
	return 0.98
}

// flow is the mass flow at an rpm in some open air, kg/s.
func (e *Engine) flow(rpm float64, air weather) float64 {
	return e.MassFlow * math.Pow(rpm/e.RPM, e.speedExponent) *
		math.Pow(air.pressure/referenceAir.pressure, e.pressureExponent) *
		math.Pow(referenceAir.temperature/air.temperature, e.temperatureExponent)
}
