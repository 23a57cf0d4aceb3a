package worksheet

import (
	"regexp"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// measured tells whether a field takes a number.
func measured(f subject.Field) bool {
	return f.Kind != quantity.Text && f.Kind != quantity.Choice && f.Kind != quantity.Truth
}

var numberAhead = regexp.MustCompile(`^[-+]?[0-9.]+`)

// unitsOf are the units of the fields of an ask, "" where there is none. A bare
// number goes before the example: its unit is that of the instrument.
func (m *maker) unitsOf(s *engine.Step) []string {
	units := make([]string, len(s.Fills))
	like := map[string]string{}
	if reply, err := m.view.Read(s.Fills, subject.Round{}, s.Like); err == nil {
		for _, part := range reply.Parts {
			like[part.Path] = part.Text
		}
	}
	for i, path := range s.Fills {
		f, _ := m.o.Matter.Field(path)
		switch {
		case !measured(f):
		case f.Unit != "":
			units[i] = f.Unit
		default:
			units[i] = m.unit(f, like[path])
		}
	}
	return units
}

func (m *maker) unit(f subject.Field, like string) string {
	number := numberAhead.FindString(like)
	if reply, err := m.view.Read([]string{f.Path}, subject.Round{}, number); err == nil && number != "" && len(reply.Parts) == 1 {
		like = reply.Parts[0].Text
	}
	a, err := quantity.Read(like, quantity.Want{Kind: f.Kind})
	if err != nil {
		return ""
	}
	if m.o.Units == quantity.AsTyped {
		return a.Unit
	}
	shown, err := quantity.Read(quantity.Show(a.SI, f.Kind, m.o.Units), quantity.Want{Kind: f.Kind})
	if err != nil {
		return a.Unit
	}
	return shown.Unit
}
