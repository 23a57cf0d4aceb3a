package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
)

// chooser is an asker that also takes a choice outside a test.
type chooser interface {
	Choose(ctx context.Context, m terminal.Menu) (int, error)
}

// watched tells whether somebody sits at a terminal and sees what is asked and
// what comes out.
func (a *app) watched() bool { return a.InTTY && a.OutTTY && a.seen() }

// seen tells whether a terminal shows the messages.
func (a *app) seen() bool {
	_, real := a.In.(*os.File)
	return real && terminal.IsTerminal(os.Stderr)
}

// way is a row of the menu. Done tells that the menu ends with it.
type way struct {
	terminal.Item
	act  func() error
	done bool
}

// menu offers what there is to do until a test was run or the person leaves. It
// lives on the commands: each row is one that can be typed as well.
func (a *app) menu(root *cobra.Command) error {
	asker, _ := a.asker()
	ask, ok := asker.(chooser)
	if !ok {
		return a.showHelp(root)
	}
	for {
		ways, err := a.ways(root, ask)
		if err != nil {
			return err
		}
		n, err := a.chosen(ask, terminal.Menu{Title: "Find where a car's intake path loses power. What now?"}, ways)
		if err != nil || ways[n].act == nil {
			return err
		}
		err = ways[n].act()
		switch {
		case errors.Is(err, errBack):
		case err != nil && exitCode(err) == exitStopped, ways[n].done:
			return err
		default:
			a.complain(err)
		}
	}
}

// errBack comes back to the menu.
var errBack = errors.New("back to the menu")

// chosen has the person choose; whoever leaves does so without a word.
func (a *app) chosen(ask chooser, m terminal.Menu, ways []way) (int, error) {
	for _, w := range ways {
		m.Items = append(m.Items, w.Item)
	}
	ctx, stop := untilSignal()
	defer stop()
	n, err := ask.Choose(ctx, m)
	if errors.Is(err, session.ErrPause) || errors.Is(err, context.Canceled) {
		return 0, shown(err)
	}
	return n, err
}

// ways are the rows of the menu as things stand.
func (a *app) ways(root *cobra.Command, ask chooser) ([]way, error) {
	dir, err := a.folder()
	if err != nil {
		return nil, err
	}
	list, err := record.List(dir)
	if err != nil {
		return nil, plainPath(err)
	}
	var ways []way
	add := func(word, text string, done bool, act func() error) {
		ways = append(ways, way{terminal.Item{Word: word, Text: text}, act, done})
	}
	if open := unfinishedOf(list); len(open) > 0 {
		text := "go on with " + a.whereItStands(open[0])
		switch n := len(open) - 1; {
		case n == 1:
			text += "; or with another one"
		case n > 1:
			text += fmt.Sprintf("; or with one of %d others", n)
		}
		add("resume", text, true, func() error { return a.goOnWith(ask, open) })
	}
	add("start", "start a test of a car", true, func() error { return a.again("start") })
	add("test", "choose another test", true, func() error { return a.chooseTest(ask, "Which test?", false) })
	add("symptom", "go from a symptom to its cause", true, func() error { return a.chooseTest(ask, "What is wrong?", true) })
	if results := readable(list); len(results) > 0 {
		add("results", "look at what a test has shown", false, func() error { return a.lookAt(ask, results) })
	}
	add("demo", "see an invented example, from the car to the advice", false, func() error { return a.again("demo") })
	add("practice", "practise on a simulated car, with a coach", true, func() error { return a.again("practice") })
	add("help", "see all commands and topics", false, func() error { return a.showHelp(root) })
	add("leave", "go back to the shell", true, nil)
	return ways, nil
}

// again runs a command as if it had been typed, with the same asker: what was
// typed ahead stays for it.
func (a *app) again(args ...string) error {
	next := &app{Streams: a.Streams, env: a.env, now: a.now, asking: a.asking}
	root := next.root()
	root.SetArgs(append(args, "--dir="+a.dir, "--units="+a.units, fmt.Sprintf("--plain=%v", a.plain)))
	return root.Execute()
}

// menuWords are the words of the menu and of what it leads to.
var menuWords = []string{"resume", "start", "test", "symptom", "results", "demo", "practice", "help", "leave", "back"}

// mostShown is how many records a menu lists.
const mostShown = 9

func (a *app) goOnWith(ask chooser, open []record.Summary) error {
	if len(open) == 1 {
		return a.again("resume", open[0].Path)
	}
	return a.oneOf(ask, "Which test goes on?", open, a.whereItStands, func(s record.Summary) error { return a.again("resume", s.Path) })
}

func (a *app) lookAt(ask chooser, results []record.Summary) error {
	tell := func(s record.Summary) string {
		st := a.outcomeOf(s.Path, s.Header)
		return fmt.Sprintf("car %s, %s, last answer %s", terminal.CleanLine(orUnknown(st.car)), a.state(s, st), age(a.now().Sub(s.LastTime)))
	}
	return a.oneOf(ask, "Which test?", results, tell, func(s record.Summary) error { return a.again("report", s.Path) })
}

// chooseTest begins one of the procedures that measure, or of those that go from a symptom to its
// cause; the user's own are among them.
func (a *app) chooseTest(ask chooser, title string, symptom bool) error {
	list, _, err := a.procedureList()
	if err != nil {
		return err
	}
	list = slices.DeleteFunc(list, func(l listedProcedure) bool { return l.Symptom != symptom || l.Fault != "" || l.Shadowed })
	var ways []way
	for _, l := range list {
		ways = append(ways, way{Item: terminal.Item{Word: l.Name, Text: terminal.CleanLine(l.text())}})
	}
	n, err := a.oneWay(ask, title, ways)
	if err != nil {
		return err
	}
	return a.again("start", list[n].Name)
}

// oneWay has the person choose one of the rows, or go back.
func (a *app) oneWay(ask chooser, title string, ways []way) (int, error) {
	ways = append(ways, way{Item: terminal.Item{Word: "back", Text: "back to the menu"}})
	n, err := a.chosen(ask, terminal.Menu{Title: title}, ways)
	if err == nil && n == len(ways)-1 {
		err = errBack
	}
	return n, err
}

// oneOf has the person choose one of list, or go back.
func (a *app) oneOf(ask chooser, title string, list []record.Summary, tell func(record.Summary) string, then func(record.Summary) error) error {
	title, ways := a.waysOf(title, list, tell)
	n, err := a.oneWay(ask, title, ways)
	if err != nil {
		return err
	}
	return then(list[n])
}

// waysOf are rows for the first of list.
func (a *app) waysOf(title string, list []record.Summary, tell func(record.Summary) string) (string, []way) {
	if len(list) > mostShown {
		title += fmt.Sprintf(" These are the latest %d of %d; %s lists them all.", mostShown, len(list), a.command("records"))
		list = list[:mostShown]
	}
	var ways []way
	for _, s := range list {
		ways = append(ways, way{Item: terminal.Item{Word: s.Name, Text: tell(s)}})
	}
	return title, ways
}

// readable picks the tests that a report can be made of, the latest first.
func readable(list []record.Summary) []record.Summary {
	list = slices.DeleteFunc(slices.Clone(list), func(s record.Summary) bool { return stateOf(s) != isOpen && stateOf(s) != isFinished })
	slices.SortFunc(list, func(x, y record.Summary) int { return y.LastTime.Compare(x.LastTime) })
	return list
}

// whereItStands tells of an unfinished test: its car, its age and its next step.
func (a *app) whereItStands(s record.Summary) string {
	car := a.outcomeOf(s.Path, s.Header).car
	text := fmt.Sprintf("car %s, last answer %s", terminal.CleanLine(orUnknown(car)), age(a.now().Sub(s.LastTime)))
	if place := a.placeOf(s); place != "" {
		text += ", at " + place
	}
	return text
}

// placeOf is the step at which a test goes on, "" where that can't be told.
func (a *app) placeOf(s record.Summary) string {
	c, err := record.View(s.Path)
	if err != nil {
		return ""
	}
	r, err := a.rebuild(s.Name, c.Lines)
	if err != nil || r.later != nil {
		return ""
	}
	for range mostDue {
		e, due := r.run.Settle()
		if !due {
			break
		}
		r.run.Apply(e)
	}
	p, open := r.run.Next()
	if !open || p.Place.Parts == 0 {
		return ""
	}
	return fmt.Sprintf("part %d of %d (%s), step %d",
		p.Place.PartNo, p.Place.Parts, terminal.CleanLine(p.Place.Part), p.Place.StepNo)
}

// mostDue bounds the events that are due before a prompt.
const mostDue = 20
