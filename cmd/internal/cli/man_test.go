package cli

import (
	"bytes"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/pflag"
)

func manualPage(t *testing.T) string {
	t.Helper()
	r := runLine("help --man")
	if r.code != exitDone || r.err != "" {
		t.Fatalf("it ends with %d: %s", r.code, r.err)
	}
	return r.out
}

// shownAs is roff read back as text.
func shownAs(roff string) string {
	text := strings.NewReplacer(`\-`, "-", `\fB`, "", `\fI`, "", `\fR`, "", `\(aq`, "'", `\(ga`, "`", `\(ti`, "~", `\(dq`, `"`, `\e`, `\`, `\&`, "").Replace(roff)
	return text
}

// The page has every command, each option of it and its examples, between the
// command's heading and the next one; and all sections in their order.
func TestManualPageIsComplete(t *testing.T) {
	page := manualPage(t)
	text := shownAs(page)
	for _, section := range []string{"NAME", "SYNOPSIS", "DESCRIPTION", "COMMANDS", "OPTIONS OF EVERY COMMAND", "OPTIONS WITHOUT A COMMAND",
		"TOPICS", "EXIT STATUS", "ENVIRONMENT", "FILES", "EXAMPLES"} {
		_, after, found := strings.Cut(text, "\n.SH \""+section+"\"\n")
		if !found {
			t.Fatalf("the section %s is missing, or not in its place", section)
		}
		text = "\n" + after
	}
	text = shownAs(page)
	for _, cmd := range commands((&app{}).root()) {
		heading := ".SS \"" + called(cmd)
		_, body, found := strings.Cut(text, heading)
		if !found {
			t.Errorf("%s is missing", called(cmd))
			continue
		}
		body, _, _ = strings.Cut(body, "\n.SS ")
		cmd.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
			if !strings.Contains(body, "--"+f.Name) {
				t.Errorf("%s: the option --%s is missing", called(cmd), f.Name)
			}
		})
		for line := range strings.SplitSeq(cmd.Example, "\n") {
			command, _, _ := strings.Cut(line, "   ")
			if !strings.Contains(body, command) {
				t.Errorf("%s: the example %q is missing", called(cmd), command)
			}
		}
	}
	for _, name := range []string{"--dir", "--units", "--plain", "--help", "--version", "XDG_DATA_HOME", "NO_COLOR", "ACCESSIBLE"} {
		if !strings.Contains(text, name) {
			t.Errorf("%s is missing", name)
		}
	}
	for _, topic := range topicNames() {
		if !strings.Contains(text, topicTitle(topic)) && topic != exitTopic && topic != environmentTopic {
			t.Errorf("the topic %s is missing", topic)
		}
	}
}

// Lines of text are never taken for requests, what is typed can be pasted, and
// the same release gives the same page.
func TestManualPageIsGoodRoff(t *testing.T) {
	page := manualPage(t)
	if again := manualPage(t); again != page {
		t.Error("two pages of one release differ")
	}
	request := regexp.MustCompile(`^\.(TH|SH|SS|PP|TP|IP|RS|RE|nf|fi)( "|$)`)
	bare := regexp.MustCompile(`[^\\]-|^-|^'|[^\x00-\x7e]`)
	for line := range strings.Lines(page) {
		line = strings.TrimSuffix(line, "\n")
		switch {
		case strings.HasPrefix(line, ".") && !request.MatchString(line):
			t.Errorf("no request of man(7): %q", line)
		case bare.MatchString(line):
			t.Errorf("a bare hyphen, or a character that isn't ASCII: %q", line)
		}
	}
}

func TestRoffIsShownAsItIs(t *testing.T) {
	for text, want := range map[string]string{
		".hidden":                `\&.hidden`,
		"'quoted'":               `\(aqquoted\(aq`,
		`C:\tests\x`:             `C:\etests\ex`,
		"a-b 18 °C":              `a\-b 18 \[u00B0]C`,
		"`--out` **now** *NAME*": `\fB\-\-out\fR \fBnow\fR \fINAME\fR`,
		"~/.local":               `\(ti/.local`,
		"2 * 3":                  "2 * 3",
	} {
		m := &manual{}
		m.line(text)
		if got := strings.TrimSuffix(m.b.String(), "\n"); got != want {
			t.Errorf("%q comes to %q, want %q", text, got, want)
		}
	}
}

// The formatters that are here have nothing to say against it.
func TestManualPageIsTakenByFormatters(t *testing.T) {
	page := manualPage(t)
	tried := 0
	for _, line := range [][]string{{"groff", "-man", "-ww", "-z", "-Tutf8"}, {"mandoc", "-Tlint", "-Wwarning"}} {
		path, err := exec.LookPath(line[0])
		if err != nil {
			continue
		}
		tried++
		cmd := exec.Command(path, line[1:]...)
		cmd.Stdin = strings.NewReader(page)
		if said, err := cmd.CombinedOutput(); err != nil || len(bytes.TrimSpace(said)) > 0 {
			t.Errorf("%s: %v\n%s", line[0], err, said)
		}
	}
	if tried == 0 {
		t.Skip("there is neither groff nor mandoc here")
	}
}

// The exit codes stand in one table; the help and README show that table.
func TestExitCodesAgree(t *testing.T) {
	readme, err := os.ReadFile("../../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	help := topicBody(exitTopic)
	for _, m := range meanings {
		code := string(rune('0' + m.code))
		if row := "| " + code + " | " + m.meaning + " |\n"; !strings.Contains(string(readme), row) {
			t.Errorf("README has no row %q", row)
		}
		if item := "- " + code + ": " + m.meaning + ".\n"; !strings.Contains(help, item) {
			t.Errorf("the topic has no item %q", item)
		}
	}
	rows := regexp.MustCompile(`(?m)^\| \d \| `).FindAllString(string(readme), -1)
	items := regexp.MustCompile(`(?m)^- \d: `).FindAllString(help, -1)
	if len(rows) != len(meanings) || len(items) != len(meanings) {
		t.Errorf("README has %d codes, the topic %d, the program %d", len(rows), len(items), len(meanings))
	}
	known := map[int]bool{}
	for _, m := range meanings {
		known[m.code] = true
	}
	for _, row := range exits {
		if !known[row.code] {
			t.Errorf("the code %d has no meaning", row.code)
		}
	}
}

func TestHelpOnNothing(t *testing.T) {
	for line, want := range map[string]string{
		"help wrds":        `hint: did you mean "help words"?`,
		"help units x":     "there is no help on",
		"help strat":       `hint: did you mean "help start"?`,
		"help --man start": "hint: dropwalk help --man",
		"help ../help/x":   "there is no help on",
	} {
		if r := runLine(line); r.code != exitInput || !strings.Contains(r.err, want) {
			t.Errorf("%s ends with %d and says %q, want %q", line, r.code, r.err, want)
		}
	}
	r := runLine("help")
	for _, topic := range topicNames() {
		if !strings.Contains(r.out, "\n  "+topic) {
			t.Errorf("help alone doesn't list the topic %s", topic)
		}
	}
}

// Every topic that help lists can be read under its name: no command of the
// same name stands in its way.
func TestEveryTopicCanBeReached(t *testing.T) {
	for _, topic := range topicNames() {
		r := runLine("help " + topic)
		if r.code != exitDone || !strings.HasPrefix(r.out, topicTitle(topic)) {
			t.Errorf("help %s ends with %d and shows\n%s\nwant the page %q", topic, r.code, r.out, topicTitle(topic))
		}
	}
}
