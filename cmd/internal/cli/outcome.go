package cli

import (
	"bytes"
	"fmt"
	"strings"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/record"
)

// outcome is what the events of a record come to for whoever lists it.
type outcome struct {
	car     string   // the name that the car bears now, "" for none
	stopped bool     // somebody stopped the test
	ended   string   // how it ended, "" while it goes on
	owed    []string // what is still to be put back, the latest first
}

// outcomeOf reads one record for what it has come to.
func (a *app) outcomeOf(path string, header record.Header) outcome {
	c, err := record.View(path)
	if err != nil {
		return outcome{car: header.Car}
	}
	return a.outcomeIn(c)
}

// outcomeIn tells what a record has come to. What can't be read, nil, counts as not
// there: the check of a record tells of it.
func (a *app) outcomeIn(c *record.Content) outcome {
	if c == nil {
		return outcome{}
	}
	st := outcome{car: carNow(c)}
	for _, line := range c.Lines {
		switch line.Kind {
		case engine.Stopped:
			st.stopped = true
		case engine.Finished:
			if e, err := session.EventOf(line); err == nil {
				st.ended = e.Text
			}
		}
	}
	if !st.stopped && !strings.Contains(st.ended, " open") {
		return st
	}
	// What was done to the car and what was put back, only the run itself knows.
	if r, err := a.rebuild(record.Name(c.Path), c.Lines); err == nil {
		for _, duty := range r.run.Owed() {
			st.owed = append(st.owed, duty.Text)
		}
	}
	return st
}

// carNow is the name of the car as it was answered last. The header keeps the
// one that the record was named after, which may have been corrected since.
func carNow(c *record.Content) string {
	car, step := c.Header.Car, ""
	for _, line := range c.Lines {
		if line.Kind != engine.Answered || step == "" && !bytes.Contains(line.Body, []byte(carName)) {
			continue
		}
		e, err := session.EventOf(line)
		if err != nil {
			continue
		}
		for _, part := range e.Parts {
			if part.Path == carName {
				car, step = part.Text, e.Step
			}
		}
		if e.Unknown && e.Step == step {
			car = ""
		}
	}
	return car
}

// told says how a test stands that is neither damaged nor empty.
func (st outcome) told(state string) string {
	switch {
	case st.stopped && st.ended == "":
		state = "stopped, not closed up"
	case st.stopped:
		state = "stopped"
	}
	switch n := len(st.owed); n {
	case 0:
		return state
	case 1:
		return state + "; 1 thing to put back"
	default:
		return fmt.Sprintf("%s; %d things to put back", state, n)
	}
}
