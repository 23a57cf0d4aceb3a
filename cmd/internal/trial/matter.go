package trial

import (
	"fmt"
	"strconv"
	"strings"

	"dropwalk/engine/quantity"
	"dropwalk/engine/rules"
	"dropwalk/engine/subject"
)

// unsaid is the answer of somebody who doesn't know.
const unsaid = "?"

// supposed is a matter whose facts are what a walk supposes. It knows the names
// of the real one and works nothing out.
type supposed struct {
	subject.Subject
	facts  rules.Facts
	rounds map[string]int // how many rounds each step of rounds has in this walk
}

// Look implements subject.Subject.
func (s *supposed) Look([]subject.Entry) subject.View { return view{s} }

// view is the supposed matter as it stands at any moment.
type view struct{ *supposed }

// Value implements subject.View.
func (s view) Value(fact string) subject.Value { return s.facts[fact] }

// Offer implements subject.View.
func (s view) Offer(source string, at subject.Round) (subject.Offer, bool) {
	if at.Done >= s.rounds[stepOf(at.Slot)] {
		return subject.Offer{}, false
	}
	about, _ := s.Source(source)
	values := map[string]string{}
	for _, f := range about.Values {
		values[f.Name] = s.roundText(f, at.Done+1)
	}
	return subject.Offer{Values: values, Reason: "it is supposed"}, true
}

// stepOf is the id of the rounds in a slot such as "walk.2/runs.3".
func stepOf(slot string) string {
	last := slot[strings.LastIndexByte(slot, '/')+1:]
	id, _, _ := strings.Cut(last, ".")
	return id
}

func (s *supposed) roundText(f subject.Fact, number int) string {
	v, pinned := s.facts[f.Name]
	switch {
	case pinned && f.Kind != quantity.Choice && f.Kind != quantity.Text:
		return strconv.FormatFloat(v.Number, 'g', -1, 64)
	case pinned:
		return v.Word
	case f.Kind == quantity.Choice && len(f.Choices) > 0:
		return f.Choices[0]
	case f.Kind == quantity.Text:
		return fmt.Sprintf("%s %d", f.Name, number)
	}
	return strconv.Itoa(number)
}

// Read implements subject.View. Any text will do: whether the real matter
// understands an example is for the check of the file.
func (s view) Read(paths []string, _ subject.Round, raw string) (subject.Reply, error) {
	if raw == unsaid {
		return subject.Reply{Unknown: true}, nil
	}
	var parts []subject.Part
	for _, path := range paths {
		parts = append(parts, subject.Part{Path: path, Text: raw})
	}
	return subject.Reply{Parts: parts}, nil
}

// Page implements subject.View.
func (view) Page(name string) string { return name }

// Picture implements subject.View.
func (view) Picture(string, subject.Round) subject.Picture { return subject.Picture{} }
