package reading

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/charmbracelet/glamour"
)

// A library that asks the terminal for its ground writes the question to
// standard output, waits up to five seconds, and leaves a late reply to the
// next prompt. Nothing is written here while looks are made.
func TestLooksAskNothing(t *testing.T) {
	t.Setenv("TERM", "xterm-256color")
	file, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	out, errs := os.Stdout, os.Stderr
	os.Stdout, os.Stderr = file, file
	r, err := glamour.NewTermRenderer(looksOptions()...)
	if err == nil {
		_, err = r.Render("# a **b** `c`")
	}
	page := Page("# a **b** `c`", Options{Width: 40, Looks: true})
	os.Stdout, os.Stderr = out, errs
	if err != nil || shown(page) == page {
		t.Fatalf("Page = %q, %v; want looks", page, err)
	}
	if info, err := file.Stat(); err != nil || info.Size() != 0 {
		t.Errorf("%d bytes were written, %v; want none", info.Size(), err)
	}
}
