package terminal

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

var (
	asks = engine.Prompt{Kind: engine.Ask, Text: "How large is the engine?", Like: "1998 cc",
		Fields: []subject.Field{{Path: "car.engine.displacement", Kind: quantity.Volume, Required: true}}}
	asksAgain = engine.Prompt{Kind: engine.Ask, Previous: "1998 cc",
		Fields: []subject.Field{{Kind: quantity.Volume}}}
	chooses = engine.Prompt{Kind: engine.Ask,
		Fields: []subject.Field{{Kind: quantity.Choice, Choices: []string{"natural", "turbo", "supercharged"}}}}
	choosesNumber = engine.Prompt{Kind: engine.Ask,
		Fields: []subject.Field{{Kind: quantity.Choice, Choices: []string{"4", "2"}}}}
	yesNo = engine.Prompt{Kind: engine.Ask, Fields: []subject.Field{{Kind: quantity.Truth}}}
	holds = engine.Prompt{Kind: engine.Hold, Text: "Before the run:",
		Lines: []string{"The road is dry and empty.", "The bonnet is latched.", "Belts are on."}}
	holdsBare = engine.Prompt{Kind: engine.Hold, Text: "Are you parked?"}
	does      = engine.Prompt{Kind: engine.Do, Text: "Fit the hose."}
	doesRisky = engine.Prompt{Kind: engine.Do, Text: "Drill the hole.",
		Notices: []engine.Notice{{Level: "warning", From: "chips in the intake", So: "they wreck the engine", Avoid: "drill on the bench"}}}
	doesCareful = engine.Prompt{Kind: engine.Do, Text: "Open the box.",
		Notices: []engine.Notice{{Level: "notice", From: "old clips", So: "they break", Avoid: "press, don't pull"}}}
	doesOptional = engine.Prompt{Kind: engine.Do, Text: "Film the gauge.", Skip: "Runs are harder to read."}
	owes         = engine.Prompt{Kind: engine.Owed, Text: "Plug the hole."}
	tells        = engine.Prompt{Kind: engine.Tell, Text: "The test is over."}
)

// earlier is a prompt behind two answers.
var earlier = engine.Prompt{Kind: engine.Ask, Text: "What does it burn?", Earlier: func() []string { return []string{"displacement", "car-name"} }}

// Ways back are listed once "back " is typed, and not before; one that a refusal
// offers is taken by its number.
func TestWaysBack(t *testing.T) {
	var got []string
	for _, typed := range []string{"", "b", "back", "back ", "back d"} {
		n := 0
		for _, whole := range completions(earlier, &subject.Refusal{}) {
			if strings.HasPrefix(whole, "back") && Completes(typed, whole) {
				n++
			}
		}
		got = append(got, fmt.Sprint(n))
	}
	if got, want := strings.Join(got, " "), "1 1 1 2 1"; got != want {
		t.Errorf("ways listed: %s, want %s", got, want)
	}
	r := &subject.Refusal{Choices: []string{"back car-name (What do you call this car?)", "12 kPa"}}
	if got, want := understand(earlier, r, "1").answer, (engine.Answer{Move: engine.Back, Text: "car-name (What do you call this car?)"}); got != want {
		t.Errorf("the first is %+v, want %+v", got, want)
	}
	if got, want := understand(earlier, r, "2").answer, (engine.Answer{Text: "12 kPa"}); got != want {
		t.Errorf("the second is %+v, want %+v", got, want)
	}
}

// Each line typed at a prompt, and what it comes to. An answer is written
// "=text", a move "move:why|text", a problem by a piece of its message.
func TestUnderstand(t *testing.T) {
	tests := []struct {
		name string
		p    engine.Prompt
		line string
		want string
	}{
		{"a quantity passes as typed", asks, " 1998 cc ", "=1998 cc"},
		{"a swing", asks, "12-13 inH2O", "=12-13 inH2O"},
		{"inches keep their mark", asks, `12.5"`, `=12.5"`},
		{"not known", asks, "?", "=?"},
		{"not known, in words", asks, "Don't know", "=?"},
		{"not known, another apostrophe", asks, "don’t know", "=?"},
		{"nothing where one can't do without", asks, "", "problem an answer is needed here, such as 1998 cc"},
		{"nothing where nobody may know", chooses, "", "problem ? if you don't know"},
		{"nothing keeps the earlier answer", asksAgain, "", "=1998 cc"},

		{"a choice by word", chooses, "Turbo", "=turbo"},
		{"a choice by number", chooses, "3", "=supercharged"},
		{"a choice by its beginning", chooses, "nat", "=natural"},
		{"a number out of range", chooses, "4", "problem none of the choices"},
		{"a slip in a choice", chooses, "trubo", `problem did you mean "turbo"`},
		{"a choice not known", chooses, "don't know", "=?"},
		{"a choice that is a number isn't counted", choosesNumber, "2", "=2"},
		{"a place among numbers isn't an answer", choosesNumber, "1", "problem none of the choices"},
		{"yes", yesNo, "y", "=yes"},
		{"no by number", yesNo, "2", "=no"},

		{"ready", holds, "READY", "=ready"},
		{"a line that isn't true", holds, "2", "=2"},
		{"Enter opens no hold", holds, "", "problem type ready"},
		{"not known opens no hold", holds, "?", "problem not known is not yet true"},
		{"not known, in words, opens no hold", holds, "don't know", "problem why says what it is for"},
		{"not known opens no bare hold", holdsBare, "?", "problem not known is not yet so"},
		{"yes opens no hold", holds, "yes", "problem type ready"},
		{"done opens no hold", holds, "done", "problem type ready"},
		{"no such line", holds, "4", "problem the number of one that isn't"},
		{"a slip in ready", holds, "reday", `problem did you mean "ready"`},
		{"Enter opens no bare hold", holdsBare, "", "problem type ready when it is so"},
		{"a number at a bare hold", holdsBare, "1", "problem type ready when it is so"},

		{"Enter is done", does, "", "=done"},
		{"done", does, "Done", "=done"},
		{"Enter isn't done at a warning", doesRisky, "", "problem type done"},
		{"done at a warning", doesRisky, "done", "=done"},
		{"Enter is done at a mere notice", doesCareful, "", "=done"},
		{"Enter isn't done for a duty", owes, "", "problem type done"},
		{"a slip in done", does, "doen", `problem did you mean "done"`},
		{"ready at a step", does, "ready", "=done"},
		{"ok at a step", does, "Ok.", "=done"},
		{"yes at a warning", doesRisky, "yes", "=done"},
		{"ok opens no hold", holds, "ok", "problem type ready"},
		{"talk at a step", does, "what now", "problem type done"},

		{"Enter goes on", tells, "", "="},
		{"talk at a text", tells, "okay", "problem press Enter"},

		{"back", asks, "back", "back:|"},
		{"back to a step", holds, "back displacement", "back:|displacement"},
		{"skip", doesOptional, "skip no time today", "skip:no time today|"},
		{"skip without a reason", doesOptional, "skip", "problem needs a reason"},
		{"skip where nothing may be skipped", does, "skip", "problem can't be skipped"},
		{"skip with a reason where nothing may be skipped", holds, "skip no time", "problem can't be skipped"},
		{"skip of a question that may stay open", asksAgain, "skip", "problem ? says that you don't know"},
		{"skip of a duty", owes, "skip it is stuck", "skip:it is stuck|"},
		{"cannot", does, "cannot the hose is cracked", "cannot:the hose is cracked|"},
		{"cannot without a reason", does, "cannot", "problem needs a reason"},
		{"note", tells, "note rain set in", "note:|rain set in"},
		{"note without a text", tells, "note", "problem needs a text"},
		{"stop", holds, "stop", "stop:|"},
		{"stop, shouted", holds, "STOP!", "stop:|"},
		{"stop with more behind it", asks, "stop sign", "stop:|sign"},
		{"an answer that begins with a word", asks, `"back box"`, "=back box"},
		{"pause", asks, "pause", "pause"},
		{"help", holds, "help", "help"},
		{"a slip in a word", tells, "puase", `problem did you mean "pause"`},

		{"stray cursor keys never reach a number", asks, "12\x1b[1;5C5", "problem key codes"},
		{"control characters", asks, "12\x005", "problem key codes"},
		{"letters that turn the line round", asks, "12\u202e5", "problem key codes"},
		{"invalid UTF-8 passes on to be refused by its reader", asks, "12\xff", "=12\xff"},
	}
	for _, tt := range tests {
		got := shown(understand(tt.p, &subject.Refusal{}, tt.line))
		if piece, isProblem := strings.CutPrefix(tt.want, "problem "); isProblem {
			if !strings.HasPrefix(got, "problem ") || !strings.Contains(got, piece) {
				t.Errorf("%s: understand(%q) = %q, want a problem with %q", tt.name, tt.line, got, piece)
			}
			continue
		}
		if got != tt.want {
			t.Errorf("%s: understand(%q) = %q, want %q", tt.name, tt.line, got, tt.want)
		}
	}
}

func shown(s said) string {
	switch {
	case s.pause:
		return "pause"
	case s.help:
		return "help"
	case s.retype:
		return "retype"
	case s.problem != "":
		return "problem " + s.problem
	case s.answer.Move != engine.Answering:
		return string(s.answer.Move) + ":" + s.answer.Why + "|" + s.answer.Text
	}
	return "=" + s.answer.Text
}

// Where a text can mean several things its readings stand under numbers; a
// fresh answer and the words still work.
func TestUnderstandOffers(t *testing.T) {
	offers := []string{"1.25 kPa", "1250 kPa"}
	for line, want := range map[string]string{
		"2": "=1250 kPa", "1)": "=1.25 kPa", "1.3 kPa": "=1.3 kPa", "3": "=3", "pause": "pause",
	} {
		if got := shown(understand(asks, &subject.Refusal{Choices: offers}, line)); got != want {
			t.Errorf("understand(%q) = %q, want %q", line, got, want)
		}
	}
}

// An answer in doubt is kept, kept as doubtful, or typed anew; Enter alone and
// the same words elsewhere take nothing.
func TestUnderstandDoubt(t *testing.T) {
	d := &subject.Doubt{Keep: "31, keep", Doubtful: "31, doubtful: ", Reason: "far above"}
	zero := &subject.Doubt{Keep: "12, keep"}
	for _, tt := range []struct {
		refused *subject.Refusal
		line    string
		want    string
	}{
		{&subject.Refusal{Doubt: d}, "keep", "=31, keep"},
		{&subject.Refusal{Doubt: d}, "KEEP.", "=31, keep"},
		{&subject.Refusal{Doubt: d}, "doubtful the needle stuck", "=31, doubtful: the needle stuck"},
		{&subject.Refusal{Doubt: d}, "doubtful: it hung", "=31, doubtful: it hung"},
		{&subject.Refusal{Doubt: d}, "doubtful", "=31, doubtful: far above"},
		{&subject.Refusal{Doubt: d}, "retype", "retype"},
		{&subject.Refusal{Doubt: d}, "12.5 at 6000", "=12.5 at 6000"},
		{&subject.Refusal{Doubt: d, Choices: []string{"31 mbar"}}, "1", "=31 mbar"},
		{&subject.Refusal{Doubt: d}, "", "problem type keep"},
		{&subject.Refusal{Doubt: d}, "pause", "pause"},
		{&subject.Refusal{Doubt: zero}, "doubtful it hung", "=doubtful it hung"},
		{&subject.Refusal{}, "keep", "=keep"},
	} {
		if got := shown(understand(asksAgain, tt.refused, tt.line)); !strings.HasPrefix(got, tt.want) {
			t.Errorf("understand(%q) = %q, want %q", tt.line, got, tt.want)
		}
	}
}

// Whatever is typed at a hold, only the word opens it.
func FuzzHoldOpensByWordOnly(f *testing.F) {
	for _, s := range []string{"", "y", "ready?", "ok", "1", " ready ", `"ready"`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, line string) {
		got := understand(holds, &subject.Refusal{}, line)
		open := got.problem == "" && !got.help && !got.pause && got.answer.Move == engine.Answering && strings.EqualFold(got.answer.Text, "ready")
		typed := strings.EqualFold(strings.Trim(strings.TrimSpace(line), `" `), "ready")
		if open && !typed {
			t.Errorf("understand(%q) opens the hold", line)
		}
	})
}

// Words that a prompt has of its own come back as notes, wherever they are typed,
// and are offered; elsewhere they are answers.
func TestWordsOfAPrompt(t *testing.T) {
	words := []engine.Word{{Word: "look", Does: "look again"}, {Word: "mend", With: "WHAT", Does: "put it right"}}
	for _, p := range []engine.Prompt{asks, holds, does, tells} {
		p.Words = words
		for line, want := range map[string]string{"look": "look", "Look!": "look", "mend hose": "mend hose", "MEND Hose": "mend hose", "mend": "mend"} {
			if got := understand(p, &subject.Refusal{}, line); got.answer != (engine.Answer{Move: engine.Note, Text: want}) {
				t.Errorf("%s: %q is %+v, want the note %q", p.Kind, line, got, want)
			}
		}
		if list := completions(p, &subject.Refusal{}); !slices.Contains(list, "look") || !slices.Contains(list, "mend") {
			t.Errorf("%s: Tab offers %q", p.Kind, list)
		}
		if help := helpFor(p, 78); !strings.Contains(help, "mend WHAT") || !strings.Contains(help, "look again") {
			t.Errorf("%s: help lacks the words:\n%s", p.Kind, help)
		}
	}
	if got := understand(asks, &subject.Refusal{}, "look"); got.answer.Move == engine.Note {
		t.Error("a word of another prompt is a note")
	}
	named := asks
	named.Words = words
	if got := understand(named, &subject.Refusal{}, "look alike"); got.answer.Move == engine.Note {
		t.Error("a word that stands alone takes more behind it")
	}
}

// An answer that is offered from elsewhere says where from, and Enter takes it.
func TestAnOfferSaysWhereItIsFrom(t *testing.T) {
	p := asks
	p.Previous, p.Source = "1198 cc", "on the card"
	if got := answers(p); !strings.Contains(got, "On the card: 1198 cc (Enter takes it).") || strings.Contains(got, "So far") {
		t.Errorf("it says %q", got)
	}
	if got := understand(p, &subject.Refusal{}, ""); got.answer.Text != "1198 cc" {
		t.Errorf("Enter is %+v", got)
	}
}
