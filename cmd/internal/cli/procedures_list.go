package cli

import (
	"io"
	"slices"
	"strings"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
)

// listedProcedure is a row of the list of procedures.
type listedProcedure struct {
	Name     string   `json:"name"`
	Title    string   `json:"title"`
	Takes    string   `json:"takes"`
	Parts    []string `json:"parts"`
	SHA256   string   `json:"sha256"` // of its file, as the header of a record has it
	Origin   string   `json:"origin"` // comes or own
	File     string   `json:"file,omitzero"`
	Shadowed bool     `json:"shadowed,omitzero"` // one that comes with the program has its name
	Fault    string   `json:"fault,omitzero"`    // why it can't be run
	Symptom  bool     `json:"symptom"`           // it leads from a symptom to a cause
}

// Where a procedure comes from.
const (
	originComes = "program"
	originOwn   = "own"
)

func (l *listedProcedure) fill(p *engine.Procedure) {
	l.Title, l.Takes, l.SHA256, l.Symptom = p.Title, p.Takes, p.SHA256(), p.Search != nil
	for _, part := range p.Parts {
		l.Parts = append(l.Parts, part.Title)
	}
}

// text is what a row says of the procedure.
func (l *listedProcedure) text() string {
	switch {
	case l.Fault != "":
		return "can't be run: " + l.Fault
	case l.Takes != "":
		return l.Title + " Takes " + l.Takes + "."
	}
	return l.Title
}

// shippedList are the procedures that come with the program: the one for a first
// test, then by name.
func shippedList() ([]listedProcedure, error) {
	list := []listedProcedure{}
	for _, name := range shipped() {
		p, err := findProcedure(name, quantity.AsTyped)
		if err != nil {
			return nil, err
		}
		l := listedProcedure{Name: name, Origin: originComes}
		l.fill(p)
		list = append(list, l)
	}
	slices.SortStableFunc(list, func(x, y listedProcedure) int {
		switch {
		case x.Name == usualProcedure:
			return -1
		case y.Name == usualProcedure:
			return 1
		}
		return strings.Compare(x.Name, y.Name)
	})
	return list, nil
}

// procedureList are all that a name can call, those of the user behind the others, and the names of
// files in the user's folder that none can.
func (a *app) procedureList() (list []listedProcedure, strange []string, err error) {
	if list, err = shippedList(); err != nil {
		return nil, nil, err
	}
	own, strange := a.ownProcedures()
	for _, o := range own {
		list = append(list, o.listed())
	}
	return list, strange, nil
}

// Headings of the list, and which rows stand below each.
var listHeadings = []struct {
	text string
	has  func(*listedProcedure) bool
}{
	{"To measure:", func(l *listedProcedure) bool { return l.Origin == originComes && !l.Symptom }},
	{"From a symptom to its cause:", func(l *listedProcedure) bool { return l.Origin == originComes && l.Symptom }},
	{"Yours:", func(l *listedProcedure) bool { return l.Origin == originOwn }},
}

func (a *app) listProcedures(asJSON bool) error {
	list, strange, err := a.procedureList()
	if err != nil {
		return err
	}
	if asJSON {
		return a.writeVersioned("procedures", struct {
			List []listedProcedure `json:"list"`
		}{list})
	}
	var b strings.Builder
	for _, h := range listHeadings {
		title := h.text + "\n"
		for i := range list {
			if l := &list[i]; h.has(l) {
				b.WriteString(title + row(l.Name, terminal.CleanLine(l.text()), a.Width))
				title = ""
			}
		}
	}
	b.WriteString("\n" + terminal.Wrap("Begin one with "+a.command("start")+" and its name.", a.Width, "", ""))
	_, err = io.WriteString(a.Out, b.String())
	a.tellOwn(list, strange)
	return err
}
