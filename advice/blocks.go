package advice

import (
	"errors"
	"fmt"
	"strings"

	"dropwalk/advice/compare"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Places of a test before and after a change that a sheet doesn't have.
const (
	blockPath     = "visits[].block"  // before, after or again
	changedPath   = "test.changed"    // the piece that is changed
	changePath    = "test.change"     // what is done to it
	againPath     = "test.again"      // whether the old part goes back for one more block
	nextPiecePath = "test.next_piece" // the piece that is looked at next
)

// Blocks of such a test, in order.
const (
	beforeBlock = "before"
	afterBlock  = "after"
	againBlock  = "again"
)

// Block is one block of a test before and after a change, as entries of a sheet.
type Block struct {
	Name    string // before, after or again
	Entries []subject.Entry
}

// Blocks are the blocks that the entries of a procedure hold, each as a sheet of its
// own: the car as it was, with the change, as it was once more. Only blocks with
// readings count; none is left of a test of another kind.
func Blocks(entries []subject.Entry) []Block {
	var out []Block
	for _, b := range blockRows(entries) {
		kept := withoutBlocks(entries, b.row)
		sheetEntries := append(SheetEntries(kept), subject.Entry{Path: "title", Text: blockTitles[b.name]})
		out = append(out, Block{b.name, append(sheetEntries, changeEntries(entries, b.name)...)})
	}
	return out
}

var blockTitles = map[string]string{beforeBlock: "before the change", afterBlock: "after the change", againBlock: "as before, once more"}

// blockRow is a block and the round that holds it.
type blockRow struct{ name, row string }

// blockRows are the blocks with readings, in order.
func blockRows(entries []subject.Entry) []blockRow {
	read := textsAt(entries, readingPath)
	var out []blockRow
	for _, e := range entries {
		if e.Path != blockPath {
			continue
		}
		for row, text := range read {
			if text != "" && strings.HasPrefix(row, e.Row+"/") {
				out = append(out, blockRow{e.Text, e.Row})
				break
			}
		}
	}
	return out
}

// withoutBlocks takes out what belongs to other blocks than the one in a round, and
// what makes it a block.
func withoutBlocks(entries []subject.Entry, keep string) []subject.Entry {
	var out []subject.Entry
	other := map[string]bool{}
	for _, e := range entries {
		if e.Path == blockPath && e.Row != keep {
			other[e.Row] = true
		}
	}
	for _, e := range entries {
		round, _, _ := strings.Cut(e.Row, "/")
		if e.Path != blockPath && !other[round] {
			out = append(out, e)
		}
	}
	return out
}

// latestBlock are the entries without all blocks but the last one: the car as it was
// when it was read last.
func latestBlock(entries []subject.Entry) (kept, change []subject.Entry) {
	rows := blockRows(entries)
	if len(rows) == 0 {
		return entries, nil
	}
	last := rows[len(rows)-1]
	return withoutBlocks(entries, last.row), changeEntries(entries, last.name)
}

// putBack stands on the sheet of the third block: without it nobody could tell from
// that sheet whether the change was still on the car.
const putBack = "put back as it was"

// changeEntries say on the sheet of a block what was changed.
func changeEntries(entries []subject.Entry, block string) []subject.Entry {
	var out []subject.Entry
	if block == beforeBlock {
		return nil
	}
	for _, e := range entries {
		switch {
		case e.Text == "":
		case e.Path == changedPath:
			out = append(out, subject.Entry{Path: "changes[].component", Row: "1", Text: e.Text})
		case e.Path == changePath:
			what := e.Text
			if block == againBlock {
				what = putBack
			}
			out = append(out, subject.Entry{Path: "changes[].what", Row: "1", Text: what})
		case e.Path == "date":
			out = append(out, subject.Entry{Path: "changes[].date", Row: "1", Text: e.Text})
		}
	}
	return out
}

// nextBlock offers the blocks in turn, all between the open air and the last place
// that can take a tap; the third only where the tester wants it.
func (v *view) nextBlock(at subject.Round) (subject.Offer, bool) {
	names := []string{beforeBlock, afterBlock}
	if v.entry(againPath, "") == "yes" {
		names = append(names, againBlock)
	}
	s := v.drawn()
	if s == nil || at.Done >= len(names) {
		return subject.Offer{}, false
	}
	to := lastTap(s)
	how := s.TapAt(to)
	if at.Done > 0 {
		how = "fitted"
	}
	gauge := ""
	if len(s.Gauges) > 0 {
		gauge = s.Gauges[0].Name
	}
	return subject.Offer{
		Values: map[string]string{"block": names[at.Done], "from": sheet.OpenAir, "to": to, "gauge": gauge, "taps": to + " " + how},
		Parts: []subject.Part{{Path: blockPath, Text: names[at.Done]}, {Path: visitFrom, Text: sheet.OpenAir}, {Path: visitTo, Text: to},
			{Path: visitGauge, Text: gauge}},
	}, true
}

// lastTap is the last station that can take a tap, the last one of all where none
// can.
func lastTap(s *sheet.Sheet) string {
	stations := s.Stations()
	for i := len(stations) - 1; i > 0; i-- {
		if s.TapAt(stations[i]) != sheet.TapNone {
			return stations[i]
		}
	}
	return stations[len(stations)-1]
}

// comparison compares the blocks that were read so far, once.
func (v *view) comparison() (*compare.Comparison, []*sheet.Sheet, error) {
	var sheets []*sheet.Sheet
	for _, b := range Blocks(v.entries) {
		s, faults := sheet.FromEntries(b.Entries)
		if err := faults.Err(); err != nil {
			return nil, nil, err
		}
		sheets = append(sheets, s)
	}
	c, err := compare.Sheets(sheets, compare.Options{})
	return c, sheets, err
}

// outcome is the verdict on the change.
func (v *view) outcome() subject.Value {
	c, sheets, err := v.comparison()
	if isA[*compare.Refusal](err) && len(sheets) > 1 {
		return word(compare.CannotTell)
	}
	if err != nil {
		return subject.Value{}
	}
	return word(main(c).Verdict)
}

func isA[E error](err error) bool {
	_, ok := errors.AsType[E](err)
	return ok
}

// main is the change that counts most.
func main(c *compare.Comparison) *compare.Change {
	if c.Total != nil {
		return c.Total
	}
	return &c.Pairs[0]
}

// comparisonPage says whether the change helped, or why that can't be said yet.
func (v *view) comparisonPage() string {
	c, sheets, err := v.comparison()
	if r, ok := errors.AsType[*compare.Refusal](err); ok {
		return fmt.Sprintf("So far nothing can be said about the change: %s.\n\nWhat would help: %s.\n", r.What, r.Hint)
	}
	if err != nil {
		return fmt.Sprintf("So far nothing can be said about the change: %v.\n", err)
	}
	return report.Compared(c, sheets[0], report.Options{Units: v.matter.Units})
}

func (v *view) changed() subject.Value { return word(v.entry(changedPath, "")) }
func (v *view) again() subject.Value   { return word(v.entry(againPath, "")) }
func (v *view) blocks() subject.Value {
	return word(strings.Join([]string{beforeBlock, afterBlock, againBlock}, ", "))
}

// blockFields are the places of a test before and after a change.
var blockFields = []subject.Field{
	{Path: changedPath, Kind: quantity.Text, Required: true, Doc: "the piece that is changed"},
	{Path: changePath, Kind: quantity.Text, Required: true, Doc: "what is done to it"},
	{Path: againPath, Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the old part goes back for one more block of runs"},
	{Path: nextPiecePath, Kind: quantity.Text, Doc: "the piece that is looked at next"},
}
