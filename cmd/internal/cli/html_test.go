package cli

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"dropwalk/cmd/internal/terminal"
)

func written(t *testing.T, name string, args ...string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	if code, out, errs := tried(t, "", append(args, "--out", file)...); code != exitDone || out != "" {
		t.Fatalf("%v ends with %d, shows %q: %s", args, code, out, errs)
	}
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

var drawnBars = regexp.MustCompile(`[█▓▒░]`)

// The page for a browser has the headings of the text, pictures with their
// alternatives in words, and nothing from outside.
func TestReportHTML(t *testing.T) {
	for _, name := range reportSheets(t) {
		for _, reader := range []string{forTester, forCustomer} {
			page := written(t, "r.html", "report", name, "--for", reader)
			_, text, _ := tried(t, "", "report", name, "--for", reader)
			for line := range strings.Lines(text) {
				if head, ok := strings.CutPrefix(line, "## "); ok && !strings.Contains(page, "<h2>"+strings.TrimSpace(head)+"</h2>") {
					t.Errorf("%s for %s lacks the heading %q", name, reader, head)
				}
			}
			svgs, alts := strings.Count(page, "<svg class=\"picture\""), len(regexp.MustCompile(`<desc[^>]*>[^<]{60,}</desc>`).FindAllString(page, -1))
			if svgs != alts || reader == forTester && svgs < 2 {
				t.Errorf("%s for %s: %d pictures, %d of them told in words", name, reader, svgs, alts)
			}
			if drawnBars.MatchString(page) || regexp.MustCompile(`(?i)<script|https?://|url\((?:[^#]|$)|@import`).MatchString(page) {
				t.Errorf("%s for %s holds bars of characters, a script or an address", name, reader)
			}
			if len(page) > 150_000 {
				t.Errorf("%s for %s is %d bytes", name, reader, len(page))
			}
		}
	}
}

// No name is in any form of the report without names, pictures and what is told
// of them included.
func TestNoNamesInFiles(t *testing.T) {
	dir, name := play(t, many())
	if !strings.Contains(written(t, "r.html", "report", name, "--dir", dir), "Žtube") {
		t.Fatal("the named page lacks a name: this test shows nothing")
	}
	for _, file := range []string{"r.html", "r.md", "r.txt", "r.csv", "r.json"} {
		text := written(t, file, "report", name, "--dir", dir, "--no-names")
		if i := strings.Index(text, "Ž"); i >= 0 {
			t.Errorf("%s says %q", file, text[i:min(len(text), i+40)])
		}
	}
	if page := written(t, "r.html", "report", name, "--dir", dir, "--no-names", "--for", "customer"); strings.Contains(page, "Ž") {
		t.Error("the customer's page has a name")
	}
}

// The table has the figures of the JSON form.
func TestReportCSV(t *testing.T) {
	sheet := filepath.Join("testdata", "reports", "whole-path.yaml")
	rows, err := csv.NewReader(strings.NewReader(written(t, "r.csv", "report", sheet))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	judged := jsonReport(t, sheet).Assessment
	if len(rows) != len(judged.Components)+2 {
		t.Fatalf("%d rows for %d pieces", len(rows), len(judged.Components))
	}
	for i, c := range judged.Components {
		if rows[i+1][1] != c.Name || rows[i+1][2] != c.Kind {
			t.Errorf("row %d is about %v, want %s", i+2, rows[i+1][1:3], c.Name)
		}
	}
	for args, want := range map[string]string{
		"report " + sheet + " --for customer --out x.csv": "a table of the pieces has none",
		"report " + sheet + " --json --out x.csv":         "contradict each other",
		"report " + sheet + " --json --out x.html":        "contradict each other",
	} {
		if code, _, errs := tried(t, "", strings.Fields(args)...); code != exitInput || !strings.Contains(errs, want) {
			t.Errorf("%s ends with %d: %s", args, code, errs)
		}
	}
}

// A text has bars; who asked for plain lines has the same in words.
func TestBarsOrWords(t *testing.T) {
	sheet := filepath.Join("testdata", "reports", "whole-path.yaml")
	for _, command := range []string{"report", "assess"} {
		_, drawn, _ := tried(t, "", command, sheet)
		_, told, _ := tried(t, "", command, sheet, "--plain")
		if !drawnBars.MatchString(drawn) || drawnBars.MatchString(told) {
			t.Errorf("%s: bars %t, with --plain %t", command, drawnBars.MatchString(drawn), drawnBars.MatchString(told))
		}
		for accessible, want := range map[string]bool{"1": false, "0": true, "false": true, "yes": false} {
			var o strings.Builder
			a := &app{Streams: terminal.Streams{In: strings.NewReader(""), Out: &o, Err: &o, Width: 80}, now: time.Now,
				env: func(name string) string { return map[string]string{"ACCESSIBLE": accessible}[name] }}
			if a.run([]string{command, sheet}); drawnBars.MatchString(o.String()) != want {
				t.Errorf("%s with ACCESSIBLE=%s: bars %t, want %t", command, accessible, !want, want)
			}
		}
	}
	// The paths of a report on a narrow screen still tell where the taps are.
	page := atWidth(t, 39, "report", sheet)
	if !strings.Contains(page, "● tube") || !strings.Contains(page, "○ snorkel") {
		t.Errorf("no taps are marked:\n%s", page)
	}
}

// What README says of reports can be typed as it stands, with a sheet in place
// of RECORD.
func TestReadmeReports(t *testing.T) {
	page, err := os.ReadFile(filepath.Join("..", "..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := filepath.Abs(filepath.Join("testdata", "reports", "group.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	commands := regexp.MustCompile("`dropwalk (report RECORD[^`]*)`").FindAllStringSubmatch(string(page), -1)
	if len(commands) < 5 {
		t.Fatalf("README has only %d reports", len(commands))
	}
	for _, m := range commands {
		args := strings.Fields(strings.Replace(m[1], "RECORD", sheet, 1))
		if code, _, errs := tried(t, "", args...); code != exitDone {
			t.Errorf("%s ends with %d: %s", m[1], code, errs)
		}
	}
	for name, want := range map[string]string{"report.html": "<!DOCTYPE html>", "report.md": "# Intake test"} {
		if text, err := os.ReadFile(name); err != nil || !strings.HasPrefix(string(text), want) {
			t.Errorf("%s begins with %.40q, %v; want %q", name, text, err, want)
		}
	}
}

// The help of report names every column of the table.
func TestHelpNamesTheColumns(t *testing.T) {
	_, help, _ := tried(t, "", "help", "report")
	help = strings.Join(strings.Fields(help), " ")
	header, _, _ := strings.Cut(written(t, "r.csv", "report", filepath.Join("testdata", "reports", "group.yaml")), "\n")
	for column := range strings.SplitSeq(header, ",") {
		whole, _ := regexp.MatchString(`\b`+column+`\b`, help)
		stem, end := column, ""
		if i := strings.LastIndex(column, "_"); i > 0 {
			stem, end = column[:i], column[i:]
		}
		if !whole && !(strings.Contains(help, stem) && strings.Contains(help, end)) {
			t.Errorf("help report doesn't name the column %q", column)
		}
	}
}
