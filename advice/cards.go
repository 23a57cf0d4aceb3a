package advice

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
	"dropwalk/engine/spell"
	"dropwalk/engine/subject"
)

// cardPath is what the card of a gauge says beyond range and division, in one
// line: "card g25: accuracy 2 %; checked 2026-11-01; correction 10 inH2O = 10.2
// inH2O". A record holds it, so that a later change of the card changes no old
// test.
const cardPath = "gauges[].card"

// checkedPath is when a gauge was last checked.
const checkedPath = "gauges[].checked"

// gaugeList is where a gauge stands on a sheet.
const gaugeList = "gauges[]."

// cardBehind is an answer that was taken from a card, as the record keeps it.
var cardBehind = regexp.MustCompile(`^(.*), card ([^:]+): *(.*)$`)

// longestCard bounds the name of a card: it is typed at a prompt.
const longestCard = 40

var cardForm = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

// IsCardName tells whether text can be the name of a card: no number, no blank,
// nothing that leads out of a folder.
func IsCardName(text string) bool { return len(text) <= longestCard && cardForm.MatchString(text) }

// readCardName is a name that a card can have.
func readCardName(text string) (string, error) {
	if name := strings.ToLower(text); IsCardName(name) && name != UnnamedGauge {
		return name, nil
	}
	return "", &subject.Refusal{What: fmt.Sprintf("%q is no name for a card", text), Expected: "small letters, digits and hyphens, beginning with a letter, such as g25"}
}

// cardNames are the cards that there are, in order.
func (m *Matter) cardNames() []string {
	var names []string
	for _, c := range m.Cards {
		names = append(names, c.Name)
	}
	return names
}

// ofCard are the entries of a sheet that a card makes, without its name.
func ofCard(c sheet.Card) []subject.Part {
	var parts []subject.Part
	s := sheet.Sheet{Gauges: []sheet.Gauge{c.Gauge}}
	for _, e := range s.Entries() {
		if strings.HasPrefix(e.Path, gaugeList) && e.Path != gaugeNamePath {
			parts = append(parts, subject.Part{Path: e.Path, Text: e.Text})
		}
	}
	return parts
}

// fromCard is an answer to the question for the gauge with the card in it: what
// is asked for, and the rest as cardPath holds it, "" where the answer is none of
// a card.
func (v *view) fromCard(paths []string, line string) (asked, card string, err error) {
	if m := cardBehind.FindStringSubmatch(line); m != nil {
		card = "card " + m[2] + ": " + m[3]
		if _, err := cardEntries(soleRow, card); err != nil {
			return "", "", &subject.Refusal{What: fmt.Sprintf("%q can't be read: %v", card, err), Expected: "range and division, or the name of a card"}
		}
		return m[1], card, nil
	}
	i := slices.IndexFunc(v.matter.Cards, func(c sheet.Card) bool { return strings.EqualFold(c.Name, line) })
	if i < 0 {
		return line, "", v.noCard(line)
	}
	c := v.matter.Cards[i]
	var shares, rest []string
	for _, p := range ofCard(c) {
		key := strings.TrimPrefix(p.Path, gaugeList)
		switch {
		case len(shares) < len(paths) && paths[len(shares)] == p.Path:
			shares = append(shares, p.Text)
		case p.Path == correctionPath:
			for row := range strings.SplitSeq(p.Text, ", ") {
				rest = append(rest, key+" "+row)
			}
		default:
			rest = append(rest, key+" "+p.Text)
		}
	}
	return strings.Join(shares, ", "), "card " + c.Name + ": " + strings.Join(rest, "; "), nil
}

// cardWord is what could be the name of a card and no range.
var cardWord = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9-]*$`)

// noCard refuses a word that calls no card.
func (v *view) noCard(line string) error {
	if !cardWord.MatchString(line) {
		return nil
	}
	names := v.matter.cardNames()
	r := &subject.Refusal{What: fmt.Sprintf("no gauge has a card called %q", line), Expected: "range and division, such as 25 inH2O by 0.5 inH2O"}
	if near, ok := spell.Nearest(line, names); ok {
		r.What += fmt.Sprintf(" (did you mean %q?)", near)
	}
	if len(names) > 0 {
		r.Expected += "; or a card: " + strings.Join(names, ", ")
	}
	return r
}

// CardIn is the name of the card that a part of an answer was taken from, "" where
// it was taken from none.
func CardIn(p subject.Part) string {
	if p.Path != cardPath {
		return ""
	}
	name, _, _ := strings.Cut(strings.TrimPrefix(p.Text, "card "), ":")
	return name
}

// cardEntries are the entries of a sheet that a recorded card makes.
func cardEntries(row, card string) ([]subject.Entry, error) {
	name, rest, ok := strings.Cut(strings.TrimPrefix(card, "card "), ":")
	if !ok {
		return nil, errors.New("no card of a gauge")
	}
	out := []subject.Entry{{Path: gaugeNamePath, Row: row, Text: name}}
	var table []string
	for item := range strings.SplitSeq(strings.TrimSpace(rest), "; ") {
		key, text, _ := strings.Cut(item, " ")
		switch path := gaugeList + key; {
		case item == "":
		case path == correctionPath:
			table = append(table, text)
		case path == gaugeNamePath || !sheet.Known(path):
			return nil, fmt.Errorf("a card has no %q", key)
		default:
			out = append(out, subject.Entry{Path: path, Row: row, Text: text})
		}
	}
	if len(table) > 0 {
		out = append(out, subject.Entry{Path: correctionPath, Row: row, Text: strings.Join(table, ", ")})
	}
	return out, nil
}

// cardEcho says what of a card is used beyond range and division, on a day.
func cardEcho(card, today string) string {
	entries, err := cardEntries(soleRow, card)
	if err != nil {
		return ""
	}
	var parts []string
	said := map[string]string{"gauges[].division": "scale ", accuracyPath: "accuracy ", checkedPath: "checked ", gaugeList + "position": "read "}
	for _, e := range entries {
		if label, ok := said[e.Path]; ok {
			parts = append(parts, label+e.Text)
		}
		if day, err := time.Parse(time.DateOnly, today); err == nil && e.Path == checkedPath && model.Overdue(e.Text, day) {
			parts = append(parts, "which is over a year ago")
		}
		if e.Path == correctionPath {
			parts = append(parts, fmt.Sprintf("correction table of %d", strings.Count(e.Text, "=")))
		}
	}
	if len(parts) == 0 {
		return "card " + entries[0].Text
	}
	return "card " + entries[0].Text + ": " + strings.Join(parts, ", ")
}
