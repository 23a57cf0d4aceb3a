package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"dropwalk/cmd/internal/answers"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

// answersAsker is how a record calls answers that came from a file.
const answersAsker = "answers"

// answered runs a test from a file of answers.
func (a *app) answered(word string, from origin, answersFile string) error {
	b, err := a.prepare(word, from)
	if err != nil {
		return err
	}
	file, err := a.readAnswers(answersFile, b)
	if err != nil {
		return err
	}
	if err := a.rehearsed(word, file, b); err != nil {
		return err
	}
	defer b.store.close()
	asker := file.NewAsker(a.Err, a.Width)
	s := &session.Session{Run: engine.NewRun(b.procedure, b.matter), Store: unattended{b.store}, Asker: asker, By: answersAsker}
	if err := s.Begin(b.given); err != nil {
		return err
	}
	ctx, stop := untilSignal()
	defer stop()
	err = s.Drive(ctx)
	if err == nil {
		printFaults(a.Err, asker.Unasked())
	}
	if name := b.store.logName(); name != "" {
		fmt.Fprintln(a.Out, name)
	}
	end := a.answersEnd(err, s, b, answersFile)
	if left := asker.Unasked(); isA[*answers.Missing](err) && len(left) > 0 {
		// The cause comes first. After any other end most of the file wasn't asked for.
		io.WriteString(a.Err, terminal.Wrap("What stands behind it in the file is not in the record:", a.Width, "\n", ""))
		printFaults(a.Err, left)
	}
	return end
}

// readAnswers reads the file; its warnings are shown.
func (a *app) readAnswers(name string, b *beginning) (*answers.File, error) {
	var src []byte
	var err error
	if name == "-" {
		name = "stdin"
		src, err = io.ReadAll(io.LimitReader(a.In, strictyaml.MaxBytes+1))
	} else {
		src, err = readFile(name)
	}
	if err != nil {
		return nil, err
	}
	file, faults := answers.Read(name, src, b.procedure, b.matter)
	if file == nil {
		return nil, faults.Sorted()
	}
	printFaults(a.Err, faults)
	return file, nil
}

// rehearsed tells everything that is wrong or missing, before anything is
// recorded.
func (a *app) rehearsed(word string, file *answers.File, b *beginning) error {
	found := file.Rehearse(b.given)
	if len(found.Faults) == 0 && len(found.Certain) == 0 {
		return nil
	}
	printFaults(a.Err, found.Faults)
	if len(found.Certain) > 0 {
		a.tellWanted(found.Certain, "Certainly missing", false)
		a.tellWanted(found.Maybe, "May be needed, by what the others say", true)
	}
	fmt.Fprintln(a.Err, "Nothing was started.")
	if len(found.Certain) > 0 {
		fmt.Fprintf(a.Err, "hint: %s prints a file to fill in\n", a.command("start", word, "--answers-template"))
	}
	return shown(errInput)
}

func (a *app) tellWanted(list []answers.Wanted, title string, maybe bool) {
	if len(list) == 0 {
		return
	}
	io.WriteString(a.Err, terminal.Wrap(fmt.Sprintf("%s (%d):", title, len(list)), a.Width, "", ""))
	for _, w := range list {
		io.WriteString(a.Err, w.Tell(a.Width, maybe))
	}
}

// answersEnd says how a run from a file ended and what to do now.
func (a *app) answersEnd(err error, s *session.Session, b *beginning, file string) error {
	name := b.store.logName()
	if file == "-" {
		file = "standard input"
	}
	if err == nil {
		a.farewell(s, name)
		return nil
	}
	if name == "" {
		return a.stuck(nil, err)
	}
	if missing, ok := errors.AsType[*answers.Missing](err); ok {
		text := fmt.Sprintf("The test pauses: %s has no answer to what comes next.", terminal.CleanLine(file))
		io.WriteString(a.Err, "\n"+terminal.Wrap(text, a.Width, "", "")+missing.Tell(a.Width, false))
		if missing.NoMore != "" {
			io.WriteString(a.Err, terminal.Wrap("Where no more were made, write this at the margin of the file, and run it again:", a.Width, "", "")+"    "+missing.NoMore+"\n")
		}
		io.WriteString(a.Err, terminal.Wrap("Everything before it is saved. Go on with the record by hand, or add the answer to the file and run it again, which makes a new record:", a.Width, "", ""))
		fmt.Fprintf(a.Err, "  %s\n", a.command("resume", name))
		return shown(err)
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintf(a.Err, "Everything up to here is saved. To go on:\n  %s\n", a.command("resume", name))
		return shown(err)
	}
	return a.stuck(b.store.log, err)
}

// unattended is a store behind which nobody stands who could make room and
// answer again: what can't be saved ends the run.
type unattended struct{ session.Store }

// Append implements session.Store.
func (u unattended) Append(kind string, body any) error {
	err := u.Store.Append(kind, body)
	// The class of these would have the session ask again.
	switch {
	case errors.Is(err, record.ErrFull):
		return errUnsavedFull
	case errors.Is(err, record.ErrNoSync), errors.Is(err, record.ErrBody):
		return errors.New(err.Error())
	}
	return err
}

// errUnsavedFull is a full disk behind which nobody stands who could make room.
var errUnsavedFull = errors.New("an answer was not saved: the disk is full")

// Forms in which a file of answers to fill in is printed.
const (
	yamlForm   = "yaml"
	schemaForm = "schema"
)

// answersTemplate prints a file of answers to fill in, or the JSON Schema of
// such files for an editor.
func (a *app) answersTemplate(word string, from origin, form string) error {
	b, err := a.prepare(word, from)
	if err != nil {
		return err
	}
	switch form {
	case yamlForm:
		_, err = a.Out.Write(answers.Template(b.procedure, b.matter, b.given))
	case schemaForm:
		_, err = a.Out.Write(answers.Schema(b.procedure, b.matter))
	default:
		err = &usageError{fmt.Sprintf("--answers-template: %q is no form", form), "one of yaml, schema"}
	}
	return err
}
