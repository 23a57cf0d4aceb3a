package terminal

import (
	"bytes"
	"io"
	"testing"
)

func TestHasUTF8(t *testing.T) {
	tests := []struct {
		goos string
		env  map[string]string
		want bool
	}{
		{"linux", map[string]string{"LANG": "en_GB.UTF-8"}, true},
		{"linux", map[string]string{"LANG": "de_DE.utf8"}, true},
		{"linux", map[string]string{"LANG": "en_GB.UTF-8", "LC_ALL": "C"}, false},
		{"linux", map[string]string{"LANG": "en_GB.UTF-8", "LC_CTYPE": "POSIX"}, false},
		{"linux", map[string]string{"LC_ALL": "C.UTF-8", "LANG": "C"}, true},
		{"linux", nil, false},
		{"windows", nil, true},
		{"darwin", nil, true},
		{"darwin", map[string]string{"LANG": "C"}, false},
	}
	for _, tt := range tests {
		if got := hasUTF8(tt.goos, func(k string) string { return tt.env[k] }); got != tt.want {
			t.Errorf("hasUTF8(%s, %v) = %v, want %v", tt.goos, tt.env, got, tt.want)
		}
	}
}

func TestLineWidth(t *testing.T) {
	tests := []struct {
		measured int
		columns  string
		want     int
	}{
		{80, "", 78},
		{40, "", 39},
		{200, "", 78},
		{5, "", 20},
		{0, "", 78},
		{0, "40", 39},
		{60, "40", 59}, // what the terminal says beats what was said before a resize
		{0, "many", 78},
		{0, "-3", 78},
	}
	for _, tt := range tests {
		if got := lineWidth(tt.measured, tt.columns); got != tt.want {
			t.Errorf("lineWidth(%d, %q) = %d, want %d", tt.measured, tt.columns, got, tt.want)
		}
	}
}

// Where only ASCII is shown, what was typed as the name of a file still stands as
// it is: it must be found again.
func TestNamesOfFilesStayAsTheyAre(t *testing.T) {
	var b bytes.Buffer
	f := &filter{w: &b, ascii: true, named: beyondASCII([]string{"start", "nö.yaml", "ö", "plain.yaml"})}
	if _, err := io.WriteString(f, "nö.yaml:3:1: nö is no wörd; see nö.yaml – again"); err != nil {
		t.Fatal(err)
	}
	if got, want := b.String(), "nö.yaml:3:1: nö is no wörd; see nö.yaml - again"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	b.Reset()
	f.named = beyondASCII([]string{"nö.yaml"})
	io.WriteString(f, "nö.yaml: wörd")
	if got, want := b.String(), "nö.yaml: woerd"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
