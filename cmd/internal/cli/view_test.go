package cli

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"dropwalk/advice"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/subject"
)

// knowing is somebody who does the work often: asked by plain lines, counted by
// prompts.
type knowing struct {
	*terminal.Lines
	answers tester
	typed   strings.Builder
	open    engine.Prompt

	tally
	groups int
	until  string
	said   func(engine.Prompt) string // before what the answers have; "" for nothing
}

func (k *knowing) Read(p []byte) (int, error) {
	text := ""
	if k.said != nil {
		text = k.said(k.open)
	}
	if text == "" {
		text = k.answers.answer(k.open)
		if len(k.open.Group) > 0 || k.open.Kind == engine.Owed || k.open.Warns() && k.open.Kind == engine.Do {
			text = "done"
		}
	}
	return copy(p, text+"\n"), nil
}

// Ask counts what is asked.
func (k *knowing) Ask(ctx context.Context, p engine.Prompt, refused *subject.Refusal) (engine.Answer, error) {
	k.open = p
	if refused == nil {
		switch {
		case p.Kind == engine.Hold:
			k.holds++
		case p.Step == "value":
			k.readings++
		default:
			k.prompts++
		}
		if len(p.Group) > 0 {
			k.groups++
		}
	}
	if k.until != "" && p.Slot == k.until {
		return engine.Answer{}, session.ErrPause
	}
	return k.Lines.Ask(ctx, p, refused)
}

// inView walks intake in a view and returns what it took and the events.
func inView(t *testing.T, brief bool, given []subject.Entry, answers tester, until string, said func(engine.Prompt) string) (*knowing, []map[string]any) {
	t.Helper()
	k := &knowing{answers: answers, until: until, said: said}
	k.Lines = terminal.NewLines(terminal.Streams{In: k, Err: &k.typed, Width: 80})
	k.SetBrief(brief)
	var d diary
	s := &session.Session{Run: engine.NewRun(loadIntake(t), &advice.Matter{}), Store: &d, Asker: k, By: linesAsker}
	if err := s.Begin(given); err != nil {
		t.Fatal(err)
	}
	if err := s.Drive(t.Context()); err != nil && until == "" {
		t.Fatalf("%v at %s\n%.2000s", err, k.open.Slot, k.typed.String())
	}
	return k, d.lines
}

func carriedFrom(t *testing.T, name string) []subject.Entry {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "sheets", name))
	if err != nil {
		t.Fatal(err)
	}
	s, faults := sheet.Read(name, src)
	if s == nil {
		t.Fatal(faults)
	}
	return advice.Carried(s)
}

// A mechanic who knows the work comes from a finished sheet to the result of the
// whole path in at most 15 prompts besides readings and holds; in brief the steps
// come together, so it takes fewer.
func TestFromASheetInBrief(t *testing.T) {
	for _, place := range []string{"track", "rolling-road", "road"} {
		answers := tester{"place": place, "value": "12.5 inH2O at 6000", "road-speed": "13 km/h, 100 km/h"}
		brief, _ := inView(t, true, carriedFrom(t, "yellow-estate.yaml"), answers, "walk.1/standing", nil)
		guided, _ := inView(t, false, carriedFrom(t, "yellow-estate.yaml"), answers, "walk.1/standing", nil)
		t.Logf("%s: %d prompts besides %d readings and %d holds, %d of them groups; guided %d", place, brief.prompts, brief.readings, brief.holds, brief.groups, guided.prompts)
		if brief.prompts > 15 || brief.prompts >= guided.prompts {
			t.Errorf("%s: %d prompts, guided %d; want at most 15, and fewer", place, brief.prompts, guided.prompts)
		}
		if brief.holds != guided.holds || brief.readings != guided.readings {
			t.Errorf("%s: %d holds and %d readings, guided %d and %d", place, brief.holds, brief.readings, guided.holds, guided.readings)
		}
	}
}

// How prompts are shown changes nothing in a record but what was typed.
func TestBriefGivesTheSameEvents(t *testing.T) {
	answers := tester{"lamps": "none"}
	for k, v := range firstTimer {
		answers[k] = v
	}
	guided, want := inView(t, false, nil, answers, "", nil)
	brief, got := inView(t, true, nil, answers, "", nil)
	for _, lines := range [][]map[string]any{want, got} {
		for _, line := range lines {
			delete(line, "raw")
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("events differ (-guided +brief):\n%.3000s", diff)
	}
	t.Logf("the whole job: %d prompts in brief, %d of them groups, %d guided; %d holds", brief.prompts, brief.groups, guided.prompts, brief.holds)
	if brief.groups < 3 {
		t.Errorf("%d groups, want some", brief.groups)
	}
}

// No caution is lost where steps come together, and Enter passes no group.
func TestGroupsKeepTheirCautions(t *testing.T) {
	tries := 0
	k, _ := inView(t, true, nil, firstTimer, "walk.1/zero", func(p engine.Prompt) string {
		if len(p.Group) > 0 && tries < 2 {
			tries++
			return " "
		}
		return ""
	})
	screen := strings.Join(strings.Fields(k.typed.String()), " ")
	p, _ := paperOf(t, usualProcedure, true)
	seen := 0
	for _, part := range p.Parts[:5] {
		leaves(part.Steps, func(s *engine.Step) {
			if s.When != nil {
				return
			}
			for _, n := range s.Notices {
				seen++
				if want := fmt.Sprintf("%s: %s. To avoid it: %s.", n.From, n.So, n.Avoid); !strings.Contains(screen, want) {
					t.Errorf("%s lost its %s: %q", s.Number, n.Level, want)
				}
			}
		})
	}
	if seen < 5 || tries != 2 {
		t.Errorf("%d cautions looked for, Enter typed %d times", seen, tries)
	}
	if got := strings.Count(screen, "? type done when all of it is done"); got != 2 {
		t.Errorf("Enter alone was refused %d times, want 2", got)
	}
}

// What could not be done of a group comes by itself, and the view can change on
// the way.
func TestGroupButOne(t *testing.T) {
	asked := map[string]int{}
	k, events := inView(t, true, nil, firstTimer, "walk.1/zero", func(p engine.Prompt) string {
		asked[p.Slot]++
		switch {
		case len(p.Group) > 1 && p.Step == "hose-on": // hose bears a warning and stands alone
			return "1, 3"
		case p.Step == "hose-on" && asked[p.Slot] == 2:
			return "cannot the port is cracked"
		case p.Step == "other-port" && asked[p.Slot] == 1:
			return "guided"
		case p.Step == "leak-check" && asked[p.Slot] == 1:
			return "brief"
		}
		return ""
	})
	var order []string
	for _, e := range events {
		switch e["step"] {
		case "hose", "hose-on", "gauge-fixed", "other-port":
			order = append(order, fmt.Sprint(e["kind"], " ", e["step"]))
		}
	}
	want := []string{"answered hose", "answered gauge-fixed", "refused hose-on", "answered hose-on", "answered other-port"}
	if diff := cmp.Diff(want, order); diff != "" {
		t.Errorf("events (-want +got):\n%s", diff)
	}
	if !strings.Contains(k.typed.String(), "Press Enter when it is done.") {
		t.Error("guided didn't bring the explanations back")
	}
}

func TestViewOption(t *testing.T) {
	code, _, errs := tried(t, "", "start", "--view", "breif")
	if code != exitInput || !strings.Contains(errs, `did you mean "brief"?`) {
		t.Errorf("%d: %s", code, errs)
	}
	dir := t.TempDir()
	code, _, errs = tried(t, "van\n2 L\npause\n", "start", "--view", "brief", "--dir", dir)
	if code != exitStopped || !strings.Contains(errs, "1.2 How large is the engine? (such as 1998 cc)") {
		t.Errorf("start in brief: %d: %s", code, errs)
	}
	code, _, errs = tried(t, "pause\n", "resume", "--view", "brief", "--dir", dir)
	if code != exitStopped || !strings.Contains(errs, "(such as 4; ?)") && !strings.Contains(errs, "(ready, or a number)") {
		t.Errorf("resume in brief: %d: %s", code, errs)
	}
}
