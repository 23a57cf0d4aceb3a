package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropwalk/engine/record"
)

// The reports on further tests read in a real browser as the others do, names that try
// to be more among them.
func TestFindingsInABrowser(t *testing.T) {
	b := startBrowser(t)
	b.tab()
	out := t.TempDir()
	for procedure, file := range map[string]string{
		"intake-air": "yellow-intake-air.yaml", "mouth-position": "yellow-mouth-position.yaml", "charge-cooler": "red-charge-cooler.yaml", "back-pressure": "yellow-back-pressure.yaml",
	} {
		dir, name := fromFile(t, procedure, file)
		for _, reader := range []string{forTester, forCustomer} {
			page := filepath.Join(out, procedure+"."+reader+".html")
			if code, _, errs := tried(t, "", "report", name, "--for", reader, "--out", page, "--dir", dir); code != exitDone {
				t.Fatalf("%s: %s", procedure, errs)
			}
			b.look(page)
		}
	}
}

// hostilePlace is a place on a body that tries to be more than a name.
const hostilePlace = `<img src=x onerror="window.ran=1" {gain} [x](javascript:a)`

func TestHostilePlacesOfFindings(t *testing.T) {
	src, err := os.ReadFile("../../../testdata/answers/yellow-mouth-position.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.ReplaceAll(string(src), "mouth-places: behind the grille, below the windscreen", "mouth-places: 'behind the grille, "+hostilePlace+"'")
	text = strings.ReplaceAll(text, "spot: below the windscreen", "spot: '"+hostilePlace+"'")
	dir := t.TempDir()
	if code, _, errs := tried(t, text, "start", "mouth-position", "--answers", "-", "--dir", dir); code != exitDone {
		t.Fatalf("%d, %s", code, errs)
	}
	names, err := record.Names(dir)
	if err != nil || len(names) != 1 {
		t.Fatalf("records %v, %v", names, err)
	}
	page := filepath.Join(t.TempDir(), "hostile.html")
	for _, args := range [][]string{{"--out", page}, {"--json"}, nil} {
		code, text, errs := tried(t, "", append([]string{"report", names[0], "--dir", dir}, args...)...)
		if code != exitDone {
			t.Fatalf("%v: %s", args, errs)
		}
		if len(args) == 0 && (strings.Contains(text, "<img") || strings.Contains(text, "[x](")) {
			t.Errorf("the Markdown holds a tag or a link:\n%s", text)
		}
	}
	html, err := os.ReadFile(page)
	if err != nil || strings.Contains(string(html), "<img") || strings.Contains(string(html), "<a ") {
		t.Errorf("%v: the page holds a tag", err)
	}
	b := startBrowser(t)
	b.tab()
	b.open(page, 360, "light")
	if n := b.number(`window.ran ? 1 : 0`); n != 0 {
		t.Error("a name ran")
	}
	b.fits("hostile places", 360)
}
