package cli

import (
	"errors"
	"fmt"
	"time"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/record"
)

// carName is the answer that a record is named after.
const carName = "car.name"

// mostNames bounds the search for a free name while other programs take them.
const mostNames = 1000

// newRecord is a record that is made when there is something to keep: the
// first answer. Until then nothing was acknowledged, so nothing can be lost,
// and the first answer gives it its name.
type newRecord struct {
	dir       string
	env       record.Env
	now       func() time.Time
	procedure *engine.Procedure
	kept      session.Procedure
	simulated string // what stands in for the car, "" for a real one

	waiting []pending // events ahead of the first answer
	log     *record.Log
}

type pending struct {
	kind string
	body any
}

// Append implements session.Store.
func (n *newRecord) Append(kind string, body any) error {
	n.waiting = append(n.waiting, pending{kind, body})
	if n.log == nil {
		if kind == engine.Started || kind == engine.Chosen {
			return nil
		}
		if err := n.create(); err != nil {
			n.waiting = n.waiting[:len(n.waiting)-1]
			return err
		}
	}
	for len(n.waiting) > 0 {
		if _, err := n.log.Append(n.waiting[0].kind, n.waiting[0].body); err != nil {
			// The last one is handed in again by whoever tries again.
			n.waiting = n.waiting[:len(n.waiting)-1]
			return err
		}
		n.waiting = n.waiting[1:]
	}
	return nil
}

// create makes the record, with the procedure inside.
func (n *newRecord) create() error {
	car := n.car()
	header := record.Header{
		Program: program + " " + release(), Procedure: n.procedure.Name,
		ProcedureSHA256: n.procedure.SHA256(), Car: car, Simulated: n.simulated,
	}
	base := n.procedure.Name
	if car != "" {
		base = record.NameFrom(car)
	}
	if n.simulated != "" {
		base = practiceFolder + "-" + base
	}
	base += "-" + n.now().Format(time.DateOnly)
	for range mostNames {
		name, err := record.FreeName(n.dir, base, n.env)
		if err != nil {
			return err
		}
		log, err := record.Create(n.dir, name, header, n.env)
		if errors.Is(err, record.ErrExists) {
			continue
		}
		if err != nil {
			return err
		}
		n.log = log
		n.waiting = append([]pending{{session.ProcedureKind, n.kept}}, n.waiting...)
		return nil
	}
	return fmt.Errorf("no free name for a record in %s", n.dir)
}

// car is the name of the car as far as it is known: from the answer that is
// waiting or from an earlier sheet.
func (n *newRecord) car() string {
	for _, p := range n.waiting {
		e := session.EventIn(p.body)
		for _, part := range e.Parts {
			if part.Path == carName {
				return part.Text
			}
		}
		for _, entry := range e.Given {
			if entry.Path == carName {
				return entry.Text
			}
		}
	}
	return ""
}

func (n *newRecord) logName() string {
	if n.log == nil {
		return ""
	}
	return n.log.Name()
}

func (n *newRecord) close() {
	if n.log != nil {
		n.log.Close() // every acknowledged line is on the disk; Close saves nothing
	}
}

// oldRecord is a record that goes on.
type oldRecord struct{ log *record.Log }

// Append implements session.Store.
func (o oldRecord) Append(kind string, body any) error {
	_, err := o.log.Append(kind, body)
	return err
}
