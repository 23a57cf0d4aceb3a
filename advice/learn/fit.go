package learn

import (
	"context"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"dropwalk/advice/infer"
	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
)

// Log SDs of the tiers of the factors: of all pieces of a workshop, of those of a
// kind, of those of a form. Together they are the part of the handbook's scatter that
// like pieces share (model.Parts), 0.18.
const (
	allSD  = 0.09
	kindSD = 0.12
	formSD = 0.10
)

// freeVariance is the variance of the logarithm of a factor without any car.
const freeVariance = allSD*allSD + kindSD*kindSD + formSD*formSD

// Interval is the central 90 % interval of the factor.
func (g Group) Interval() (low, high float64) {
	const z = 1.6448536
	by := math.Exp(z * math.Sqrt(freeVariance*(1-g.Weight)))
	return g.Factor / by, g.Factor * by
}

// What the handbook counts for beside cars.
const (
	soundWorth  = 15 // pieces, for the spread of a kind
	spoiltWorth = 20 // pieces, for the chance of a spoilt one
	runsWorth   = 30 // degrees of freedom, for the scatter of runs
)

// Steps of the fit: at most mostSteps, until no factor moves by enough.
const (
	mostSteps = 12
	enough    = 0.01
)

// Group is what the cars say of like pieces.
type Group struct {
	model.Group
	Factor float64
	Weight float64 // of the cars against the handbook, 0 to 1
	Pieces int     // that some reading spans
}

// Kind is what the cars say of all pieces of a kind.
type Kind struct {
	Kind   string
	Spread float64 // of sound pieces about their middle, over the handbook's
	Spoilt float64 // chance
	Weight float64 // of the cars in that chance
	Pieces int
}

// Runs is the scatter from run to run over the usual one.
type Runs struct {
	Scatter float64
	Freedom float64 // degrees, from repeats
	Weight  float64
}

// Priors are what was learnt.
type Priors struct {
	Cars   int
	Groups []Group // those with pieces, and one for the other pieces of each kind, whose Form is ""
	Kinds  []Kind
	Runs   Runs
	Refits Refits
	Left   []LeftOut
	Steps  int // that the fit took; not written
}

// Options are how a fit is made. The zero value is the usual way.
type Options struct {
	Seed     int64               // of the draws; 0: 1
	Progress func(step, car int) // told after each car; may be nil
}

// Fit learns from visits. Progress is told from several goroutines, one at a time. The
// same visits give the same priors on any number of cores. When ctx ends, its error
// comes back.
func Fit(ctx context.Context, visits []Visit, o Options) (*Priors, error) {
	cars, all, left := sorted(visits)
	f := newFitting(cars, o)
	for f.steps = 1; ; f.steps++ {
		moved, err := f.step(ctx, cars)
		if err != nil {
			return nil, err
		}
		if moved < enough || f.steps == mostSteps {
			break
		}
	}
	p := f.priors(cars)
	p.Runs, p.Refits, p.Left = runs(all), refits(all), append([]LeftOut{}, left...)
	return p, nil
}

// fitting is a fit on its way.
type fitting struct {
	groups []model.Group
	number map[model.Group]int
	prior  infer.Matrix // precision of the logarithms of the factors
	log    []float64    // of the factors
	cov    infer.Matrix // what is left open of them
	spread map[string]float64
	spoilt map[string]float64
	pieces []int // by group, seen
	seen   map[string]int
	seed   int64
	tell   func(step, car int)
	steps  int
}

func newFitting(cars []Visit, o Options) *fitting {
	f := &fitting{number: map[model.Group]int{}, spread: map[string]float64{}, spoilt: map[string]float64{}, seen: map[string]int{}, seed: max(o.Seed, 1), tell: o.Progress}
	for _, kind := range sheet.Kinds() {
		f.spread[kind], f.spoilt[kind] = 1, model.UsualSpoilt(kind)
		for _, form := range append(model.Forms(kind), "") {
			g := model.Group{Kind: kind, Form: form}
			f.number[g] = len(f.groups)
			f.groups = append(f.groups, g)
		}
	}
	n := len(f.groups)
	s := infer.NewMatrix(n, n)
	for i, a := range f.groups {
		for j, b := range f.groups {
			v := allSD * allSD
			if a.Kind == b.Kind {
				v += kindSD * kindSD
			}
			if i == j {
				v += formSD * formSD
			}
			s.Set(i, j, v)
		}
	}
	f.prior, f.cov, f.log, f.pieces = inverted(s), s, make([]float64, n), make([]int, n)
	return f
}

// inverted is the inverse of a matrix that is positive definite.
func inverted(m infer.Matrix) infer.Matrix {
	c, ok := infer.Cholesky(m)
	if !ok {
		panic("learn: a covariance that is none")
	}
	out := infer.NewMatrix(m.Rows, m.Rows)
	for j := range m.Rows {
		unit := make([]float64, m.Rows)
		unit[j] = 1
		for i, v := range infer.CholeskySolve(c, unit) {
			out.Set(i, j, v)
		}
	}
	return out
}

// within is the belief about the pieces of one car while the factors are held fixed.
func (f *fitting) within() *model.Priors {
	p := &model.Priors{Loss: map[model.Group]model.Belief{}, Spoilt: f.spoilt}
	for i, g := range f.groups {
		p.Loss[g] = model.Belief{Factor: math.Exp(f.log[i]), Spread: f.spread[g.Kind], Weight: 1}
	}
	return p
}

// step listens to all cars under the present belief and moves it. It returns how far
// the factor that moved most did.
func (f *fitting) step(ctx context.Context, cars []Visit) (float64, error) {
	heard, err := f.hear(ctx, cars)
	if err != nil {
		return 0, err
	}
	n := len(f.groups)
	gradient, known := make([]float64, n), f.prior.Clone()
	squares, sound, spoilt, seen := map[string]float64{}, map[string]float64{}, map[string]float64{}, map[string]float64{}
	for _, h := range heard {
		for i, x := range h.score {
			gradient[i] += x
			for j, y := range h.score {
				known.Add(i, j, x*y)
			}
		}
		for _, kind := range sheet.Kinds() {
			squares[kind] += h.squares[kind]
			sound[kind] += h.sound[kind]
			spoilt[kind] += h.spoilt[kind]
			seen[kind] += h.seen[kind]
		}
	}
	moved := f.move(gradient, known)
	for _, kind := range sheet.Kinds() {
		f.spread[kind] = math.Sqrt((soundWorth + squares[kind]) / (soundWorth + sound[kind]))
		f.spoilt[kind] = (spoiltWorth*model.UsualSpoilt(kind) + spoilt[kind]) / (spoiltWorth + seen[kind])
		f.seen[kind] = int(seen[kind])
	}
	return moved, nil
}

// move takes a step towards the most likely factors, after Newton with the information
// that the cars' own scores give: the sum of their squares (Berndt, Hall, Hall and
// Hausman 1974). It needs no second derivative, which here would be a small difference
// of large figures, and can't be negative.
func (f *fitting) move(gradient []float64, known infer.Matrix) float64 {
	for i, pull := range f.prior.Times(f.log) {
		gradient[i] -= pull
	}
	f.cov = inverted(known)
	most := 0.0
	for i, d := range f.cov.Times(gradient) {
		d = max(-mostMove, min(mostMove, stride*d))
		f.log[i] += d
		most = max(most, math.Abs(d))
	}
	return most
}

// The logarithm of a factor moves by at most mostMove in one step, and by a part of what
// Newton's step says: spreads move beside it.
const (
	mostMove = 0.25
	stride   = 0.7
)

// hear listens to all cars on all cores. Order and number of cores don't matter.
func (f *fitting) hear(ctx context.Context, cars []Visit) ([]*said, error) {
	out := make([]*said, len(cars))
	faults := make([]error, len(cars))
	var next, done atomic.Int64
	var told sync.Mutex
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(cars)) {
		workers.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(cars) {
					return
				}
				out[i], faults[i] = f.listen(cars[i].Sheet)
				n := int(done.Add(1))
				if f.tell != nil {
					told.Lock()
					f.tell(f.steps, n)
					told.Unlock()
				}
			}
		})
	}
	workers.Wait()
	for _, err := range append(faults, ctx.Err()) {
		if err != nil {
			return nil, err
		}
	}
	if f.steps == 1 {
		f.count(cars)
	}
	return out, nil
}

// count counts the pieces that readings span.
func (f *fitting) count(cars []Visit) {
	for _, v := range cars {
		car := model.New(v.Sheet)
		for c, q := range car.Pieces {
			if slices.ContainsFunc(car.Readings, func(r model.Reading) bool { return r.From <= c && c < r.To }) {
				f.pieces[f.number[q.Group]]++
			}
		}
	}
}

// priors are the result.
func (f *fitting) priors(cars []Visit) *Priors {
	p := &Priors{Cars: len(cars), Groups: []Group{}, Kinds: []Kind{}, Steps: f.steps}
	kinds := map[string]bool{}
	for i, g := range f.groups {
		kinds[g.Kind] = kinds[g.Kind] || f.pieces[i] > 0
	}
	for i, g := range f.groups {
		if f.pieces[i] == 0 && (g.Form != "" || !kinds[g.Kind]) {
			continue
		}
		p.Groups = append(p.Groups, Group{g, tidy(math.Exp(f.log[i])), tidy(max(0, min(1, 1-f.cov.At(i, i)/freeVariance))), f.pieces[i]})
	}
	for _, kind := range sheet.Kinds() {
		if n := f.seen[kind]; n > 0 {
			p.Kinds = append(p.Kinds, Kind{kind, tidy(f.spread[kind]), tidy(f.spoilt[kind]), tidy(float64(n) / (spoiltWorth + float64(n))), n})
		}
	}
	return p
}

// runs pools the scatter of repeats over all visits.
func runs(all [][]Visit) Runs {
	squares, freedom := float64(runsWorth), float64(runsWorth)
	for _, of := range all {
		for _, v := range of {
			car := model.New(v.Sheet)
			if car.Freedom == 0 {
				continue
			}
			// One wild visit says little of the others.
			const wild = 9
			squares += min(car.Squares, wild*car.Freedom)
			freedom += car.Freedom
		}
	}
	return Runs{tidy(math.Sqrt(squares / freedom)), freedom - runsWorth, tidy(1 - runsWorth/freedom)}
}

// Model is what package model takes.
func (p *Priors) Model() *model.Priors {
	out := &model.Priors{Cars: p.Cars, Loss: map[model.Group]model.Belief{}, Spoilt: map[string]float64{}, Scatter: p.Runs.Scatter}
	spread := map[string]float64{}
	for _, k := range p.Kinds {
		out.Spoilt[k.Kind], spread[k.Kind] = k.Spoilt, k.Spread
	}
	for _, g := range p.Groups {
		out.Loss[g.Group] = model.Belief{Factor: g.Factor, Spread: spread[g.Kind], Weight: g.Weight}
	}
	return out
}

// tidy keeps four decimals: more would pretend.
func tidy(x float64) float64 { return math.Round(x*1e4) / 1e4 }
