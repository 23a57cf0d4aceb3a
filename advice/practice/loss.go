package practice

import "math"

// law is how the loss of one component goes with flow, viscosity and density.
type law struct {
	loss     float64 // at the reference point and nominal density, Pa
	viscous  float64 // share of it that is linear in flow and viscosity
	exponent float64 // of the rest in flow
}

// at is the loss in Pa where flow, viscosity and density stand in those ratios
// to the reference.
func (l law) at(flow, viscosity, density float64) float64 {
	rest := math.Pow(flow, l.exponent) * math.Pow(viscosity, max(0, 2-l.exponent))
	return l.loss * ((1-l.viscous)*rest + l.viscous*flow*viscosity) / density
}

// maker turns shapes into losses in the manner of one hand.
type maker struct {
	d      dice
	m      *manner
	engine *Engine
	school *School
}

// dynamic is 0.5 rho V^2 of the mean flow in c at the reference point and
// nominal density, Pa.
func (k *maker) dynamic(c *Component) float64 {
	flow := c.Share * k.engine.MassFlow
	return flow * flow / (2 * referenceDensity * c.area() * c.area())
}

// reynolds number in c at the reference point.
func (k *maker) reynolds(c *Component) float64 {
	return c.Share * k.engine.MassFlow * c.wetted() / (c.area() * referenceViscosity)
}

// make gives every component its law, its best and its tap.
func (k *maker) make(path []Component) {
	stir := 0.0
	for i := range path {
		c := &path[i]
		var up *Component
		if i > 0 {
			up = &path[i-1]
		}
		own := k.coefficient(c)
		k.lose(c, up, own, stir)
		k.perfect(c, up)
		k.tap(c)
		stir = min(1, own)
	}
}

// lose sets the law of c behind up.
func (k *maker) lose(c, up *Component, own, stir float64) {
	if c.Kind == filter {
		c.law = k.element(c)
		c.law.loss *= k.school.factor(c)
	} else {
		if up != nil && !up.still() {
			own *= clamp(k.m.meet(k.d, k.d.between(0.2, 1), stir), 0.6, 1.8)
			own += k.m.expansion * k.d.between(0.4, 1) * step(up, c)
		}
		own *= k.m.spread(k.d, k.m.scatter*k.school.evenness()) * k.school.factor(c)
		if k.d.chance(k.m.lumps) {
			own += k.d.between(0.1, 0.5)
		}
		c.law = law{loss: own * k.dynamic(c), exponent: k.exponent(c)}
	}
	c.law.loss *= k.engine.pulse
}

// exponent of the loss in flow. A duct that closes up under suction has one well
// above two; plastic ducts lie a little below.
func (k *maker) exponent(c *Component) float64 {
	if c.Fault == CollapsingDuct {
		return k.d.between(2.6, 3.8)
	}
	return k.d.between(k.m.exponent[0], k.m.exponent[1])
}

// coefficient is the loss of c alone, fresh air before it, on its own passage.
func (k *maker) coefficient(c *Component) float64 {
	switch c.Kind {
	case mouth, boxExit:
		return k.edge(c)
	case screen:
		return k.mesh(c)
	case duct:
		return k.wall(c) + k.bends(c) + throat(c.narrowing)
	case boxEntry:
		extra := 0.0
		if c.Fault == EntryAtWall {
			extra = k.d.between(0.5, 1.4)
		}
		return k.m.discharge*k.d.between(0.98, 1.06) + extra
	case meter:
		return k.d.about(0.35, 0.3)
	case resonator:
		return k.d.about(0.12, 0.5)
	case throttle:
		return k.d.about(0.25, 0.3)
	}
	return 0
}

func (k *maker) edge(c *Component) float64 {
	switch c.Edge {
	case protruding:
		return k.m.protruding
	case flush:
		return k.m.sharp
	}
	return k.m.flared + (k.m.sharp-k.m.flared)*math.Exp(-c.EdgeRadius/c.Bore/0.06)
}

// mesh fits the published losses of perforated plates (3.8, 2.0, 1.1 at open
// shares of 0.5, 0.6, 0.7) and of round wire (2.10, 1.24) at its two ends.
func (k *maker) mesh(c *Component) float64 {
	open := c.OpenArea
	if c.Fault == BlockedScreen {
		open *= k.d.between(0.33, 0.58)
	}
	return k.d.between(2.2, 3.8) * math.Pow((1-open)/open, 1.6)
}

func (k *maker) wall(c *Component) float64 {
	f := k.d.between(0.04, 0.10)
	if c.Surface == smooth {
		f = k.m.friction(k.reynolds(c), k.d.about(4e-4, 0.7))
	}
	return f * c.Length / c.wetted()
}

func (k *maker) bends(c *Component) float64 {
	sum := 0.0
	for _, b := range c.Bends {
		sum += turn(k.m.bend, b, c.Bore)
	}
	switch {
	case c.Surface == ribbed:
		return sum * k.d.between(1.1, 1.7)
	case c.Width > 0:
		return sum * k.d.between(0.9, 1.3)
	}
	return sum
}

// turn is the coefficient of one bend; less than a right angle costs less, not
// quite in proportion.
func turn(law func(float64) float64, b Bend, bore float64) float64 {
	return law(max(0.5, b.Radius/bore)) * math.Pow(b.Angle/(math.Pi/2), 0.8)
}

// step is the full loss of a sudden change of passage from up to c, as a
// coefficient on c.
func step(up, c *Component) float64 {
	if up.Share != c.Share {
		return 0
	}
	ratio := up.area() / c.area()
	if ratio >= 1 {
		return 0.42 * (1 - 1/ratio)
	}
	return (1/ratio - 1) * (1/ratio - 1)
}

// clean is the loss of a standard new element at that air speed before its face:
// about 1 inH2O at the usual 2.5 m/s (common practice, no source).
func (k *maker) clean(c *Component) float64 {
	speed := k.engine.MassFlow * c.Share / (referenceDensity * c.Face)
	return inch * math.Pow(speed/2.5, 1.4)
}

func (k *maker) element(c *Component) law {
	loss := k.clean(c) * k.m.spread(k.d, 0.25)
	viscous := k.d.between(k.m.viscous[0], k.m.viscous[1])
	dirt := 1.0
	if c.Fault == DirtyFilter {
		dirt = clamp(k.d.about(5, 0.45), 2, 14)
	}
	full := loss * (viscous*dirt + 1 - viscous)
	return law{loss: full, viscous: loss * viscous * dirt / full, exponent: k.d.between(1.9, 2)}
}

// perfect sets the loss of a well-made replacement of the same size: flared
// mouth and exit, smooth duct with bends no tighter than 1.5 bores, gradual
// steps, an entry that widens to twice the area, a clean standard element. The
// figures are the same for every hand and stand for what good work reaches.
func (k *maker) perfect(c, up *Component) {
	if c.Fixed {
		c.best = c.law.loss
		return
	}
	steps := 0.0
	if up != nil && !up.still() {
		steps = 0.25 * step(up, c)
	}
	switch c.Kind {
	case mouth, boxExit:
		c.best = 0.05
	case screen:
		c.best = 0.6
	case duct:
		c.best = frictionImplicit(k.reynolds(c), 1e-4) * c.Length / c.wetted()
		for _, b := range c.Bends {
			b.Radius = max(b.Radius, 1.5*c.Bore)
			c.best += turn(bendShallow, b, c.Bore)
		}
	case boxEntry:
		c.best = 0.35
	case filter:
		c.best = k.clean(c) * k.engine.pulse
		return
	case resonator:
		c.best = 0.05
	}
	c.best = (c.best + steps) * k.dynamic(c) * k.engine.pulse
}

// tap sets what a wall tap after c shows beside the pressure. Close behind a
// sharp edge it sits beside a jet and reads too low a pressure.
func (k *maker) tap(c *Component) {
	c.profile = k.d.between(k.m.profile[0], k.m.profile[1])
	c.tapError = k.m.tap * k.d.NormFloat64()
	switch {
	case c.still():
		c.profile, c.tapError = 0, 0
	case c.Kind == boxExit && c.Edge != rounded:
		c.tapError += k.d.between(0, 0.25)
	case c.Surface == ribbed:
		c.tapError += k.d.normal(0.03, 0.04)
	}
}
