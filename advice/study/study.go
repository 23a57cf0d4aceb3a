// Package study asks how good the program's advice is, on simulated cars whose
// truth is known.
//
// Run draws cars, lets the advice test each of them and compares what it says
// with the truth; Report sums up. What a simulated car is stands in package
// practice; this package only keeps the score. Everything follows from the seed,
// on any number of cores.
package study

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"

	"dropwalk/advice/model"
	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
)

// Walk is the visit on whose readings the intervals and the false alarms are
// judged. Picks and regret always follow the advice.
type Walk string

// Walks.
const (
	Full   Walk = "full"   // every station that can be tapped, three runs each
	Advice Walk = "advice" // what the advice asks for, until it has enough
)

// Plan says which cars are tried.
type Plan struct {
	Cars  int
	Seed  uint64
	Hands []practice.Hand // taken in turn
	Walk  Walk

	School *practice.School // whose cars are drawn; nil: of anywhere
	Priors *model.Priors    // with which they are judged; nil: the handbook
}

// Sheet is the test sheet of the full walk on car number i of the plan, as it is
// judged.
func (p Plan) Sheet(i int) *sheet.Sheet {
	car, seed, detail := p.draw(i)
	return car.Session(seed, practice.Setup{}).FullWalk(detail)
}

// draw makes car number i of the plan.
func (p Plan) draw(i int) (car *practice.Car, seed uint64, detail practice.Detail) {
	seed = seedOf(p.Seed, i)
	if i/len(p.Hands)%2 == 1 { // hands change with each car, descriptions with each round of hands
		detail = practice.Bare
	}
	return practice.Draw(seed, practice.Options{Hand: p.Hands[i%len(p.Hands)], School: p.School}), seed, detail
}

// Run tries the cars of a plan on all cores and sums up. Every second car is
// described by names and kinds alone. After each car, progress is told how many
// are done; it may be nil. When ctx ends, what is done by then is summed up.
func Run(ctx context.Context, p Plan, progress func(done int)) *Report {
	cars := make([]*outcome, p.Cars)
	var next, done atomic.Int64
	var told sync.Mutex
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), p.Cars) {
		workers.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= p.Cars {
					return
				}
				cars[i] = try(p, i)
				n := int(done.Add(1))
				if progress != nil {
					told.Lock()
					progress(n)
					told.Unlock()
				}
			}
		})
	}
	workers.Wait()
	return sumUp(p, cars)
}

// seedOf parts the seeds of neighbouring cars and studies: splitmix64 (Steele, Lea,
// Flood 2014, from memory).
func seedOf(study uint64, car int) uint64 {
	x := study*0x9e3779b97f4a7c15 + uint64(car) + 1
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
