package lesson

import (
	"context"
	"flag"
	"strings"
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
	levels := map[int]*sum{}
	for _, c := range practice.Cars() {
		if len(*only) > 0 && !strings.Contains(*only, c.Name) {
			continue
		}
		c := c.With(*seed)
		b := New(c.Bench(*seed+1), Silent)
		run, err := Play(context.Background(), p, b, nil)
		if err != nil {
			t.Errorf("%s: %v", c.Name, err)
			continue
		}
		if !b.Right() {
			t.Errorf("%s: the advice would change %v, the truth is %v", c.Name, b.guess, c.Answer())
		}
		good := Debriefed(b, b, Judge(run), 0)
		hasty := New(c.Bench(*seed+1), Silent)
		run, err = Play(context.Background(), p, hasty, func(*Player) session.Asker { return &careless{hasty, map[string]int{}} })
		if err != nil {
			t.Errorf("%s, careless: %v", c.Name, err)
			continue
		}
		bad := Debriefed(hasty, b, Judge(run), 0)
		t.Logf("%-12s level %d: careful %d, careless %d %v", c.Name, c.Level, good.Score, bad.Score, bad.Points)
		if bad.Score >= good.Score {
			t.Errorf("%s: careless scores %d, careful %d", c.Name, bad.Score, good.Score)
		}
		if levels[c.Level] == nil {
			levels[c.Level] = &sum{}
		}
		l := levels[c.Level]
		l.cars, l.careful, l.careless = l.cars+1, l.careful+good.Score, l.careless+bad.Score
	}
	for level, l := range levels {
		t.Logf("level %d, %d cars: careful %.1f, careless %.1f", level, l.cars, float64(l.careful)/float64(l.cars), float64(l.careless)/float64(l.cars))
	}
}
