package model

import (
	"math"

	"dropwalk/advice/infer"
)

// factors are errors of mean nought and variance one that several readings
// share. A reading's row says how many pascals each of them moves it by.
type factors struct {
	at map[string]int
}

func newFactors(c *Car) *factors { return &factors{at: map[string]int{}} }

// load is one reading's dependence on the factors, by number.
type load map[int]float64

func (f *factors) add(l load, name string, pa float64) {
	if pa == 0 {
		return
	}
	k, ok := f.at[name]
	if !ok {
		k = len(f.at)
		f.at[name] = k
	}
	l[k] += pa
}

// meet is the covariance that two loads share.
func meet(a, b load) float64 {
	if len(b) < len(a) {
		a, b = b, a
	}
	// Sorted by number, so that the sum has the same last digit every time.
	s := 0.0
	for k := range maxKey(a) + 1 {
		if x, ok := a[k]; ok {
			s += x * b[k]
		}
	}
	return s
}

func maxKey(l load) int {
	top := -1
	for k := range l {
		top = max(top, k)
	}
	return top
}

// Problem is what infer.Solve needs to know. The first shared unknown is the
// error of the velocity head at the end of the path; planned readings follow
// in their order, then that error at each station.
func (c *Car) Problem(seed int64, planned ...Reading) infer.Problem {
	p := infer.Problem{FlowSD: c.FlowSD, CommonSD: common, PaceSD: c.pace, Seed: seed}
	for _, q := range c.Pieces {
		p.Pieces = append(p.Pieces, q.States)
		p.Steady = append(p.Steady, q.Steady)
	}
	for _, r := range c.Readings {
		p.Readings = append(p.Readings, r.Reading)
	}
	p.Noise = c.noise()
	p.Shared = []infer.Shared{c.shared(c.headLoad(len(c.Stations) - 1))}
	for _, r := range planned {
		p.Shared = append(p.Shared, c.shared(r.load))
	}
	for k := range c.Stations[1:] {
		p.Shared = append(p.Shared, c.shared(c.headLoad(k+1)))
	}
	return p
}

// shared describes an unknown that depends on the factors by l.
func (c *Car) shared(l load) infer.Shared {
	s := infer.Shared{Var: meet(l, l)}
	for _, r := range c.Readings {
		s.Cov = append(s.Cov, meet(r.load, l))
	}
	return s
}

func (c *Car) noise() infer.Matrix {
	n := len(c.Readings)
	m := infer.NewMatrix(n, n)
	for i, a := range c.Readings {
		for j, b := range c.Readings[:i+1] {
			v := meet(a.load, b.load)
			m.Set(i, j, v)
			m.Set(j, i, v)
		}
		m.Add(i, i, a.Own)
	}
	return m
}

// headLoad is the error of the velocity head at a station, as a gauge there
// sees it.
func (c *Car) headLoad(k int) load {
	l := load{}
	st := c.Stations[k]
	c.factors.add(l, "head "+st.Name, st.Head*math.Hypot(st.HeadSD, st.Near))
	return l
}
