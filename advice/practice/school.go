package practice

// School is what the cars of one place have in common and no handbook knows: they
// come from a few makers, and one workshop fits their parts. A nil School is
// anywhere.
type School struct {
	Factors map[string]float64 // on the loss of a piece, by kind, or by kind and surface or edge: "duct ribbed"
	Even    float64            // factor on the scatter of pieces; 0: 1
	Faults  map[Fault]float64  // factor on the share of cars with a fault
}

// Invented is a school of our own making, for studies: ribbed hoses that cost half as
// much again, smooth ducts and box entries better than the books, filters that are
// cleaned too seldom.
func Invented() *School {
	return &School{
		Factors: map[string]float64{"duct ribbed": 1.5, "duct smooth": 0.75, boxEntry: 0.8, mouth: 1.25, boxExit: 1.3, filter: 1.35, meter: 0.7},
		Even:    0.7,
		Faults:  map[Fault]float64{DirtyFilter: 2, CrushedDuct: 0.5, SmallMouth: 0.5},
	}
}

// factor is what a piece costs there over what it would cost anywhere.
func (s *School) factor(c *Component) float64 {
	if s == nil {
		return 1
	}
	for _, key := range []string{c.Kind + " " + c.Surface + c.Edge, c.Kind} {
		if f, ok := s.Factors[key]; ok {
			return f
		}
	}
	return 1
}

func (s *School) evenness() float64 {
	if s == nil || s.Even == 0 {
		return 1
	}
	return s.Even
}

// faultWeights are those of the cars there.
func (s *School) faultWeights() []float64 {
	if s == nil {
		return faultWeights
	}
	out := append([]float64(nil), faultWeights...)
	for i, f := range Faults() {
		if by, ok := s.Faults[f]; ok {
			out[i] *= by
		}
	}
	return out
}
