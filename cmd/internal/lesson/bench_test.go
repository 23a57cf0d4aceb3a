package lesson

import (
	"flag"
	"slices"
	"strings"
	"sync"
	"testing"

	"dropwalk/advice"
	"dropwalk/advice/practice"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/insert"
	"dropwalk/procedures"
)

// loadIntake reads the shipped procedure, with its shared blocks.
func loadIntake(t testing.TB) *engine.Procedure {
	t.Helper()
	blocks := insert.Blocks{}
	entries, err := procedures.FS.ReadDir("shared")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		src, err := procedures.FS.ReadFile("shared/" + e.Name())
		if err != nil {
			t.Fatal(err)
		}
		blocks[strings.TrimSuffix(e.Name(), ".yaml")] = insert.Block{File: e.Name(), Src: src}
	}
	src, err := procedures.FS.ReadFile("intake.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text, faults := insert.Expand("intake.yaml", src, blocks)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	p, faults := engine.Load("intake.yaml", text.Src, &advice.Matter{})
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	return p
}

// Other cars of the same stories: -cars biscuit,turnip -seed 7.
var (
	only = flag.String("cars", "", "cars to play, by name; all where it is empty")
	seed = flag.Uint64("seed", 0, "seed of the cars")
)

// The program's own advice finds what is wrong with every car, through the door
// that a learner goes through; and whoever is careful scores more than whoever
// isn't, on every car and so on every level.
func TestEveryCarIsSolvedByTheAdvice(t *testing.T) {
	p := loadIntake(t)
	type sum struct{ cars, careful, careless int }
	levels, lock := map[int]*sum{}, sync.Mutex{}
	t.Run("cars", func(t *testing.T) {
		for _, c := range practice.Cars() {
			if *only != "" && !slices.Contains(strings.Split(*only, ","), c.Name) {
				continue
			}
			t.Run(c.Name, func(t *testing.T) {
				t.Parallel()
				good, bad := bothPlay(t, p, c.With(*seed))
				t.Logf("level %d: careful %d, careless %d", c.Level, good.Score, bad.Score)
				if bad.Score >= good.Score {
					t.Errorf("careless scores %d, careful %d: %+v", bad.Score, good.Score, bad.Points)
				}
				lock.Lock()
				defer lock.Unlock()
				if levels[c.Level] == nil {
					levels[c.Level] = &sum{}
				}
				l := levels[c.Level]
				l.cars, l.careful, l.careless = l.cars+1, l.careful+good.Score, l.careless+bad.Score
			})
		}
	})
	for level, l := range levels {
		t.Logf("level %d, %d cars: careful %.1f, careless %.1f", level, l.cars, float64(l.careful)/float64(l.cars), float64(l.careless)/float64(l.cars))
	}
}

// bothPlay has a careful player and a careless one go through a car; the careful
// one, who follows the program's advice, must find what is wrong.
func bothPlay(t *testing.T, p *engine.Procedure, c *practice.Case) (careful, hasty *Debrief) {
	t.Helper()
	best := New(c.Bench(*seed+1), Silent)
	run, err := Play(t.Context(), p, best, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !best.Right() {
		t.Errorf("the advice would change %v, the truth is %v", best.guess, c.Answer())
	}
	careful = Debriefed(best, best, Judge(run), *seed)
	b := New(c.Bench(*seed+1), Silent)
	run, err = Play(t.Context(), p, b, func(*Player) session.Asker { return &careless{b, map[string]int{}} })
	if err != nil {
		t.Fatal(err)
	}
	return careful, Debriefed(b, best, Judge(run), *seed)
}
