package study

import (
	"context"
	"flag"
	"fmt"
	"strings"
	"testing"
	"time"

	"dropwalk/advice/learn"
	"dropwalk/advice/model"
	"dropwalk/advice/practice"
)

var schoolCars = flag.Int("school", 60, "`number` of cars that are learned from, and of others that are judged")

func visits(p Plan, n int) []learn.Visit {
	var out []learn.Visit
	for i := range n {
		out = append(out, learn.Visit{Name: fmt.Sprint(i), Sheet: p.Sheet(i)})
	}
	return out
}

func TestSchool(t *testing.T) {
	n := *schoolCars
	p := Plan{Cars: n, Seed: 21, Hands: practice.Hands(), Walk: Full, School: practice.Invented()}
	at := time.Now()
	got, err := learn.Fit(context.Background(), visits(p, n), learn.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, g := range got.Groups {
		fmt.Fprintf(&b, "%-10s %-10s factor %.2f weight %.2f pieces %d\n", g.Kind, g.Form, g.Factor, g.Weight, g.Pieces)
	}
	for _, k := range got.Kinds {
		fmt.Fprintf(&b, "%-10s spread %.2f spoilt %.2f (%.2f)\n", k.Kind, k.Spread, k.Spoilt, model.UsualSpoilt(k.Kind))
	}
	t.Logf("%d steps, %v\n%s\nruns %+v refits %+v", got.Steps, time.Since(at), b.String(), got.Runs, got.Refits)
	p.Seed = 22
	for _, priors := range []*model.Priors{nil, got.Model()} {
		p.Priors = priors
		r := Run(context.Background(), p, nil)
		for _, s := range []Score{r.With, r.Without} {
			t.Logf("coverage %+v score %+v total %+v", *s.Coverage, *s.IntervalScore, *s.Total)
		}
	}
}
