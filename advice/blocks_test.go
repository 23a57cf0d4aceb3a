package advice

import (
	"strings"
	"testing"

	"dropwalk/advice/sheet"
	"dropwalk/engine/subject"
)

// blockEntries are those of an invented test of three blocks.
func blockEntries() []subject.Entry {
	list := []subject.Entry{
		{Path: "date", Text: "2026-11-25"}, {Path: "car.engine.displacement", Text: "2 L"},
		{Path: changedPath, Text: "mouth"}, {Path: changePath, Text: "flared"},
	}
	for i, name := range []string{"before", "after", "again"} {
		row := "blocks." + string(rune('1'+i))
		list = append(list, subject.Entry{Path: blockPath, Row: row, Text: name}, subject.Entry{Path: visitFrom, Row: row, Text: "open-air"},
			subject.Entry{Path: visitTo, Row: row, Text: "tube"}, subject.Entry{Path: visitGauge, Row: row, Text: "dial"})
		for k, value := range []string{"12 inH2O", "12.1 inH2O"} {
			run := row + "/runs." + string(rune('1'+k))
			list = append(list, subject.Entry{Path: "readings[].from", Row: run, Text: "open-air"}, subject.Entry{Path: "readings[].to", Row: run, Text: "tube"},
				subject.Entry{Path: "readings[].gauge", Row: run, Text: "dial"}, subject.Entry{Path: readingPath, Row: run, Text: value})
		}
	}
	return list
}

// Each block is a whole sheet of its own, and says whether the change is on the car.
func TestBlocksAreSheets(t *testing.T) {
	for i, b := range Blocks(blockEntries()) {
		s, faults := sheet.FromEntries(b.Entries)
		if faults.Err() != nil {
			t.Fatalf("%s: %v", b.Name, faults)
		}
		done := ""
		for _, c := range s.Changes {
			done += c.Component + ": " + c.What
		}
		want := []string{"before", "after: mouth: flared", "again: mouth: put back as it was"}[i]
		if got := strings.TrimSuffix(b.Name+": "+done, ": "); got != want || len(s.Readings) != 2 || s.Date != "2026-11-25" {
			t.Errorf("got %q with %d readings of %s, want %q", got, len(s.Readings), s.Date, want)
		}
	}
}

// While a test goes on its sheet is the block that was read last, never a mixture.
func TestSheetIsTheLatestBlock(t *testing.T) {
	all := blockEntries()
	for upto, want := range map[int]int{len(all): 1, len(all) - 8: 1, len(all) - 12: 1, 16: 0} {
		s, faults := sheet.FromEntries(SheetEntries(all[:upto]))
		if faults.Err() != nil {
			t.Fatal(faults)
		}
		if len(s.Readings) != 2 || len(s.Changes) != want {
			t.Errorf("of %d entries: %d readings and changes %v", upto, len(s.Readings), s.Changes)
		}
	}
	if len(Blocks([]subject.Entry{{Path: "car.engine.displacement", Text: "2 L"}})) != 0 {
		t.Error("a test of another kind has blocks")
	}
}

// One piece at a time: what is changed is one piece of the path, by its name.
func TestOnePieceIsChanged(t *testing.T) {
	v := (&Matter{}).Look(nil)
	for text, want := range map[string]string{"snorkel": "snorkel", "Snorkel": "snorkel"} {
		reply, err := v.Read([]string{changedPath}, subject.Round{}, text)
		if err != nil || reply.Parts[0].Text != want {
			t.Errorf("%q: %v, %v", text, reply, err)
		}
	}
	for text, what := range map[string]string{"snorkl": `did you mean "snorkel"?`, "mouth, snorkel": "one piece at a time", "none": "one piece at a time"} {
		if _, err := v.Read([]string{changedPath}, subject.Round{}, text); err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("%q: %v, want %q", text, err, what)
		}
	}
}
