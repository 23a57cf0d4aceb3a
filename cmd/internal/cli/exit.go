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

// exits is the one table from error to exit code. The first row that matches
// rules; an error that none matches is a fault.
var exits = []struct {
	code    int
	matches func(error) bool
}{
	{exitStopped, anyOf(session.ErrPause, context.Canceled, errNotConfirmed)},
	{exitFault, anyOf(record.ErrLocked, record.ErrFull, record.ErrNoSync, fs.ErrPermission)},
	{exitInput, anyOf(errInput, fs.ErrNotExist, fs.ErrExist)},
	{exitInput, anyOf(record.ErrName, record.ErrExists, record.ErrNotRecord, record.ErrNoHeader, record.ErrReadOnly, session.ErrLater)},
	{exitInput, isA[*usageError]},
	{exitInput, isA[strictyaml.Faults]},
	{exitInput, isA[*quantity.Fault]},
	{exitInput, isA[*quantity.Ambiguous]},
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
