package bench

import (
	"context"
	"io/fs"
	"testing"

	"dropwalk/advice"
	"dropwalk/advice/practice"
	"dropwalk/engine"
	"dropwalk/procedures"
)

func loadIntake(t testing.TB) *engine.Procedure {
	t.Helper()
	src, err := fs.ReadFile(procedures.FS, "intake.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, faults := engine.Load("intake.yaml", src, &advice.Matter{})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return p
}

func TestEveryCarIsSolvedByTheAdvice(t *testing.T) {
	p := loadIntake(t)
	for _, c := range practice.Cars() {
		for seed := range uint64(3) {
			other := c.With(seed)
			b := New(other.Bench(seed+1), Silent)
			_, err := Play(context.Background(), p, b, nil)
			if err != nil {
				t.Errorf("%s: %v", c.Name, err)
				continue
			}
			t.Logf("%-12s seed %d level %d fault %-18q guess %v want %v right %v taps %v pulls %d", c.Name, seed, c.Level, c.Setup.Fault, b.guess, other.Answer(), b.Right(), b.taps, b.Sim.Pulls())
			if !b.Right() {
				t.Errorf("%s %d", c.Name, seed)
			}
		}
	}
}
