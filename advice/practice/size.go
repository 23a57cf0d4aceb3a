package practice

import "math"

// sizer draws sizes as designers do: from the air flow, with their scatter.
type sizer struct {
	d    dice
	m    *manner
	flow float64 // kg/s, whole
	dirty, clean,
	ribbed float64 // air speeds in m/s; chance that a tube is ribbed
}

// newSizer sets the air speeds that the designer of this car allowed.
func newSizer(d dice, m *manner, flow float64) *sizer {
	room := d.about(1, 0.2) // how generous this designer is
	return &sizer{d: d, m: m, flow: flow, dirty: 23 * room * d.about(1, 0.15), clean: 22 * room * d.about(1, 0.12), ribbed: 0.45}
}

// sizePath gives every component its size and shape.
func (s *sizer) sizePath(path []Component) {
	for i := range path {
		c := &path[i]
		speed := s.dirty
		if c.clean {
			speed = s.clean
		}
		c.Bore = s.boreFor(c.Share*s.flow, speed*s.d.about(1, 0.06))
		s.shape(c)
	}
	s.join(path)
	for i := range path {
		path[i].settle()
	}
}

// boreFor is the bore, in whole millimetres, that gives air that speed.
func (s *sizer) boreFor(flow, speed float64) float64 {
	area := flow / (referenceDensity * speed)
	return round(math.Sqrt(4*area/math.Pi), 1e-3)
}

func (s *sizer) shape(c *Component) {
	d := s.d
	switch c.Kind {
	case mouth:
		c.Edge = [...]string{protruding, flush, rounded}[d.pick(0.4, 0.3, 0.3)]
	case screen:
		c.OpenArea = round(d.between(0.55, 0.75), 0.01)
	case duct:
		s.shapeDuct(c)
	case boxExit:
		c.Edge = [...]string{protruding, flush, rounded}[d.pick(0.2, 0.45, 0.35)]
	case filter:
		across := d.about(2.5, 0.2) // m/s at the face: media velocities of 0.06 to 0.12 m/s with usual pleats
		c.Face = round(s.flow/referenceDensity/across, 1e-4)
	case resonator:
		c.Length = round(d.between(0.1, 0.3), 0.01)
	}
	if c.Edge == rounded {
		c.EdgeRadius = round(c.Bore*d.between(0.06, 0.22), 1e-3)
	}
}

func (s *sizer) shapeDuct(c *Component) {
	d := s.d
	c.Surface = smooth
	c.Length = round(d.about(0.42, 0.35), 0.01)
	bends := d.pick(0.15, 0.45, 0.3, 0.1)
	if c.clean {
		bends = d.pick(0.2, 0.5, 0.3)
		if d.chance(s.ribbed) {
			c.Surface = ribbed
		}
	} else if d.chance(0.25) {
		flat := d.between(1.5, 3.2)
		area := math.Pi / 4 * c.Bore * c.Bore
		c.Height = round(math.Sqrt(area/flat), 1e-3)
		c.Width = round(area/c.Height, 1e-3)
	}
	for range bends {
		angle := float64([...]int{30, 45, 60, 90}[d.pick(0.15, 0.3, 0.15, 0.4)]) * math.Pi / 180
		c.Bends = append(c.Bends, Bend{angle, round(c.Bore*d.about(1.25, 0.3), 1e-3)})
	}
}

// join makes neighbours fit as they do in a car: a mouth is part of its duct, a
// guard sits in a wide mouth, the meter has the bore of the tube behind it.
func (s *sizer) join(path []Component) {
	for i := range path {
		c := &path[i]
		switch {
		case c.Kind == screen:
			wide := math.Sqrt(s.d.between(1.6, 2.6))
			c.Bore = round(c.Bore*wide, 1e-3)
			path[i-1].Bore = c.Bore
		case c.Kind == boxEntry && i > 0:
			c.Bore = path[i-1].Bore
			c.Width, c.Height = path[i-1].Width, path[i-1].Height
		case c.Kind == duct && i > 0 && path[i-1].Kind == mouth && s.d.chance(0.75):
			path[i-1].Bore, path[i-1].Width, path[i-1].Height = c.Bore, c.Width, c.Height
		case c.Kind == meter && s.d.chance(0.6):
			c.Bore = path[i-1].Bore
		}
	}
}

// settle makes the bore that of equal area where the passage is rectangular.
func (c *Component) settle() {
	if c.Width > 0 {
		c.Bore = math.Sqrt(4 * c.Width * c.Height / math.Pi)
	}
}

// area of the passage in m2.
func (c *Component) area() float64 { return math.Pi / 4 * c.Bore * c.Bore }

// wetted is the hydraulic diameter in m.
func (c *Component) wetted() float64 {
	if c.Width > 0 {
		return 2 * c.Width * c.Height / (c.Width + c.Height)
	}
	return c.Bore
}

// varyBores turns the drawing into the part: nothing is made to the millimetre.
func (s *sizer) varyBores(path []Component) {
	for i := range path {
		c := &path[i]
		by := s.m.spread(s.d, s.m.bore)
		c.Bore *= by
		c.Width *= by
		c.Height *= by
	}
}
