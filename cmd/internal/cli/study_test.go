package cli

import (
	"encoding/json"
	"strings"
	"testing"
)

func TestStudy(t *testing.T) {
	r := runLine("study --cars 4 --seed 3 --hand fitter --walk advice")
	for _, want := range []string{"4 of 4 cars, seed 3, made by fitter, intervals after the advice walk", "90 % intervals hold the loss", "stations tapped, all cars"} {
		if r.code != exitDone || !strings.Contains(r.out, want) {
			t.Errorf("it ends with %d and prints %q, want %q", r.code, r.out, want)
		}
	}
	if r.err != "" {
		t.Errorf("it says %q where nobody watches", r.err)
	}
	var object struct {
		Done int            `json:"cars_done"`
		With map[string]any `json:"with_geometry"`
	}
	r = runLine("study --cars 4 --seed 3 --json")
	if err := json.Unmarshal([]byte(r.out), &object); err != nil || object.Done != 4 || object.With["coverage"] == nil {
		t.Errorf("got %v from %q, want 4 cars and their coverage", err, r.out)
	}
}

func TestStudyFaults(t *testing.T) {
	for line, want := range map[string]string{
		"study --hand tinkr": `did you mean "tinker"?`,
		"study --walk round": "one of: full, advice",
		"study --cars 0":     "--cars: 0 is not possible",
		"study --seed -1":    "invalid argument",
		"study cars":         "has no use for",
		"study --car 5":      "did you mean --cars?",
	} {
		if r := runLine(line); r.code != exitInput || !strings.Contains(r.err, want) {
			t.Errorf("%s ends with %d and says %q, want %d and %q", line, r.code, r.err, exitInput, want)
		}
	}
}
