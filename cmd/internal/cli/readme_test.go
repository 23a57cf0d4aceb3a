package cli

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"dropwalk/cmd/internal/terminal"
)

// example is one command that README shows, with what it prints.
type example struct{ command, output string }

// readmeExamples are the commands of README's console blocks.
func readmeExamples(t *testing.T) []example {
	t.Helper()
	page, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	var list []example
	for i, block := range strings.Split(string(page), "```console\n") {
		if i == 0 {
			continue
		}
		block, _, _ = strings.Cut(block, "```")
		for j, shown := range strings.Split("\n"+block, "\n$ ") {
			if j == 0 {
				continue
			}
			command, output, _ := strings.Cut(shown, "\n")
			list = append(list, example{command, strings.TrimRight(output, "\n")})
		}
	}
	return list
}

// words splits a command line as a shell does, double quotes only.
func words(line string) []string {
	var list []string
	for i, piece := range strings.Split(line, `"`) {
		if i%2 == 1 {
			list = append(list, piece)
		} else {
			list = append(list, strings.Fields(piece)...)
		}
	}
	return list
}

// What README shows is what the program prints; a last line of three dots
// stands for the rest of it.
func TestReadmeIsTrue(t *testing.T) {
	t.Chdir("../../..")
	t.Setenv("HOME", t.TempDir()) // records of the examples stay out of the way
	examples := readmeExamples(t)
	if len(examples) < 2 {
		t.Fatalf("README shows %d examples, want 2 or more", len(examples))
	}
	for _, e := range examples {
		var out, errs bytes.Buffer
		a := &app{
			Streams: terminal.Streams{In: strings.NewReader(""), Out: &out, Err: &errs, Width: 80},
			env:     func(string) string { return "" },
			now:     func() time.Time { return time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC) },
		}
		args := words(e.command)
		if args[0] != program {
			t.Errorf("%q is no command of the program", e.command)
			continue
		}
		if code := a.run(args[1:]); code != exitDone {
			t.Errorf("%s ends with %d: %s", e.command, code, &errs)
		}
		got := strings.TrimRight(out.String(), "\n")
		head, cut := strings.CutSuffix(e.output, "\n...")
		if got != e.output && !(cut && strings.HasPrefix(got, head+"\n")) {
			t.Errorf("%s prints\n%s\nREADME shows\n%s", e.command, got, e.output)
		}
	}
}
