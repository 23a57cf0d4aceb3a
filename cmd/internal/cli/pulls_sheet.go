package cli

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"dropwalk/advice/pulls"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// pullsSheet is a sheet to which readings of pulls are added.
type pullsSheet struct {
	path, out       string
	src             []byte
	old             *sheet.Sheet
	from, to, gauge string
	card            *sheet.Card // of that gauge, where the sheet doesn't have it yet
	added           []sheet.Reading
}

// add adds the readings of one log. It refuses what nobody confirmed: two
// channels that could both be the gauge, and roles that were guessed.
func (t *pullsSheet) add(r *pulls.Result) error {
	names := map[string]bool{}
	for _, x := range r.Readings {
		names[x.Name] = true
	}
	if len(names) > 1 {
		return input(fmt.Errorf("%s: %d channels tell intake pressure, and a reading is of one; nothing was added", r.File, len(names)), "name it: --column pressure=NAME")
	}
	for _, c := range r.Channels {
		if c.By == pulls.ByBehaviour && c.Role != pulls.NoRole {
			return input(fmt.Errorf("%s: that %q tells %s follows from what it does only; nothing was added", r.File, c.Name, c.Role),
				fmt.Sprintf("if it is right, confirm it: --column %q", string(c.Role)+"="+c.Name))
		}
	}
	for _, x := range r.Readings {
		t.added = append(t.added, t.reading(r, x))
	}
	return nil
}

// reading is one reading as the sheet has it. The interval of 95 % stands as
// +-, which a sheet takes for two standard deviations.
func (t *pullsSheet) reading(r *pulls.Result, x pulls.Reading) sheet.Reading {
	p := r.Found[x.Pull-1]
	out := sheet.Reading{
		Run: t.nextRun(), From: t.from, To: t.to, Gauge: t.gauge, RPM: math.Round(x.RPM),
		Value:    spanned(x.Pa.Median, (x.Pa.High-x.Pa.Low)/2, quantity.PressureDiff, t.unit()),
		Doubtful: x.Doubtful,
		Note:     fmt.Sprintf("from %s, pull %d, at %s", filepath.Base(r.File), x.Pull, p.Start),
	}
	if p.RPMPerKmh != nil {
		out.Speed = spanned(x.RPM / *p.RPMPerKmh / 3.6, 0, quantity.Speed, "km/h")
	}
	if kgs, err := quantity.From(1, quantity.MassFlow, flowUnit(r)); err == nil && p.Flow != nil && !x.Outside {
		out.MassFlow = spanned(p.Flow.Median*kgs, (p.Flow.High-p.Flow.Low)/2*kgs, quantity.MassFlow, "g/s")
	}
	return out
}

// unit is that of the gauge in the sheet, so that a sheet keeps to one.
func (t *pullsSheet) unit() string {
	g := t.old.GaugeByName(t.gauge)
	if t.card != nil {
		g = &t.card.Gauge
	}
	if g != nil && g.Range.Unit != "" {
		return g.Range.Unit
	}
	return "kPa"
}

func flowUnit(r *pulls.Result) string {
	for _, c := range r.Channels {
		if c.Role == pulls.Flow && c.Unit != "" {
			return c.Unit
		}
	}
	return "unknown"
}

func (t *pullsSheet) nextRun() int {
	run := 0
	for _, x := range t.old.Readings {
		run = max(run, x.Run)
	}
	return run + len(t.added) + 1
}

// spanned is an SI value with its half width in a unit, both rounded to what
// the half width allows.
func spanned(si, half float64, k quantity.Kind, unit string) quantity.Amount {
	size, err := quantity.From(1, k, unit)
	if err != nil {
		size, unit = 1, quantity.UnitsOf(k)[0]
	}
	v, h := si/size, half/size
	digits := 0
	if h > 0 {
		digits = max(0, 1-int(math.Floor(math.Log10(h))))
	}
	text := fmt.Sprintf("%.*f %s", digits, v, unit)
	if h > 0 {
		text = fmt.Sprintf("%.*f +- %.*f %s", digits, v, digits, h, unit)
	}
	a, err := quantity.Read(text, quantity.Want{Kind: k})
	if err != nil {
		a, _ = quantity.Of(v, k, unit)
	}
	return a
}

// savePulls writes the sheet with what was added, at one stroke. Comments stay
// wherever the readings are a list of their own; where they can't, it is said.
func (a *app) savePulls(t *pullsSheet) error {
	if len(t.added) == 0 {
		return input(fmt.Errorf("no reading was found; %s is as it was", t.path), "the page above says what the log lacks")
	}
	full := *t.old
	full.Readings = append(append([]sheet.Reading(nil), t.old.Readings...), t.added...)
	more := map[string]int{"readings": len(t.added)}
	if t.card != nil {
		full.Gauges = append(slices.Clone(t.old.Gauges), t.card.Gauge)
		more["gauges"] = 1
	}
	want := sheet.Write(&full)
	text, kept := withRows(t.src, want, more)
	if _, faults := sheet.Read(t.path, text); faults.Err() != nil {
		return fmt.Errorf("the sheet with its readings would not read back: %w", faults.Err())
	}
	if err := a.save(t.out, text); err != nil {
		return err
	}
	fmt.Fprintf(a.Err, "%s added: %s to %s, %s\n", counted(len(t.added), "reading"), t.from, t.to, runsOf(t.added))
	if t.card != nil {
		fmt.Fprintf(a.Err, "the gauge %s was added from its card\n", t.gauge)
	}
	if !kept {
		fmt.Fprintln(a.Err, "its comments and its layout are gone; every value stayed")
	}
	return nil
}

func runsOf(list []sheet.Reading) string {
	first, last := list[0].Run, list[len(list)-1].Run
	if first == last {
		return fmt.Sprintf("run %d", first)
	}
	return fmt.Sprintf("runs %d to %d", first, last)
}

// counted is a number of things, as in 1 row and 2 rows.
func counted(n int, word string) string { return fmt.Sprintf("%d %s", n, plural(n, word)) }

func plural(n int, word string) string {
	if n == 1 {
		return word
	}
	return word + "s"
}

var (
	topKey   = regexp.MustCompile(`^[A-Za-z_"']`)
	listItem = regexp.MustCompile(`^( *)- `)
)

// listLine is the line at which the list of a key begins.
func listLine(key string) *regexp.Regexp { return regexp.MustCompile(`^` + key + `:[ \t]*(#.*)?$`) }

// withRows puts the last rows of lists in a written sheet, so many of each, behind
// those in the old text, so that the rest of the text stays as it is. Where that
// doesn't give the same sheet, as with JSON or a list on one line, it returns the
// written one, and false where comments went.
func withRows(old, written []byte, more map[string]int) (text []byte, kept bool) {
	text = old
	for _, key := range slices.Sorted(maps.Keys(more)) {
		items := writtenRows(written, key)
		if len(items) < more[key] {
			return written, false
		}
		text = insertRows(text, key, items[len(items)-more[key]:])
	}
	if s, faults := sheet.Read("", text); faults.Err() == nil && bytes.Equal(sheet.Write(s), written) {
		return text, true
	}
	if trimmed := bytes.TrimSpace(old); bytes.HasPrefix(trimmed, []byte("{")) {
		if s, faults := sheet.Read("", written); faults.Err() == nil {
			if form, err := sheetJSON(s); err == nil {
				return append(form, '\n'), true // JSON has no comments
			}
		}
	}
	return written, false
}

// writtenRows are the rows at key in a sheet as it is written: the lines of each,
// without the indent of the list.
func writtenRows(written []byte, key string) [][]string {
	var items [][]string
	begins, inside := listLine(key), false
	for line := range strings.Lines(string(written)) {
		line = strings.TrimRight(line, "\n")
		switch {
		case begins.MatchString(line):
			inside = true
		case topKey.MatchString(line):
			inside = false
		case inside && listItem.MatchString(line):
			items = append(items, []string{strings.TrimPrefix(line, "  ")})
		case inside && len(items) > 0:
			last := len(items) - 1
			items[last] = append(items[last], strings.TrimPrefix(line, "  "))
		}
	}
	return items
}

// insertRows puts items behind the last item of the list at key in old, or a new
// list of them at its end.
func insertRows(old []byte, key string, items [][]string) []byte {
	begins := listLine(key)
	end := "\n"
	if bytes.Contains(old, []byte("\r\n")) {
		end = "\r\n"
	}
	lines := strings.SplitAfter(string(old), "\n")
	at, indent := -1, "  "
	for i := range lines {
		if !begins.MatchString(strings.TrimRight(lines[i], "\r\n")) {
			continue
		}
		at = i + 1
		for j := i + 1; j < len(lines) && !topKey.MatchString(lines[j]); j++ {
			if m := listItem.FindStringSubmatch(lines[j]); m != nil && at == i+1 {
				indent = m[1]
			}
			if text := strings.TrimSpace(lines[j]); text != "" && text[0] != '#' {
				at = j + 1
			}
		}
	}
	var b strings.Builder
	for _, line := range slices.Concat(items...) {
		b.WriteString(indent + line + end)
	}
	if at < 0 {
		head := strings.TrimRight(string(old), "\r\n") + end
		return []byte(head + key + ":" + end + b.String())
	}
	before := strings.Join(lines[:at], "")
	if !strings.HasSuffix(before, "\n") {
		before += end
	}
	return []byte(before + b.String() + strings.Join(lines[at:], ""))
}
