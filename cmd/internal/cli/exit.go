package cli

import (
	"context"
	"errors"
	"io/fs"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

// Exit codes.
const (
	exitDone    = 0
	exitFault   = 1 // something went wrong that isn't the user's doing
	exitInput   = 2 // wrong usage, or input that can't be read
	exitStopped = 3 // stopped early; everything is saved
)

// meanings says what each exit code tells, for people.
var meanings = []struct {
	code    int
	meaning string
}{
	{exitDone, "done; a bad test result is not a bad exit"},
	{exitFault, "a fault that is not yours: a full disk, a record that another program has open"},
	{exitInput, "wrong usage, or input that can't be read; the message says where and what was expected"},
	{exitStopped, "stopped early with everything saved; the message names the command that goes on"},
}

// exits is the one table from error to exit code, with the advice for errors
// that bring none of their own. The first row that matches rules; an error that
// none matches is a fault.
var exits = []struct {
	code    int
	hint    string
	matches func(error) bool
}{
	{exitStopped, "type the name as it stands, or add --yes", anyOf(errNotConfirmed)},
	{exitStopped, "", anyOf(session.ErrPause, context.Canceled)},
	{exitFault, "close the other window in which this test is open", anyOf(record.ErrLocked)},
	{exitFault, "make room on the disk, then do it again; what was saved before is safe", anyOf(record.ErrFull)},
	{exitFault, "look at the disk, then do it again; what was saved before is safe", anyOf(record.ErrNoSync)},
	{exitFault, "look at the rights of the file and its folder", anyOf(fs.ErrPermission)},
	{exitInput, "look at the spelling; a path begins at the folder that you are in", anyOf(fs.ErrNotExist)},
	{exitInput, "another name", anyOf(fs.ErrExist, record.ErrExists)},
	{exitInput, "letters a-z, digits, - and _", anyOf(record.ErrName)},
	{exitInput, "name a record; dropwalk records lists them", anyOf(record.ErrNotRecord)},
	{exitInput, "dropwalk records check says what can be done", anyOf(record.ErrNoHeader, record.ErrReadOnly)},
	{exitInput, "a newer release of dropwalk can go on with it", anyOf(session.ErrLater)},
	{exitInput, "", isA[strictyaml.Faults]}, // each says what was expected
	{exitInput, "dropwalk help units says how to write it", isA[*quantity.Fault]},
	{exitInput, "dropwalk help units says how to write it", isA[*quantity.Ambiguous]},
	{exitInput, "dropwalk help lists commands and topics", isA[*usageError]},
	{exitInput, "put right what is named, then do it again", anyOf(errInput)},
}

// usualHint is the advice for err where it brings none.
func usualHint(err error) string {
	for _, row := range exits {
		if row.matches(err) {
			return row.hint
		}
	}
	return "do it again; if it comes again, keep this message and tell whoever looks after " + program
}

// exitCode is the code that the program ends with after err.
func exitCode(err error) int {
	if err == nil {
		return exitDone
	}
	for _, row := range exits {
		if row.matches(err) {
			return row.code
		}
	}
	return exitFault
}

func anyOf(targets ...error) func(error) bool {
	return func(err error) bool {
		for _, target := range targets {
			if errors.Is(err, target) {
				return true
			}
		}
		return false
	}
}

func isA[E error](err error) bool {
	_, ok := errors.AsType[E](err)
	return ok
}

var (
	// errInput says that something which was handed in can't be used.
	errInput = errors.New("unreadable input")
	// errNotConfirmed says that the user drew back from something that can't be
	// undone.
	errNotConfirmed = errors.New("not confirmed; nothing was changed")
	// errShown ends a command whose faults are on the screen already.
	errShown = errors.New("see above")
)

// usageError is a command line that can't be carried out.
type usageError struct{ what, hint string }

func (e *usageError) Error() string { return e.what }

// hinted is an error with advice for the person who meets it.
type hinted struct {
	error
	hint string
}

func (e *hinted) Unwrap() error { return e.error }

// input marks err as the fault of what was handed in.
func input(err error, hint string) error {
	return &hinted{&marked{err}, hint}
}

// marked is an error that is an errInput without saying so.
type marked struct{ error }

func (e *marked) Unwrap() []error { return []error{e.error, errInput} }

// hintOf is the advice that comes with err, "" where there is none.
func hintOf(err error) string {
	if h, ok := errors.AsType[*hinted](err); ok {
		return h.hint
	}
	if u, ok := errors.AsType[*usageError](err); ok {
		return u.hint
	}
	return ""
}
