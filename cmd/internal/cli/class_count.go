package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"dropwalk/advice"
	"dropwalk/advice/class"
	"dropwalk/advice/compare"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/classroom"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/record"
)

// gathered is what the sheets of one car in a class say.
type gathered struct {
	class.Gatherer
	unit string // of the first gauge
}

// takenIn is what one record says, or why it says nothing.
type takenIn struct {
	car   *gathered
	said  class.Said
	fault error
	open  string // what the test left undone, "" for nothing
}

// cameIn is all that came in, with what the records say. Collecting and summing up go
// by it alike: what no reading can be had of counts in neither.
type cameIn struct {
	*classroom.Collected
	cars   []*gathered
	visits map[int]takenIn // by Item.At
}

// cameIn makes sheets of the records that may count, one at a time, and says of each
// file whether it counts.
func (a *app) cameIn(dir string, c *classroom.Class) (*cameIn, error) {
	in := &cameIn{visits: map[int]takenIn{}}
	readers := make(chan *app, idleReaders)
	type read struct {
		sheet *sheet.Sheet
		open  string
		fault error
	}
	var err error
	in.Collected, err = a.collected(dir, c, classroom.Visitor{
		Read: func(i *classroom.Item, content *record.Content) any {
			reader := a.reader(readers)
			s, open, fault := reader.sheetOfItem(i.Record, content)
			select {
			case readers <- reader:
			default:
			}
			return read{s, open, fault}
		},
		Keep: func(at int, v any) {
			r := v.(read)
			if r.fault != nil {
				in.visits[at] = takenIn{fault: r.fault, open: r.open}
				return
			}
			of := carOf(&in.cars, r.sheet)
			in.visits[at] = takenIn{car: of, said: of.Take(r.sheet), open: r.open}
		},
	})
	if err != nil {
		return nil, err
	}
	for k := range in.Items {
		i := &in.Items[k]
		v := in.visits[i.At]
		if !i.Counts {
			continue
		}
		if v.fault != nil {
			i.Exclude(classroom.NoReadings, strings.ReplaceAll(v.fault.Error(), "\n", "; "))
		} else {
			v.car.Add(i.Group, v.said)
		}
		// Of a record that was cut, nobody knows how it went on.
		if v.open != "" && !i.Has(classroom.Damaged) {
			i.Say(classroom.Unfinished, v.open)
		}
	}
	in.Missing = in.Lacking()
	return in, nil
}

// leftUndone says how a test stands that is not finished, or after which something is
// still in the car; "" of a finished one.
func leftUndone(r *engine.Run) string {
	var parts []string
	if _, ended := r.Ended(); !ended {
		parts = append(parts, "the test is not finished")
	}
	if r.Aborted() {
		parts = []string{"the test was stopped"}
	}
	if owed := r.Owed(); len(owed) > 0 {
		text := "still to be done to the car: " + strings.TrimSuffix(owed[0].Text, ".")
		if n := len(owed) - 1; n > 0 {
			text += fmt.Sprintf(" (and %s)", counted(n, "further thing"))
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, "; ")
}

// idleReaders is how many readers wait for work at the most.
const idleReaders = 16

// reader is an app of a thread's own: it keeps the procedures that it has read, and
// says nothing.
func (a *app) reader(idle chan *app) *app {
	select {
	case r := <-idle:
		return r
	default:
	}
	r := *a
	r.loaded, r.known, r.Err, r.In = nil, session.Known{}, io.Discard, strings.NewReader("")
	return &r
}

// sheetOfItem is the sheet of a record that was handed in, and what its test left
// undone; of one before and after a change it is the car as it was.
func (a *app) sheetOfItem(name string, c *record.Content) (s *sheet.Sheet, open string, err error) {
	r, err := a.rebuild(name, c.Lines)
	if err != nil {
		return nil, "", err
	}
	open = leftUndone(r.run)
	entries := r.run.Entries()
	if blocks := advice.Blocks(entries); len(blocks) > 0 {
		entries = blocks[0].Entries
	} else {
		entries = advice.SheetEntries(entries)
	}
	s, faults := sheet.FromEntries(entries)
	switch fault := faults.Err(); {
	case fault == nil && len(s.Readings) > 0:
		return s, open, nil
	case fault == nil:
		return nil, open, errors.New("the test has no readings yet")
	}
	if missing := lacking(entries); len(missing) > 0 {
		return nil, open, fmt.Errorf("the test has not come far enough; still missing: %s", strings.Join(missing, ", "))
	}
	return nil, open, errors.New("the record makes no test sheet")
}

// carOf finds the car of a sheet among those so far. A sheet that names no car may be
// of any.
func carOf(cars *[]*gathered, s *sheet.Sheet) *gathered {
	for _, g := range *cars {
		if compare.SameCar(g.Car(), s.Car.Name) {
			return g
		}
	}
	g := &gathered{}
	if len(s.Gauges) > 0 {
		g.unit = s.Gauges[0].Range.Unit
	}
	*cars = append(*cars, g)
	return g
}

// chooseCar is the car of a name, or that of most groups; an empty one where nothing
// was read at all.
func chooseCar(cars []*gathered, name string) (*gathered, error) {
	var names []string
	best := &gathered{}
	for _, g := range cars {
		names = append(names, g.Car())
		if name != "" && compare.SameCar(g.Car(), name) {
			return g, nil
		}
		if g.Groups() > best.Groups() {
			best = g
		}
	}
	if name != "" {
		return nil, &usageError{fmt.Sprintf("--about: no group tested a car called %q", name), "one of: " + strings.Join(names, ", ")}
	}
	return best, nil
}
