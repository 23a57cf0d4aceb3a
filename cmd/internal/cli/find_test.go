package cli

import (
	"strings"
	"testing"
)

func TestPick(t *testing.T) {
	names := []string{"grey-van-2026-11-25", "yellow-estate-2026-11-25", "yellow-estate-2026-11-25-2", "yellow-hatch-2026-11-26"}
	tests := []struct{ word, want, fault string }{
		{"grey", "grey-van-2026-11-25", ""},
		{"GREY", "grey-van-2026-11-25", ""},
		{"yellow-estate-2026-11-25", "yellow-estate-2026-11-25", ""}, // a whole name, though it begins another
		{"yellow-estate-2026-11-25-", "yellow-estate-2026-11-25-2", ""},
		{"yellow", "", "begins the names of 3 records"},
		{"", "", "there is no record"},
		{"grey-van-2026-11-26", "", "there is no record"},
	}
	for _, tt := range tests {
		got, err := pick(tt.word, names)
		if got != tt.want || (tt.fault == "") != (err == nil) || err != nil && !strings.Contains(err.Error(), tt.fault) {
			t.Errorf("pick(%q) = %q, %v; want %q, %q", tt.word, got, err, tt.want, tt.fault)
		}
	}
	_, err := pick("grey-van-2026-11-26", names)
	if got, want := hintOf(err), `did you mean "grey-van-2026-11-25"?`; got != want {
		t.Errorf("hint %q, want %q", got, want)
	}
}

func TestIsPath(t *testing.T) {
	for word, want := range map[string]bool{
		"yellow": false, "yellow-estate-2026-11-25": false,
		"sheet.yaml": true, "./yellow": true, `C:\tests\yellow`: true, "records/yellow.jsonl": true, ".": true,
	} {
		if got := isPath(word); got != want {
			t.Errorf("isPath(%q) = %v, want %v", word, got, want)
		}
	}
}
