package record

import (
	"fmt"
	"os"
	"strconv"
	"strings"
)

// Failpoint is a named place in the code at which a test can end the process.
type Failpoint struct{ Name, Where string }

// Failpoints lists every failpoint, in the order of the work.
var Failpoints = []Failpoint{
	{createLocked, "Create: lock taken, no file yet"},
	{createEmpty, "Create: file made, nothing in it"},
	{createNamed, "Create: header synced and the folder synced, not yet returned"},
	{appendStart, "Append, and the header of Create: nothing written"},
	{appendHalf, "Append: half of the line written"},
	{appendWritten, "Append: line written, not synced"},
	{appendSynced, "Append: line synced, not yet acknowledged"},
	{openLocked, "Open: lock taken, nothing read"},
	{tailSaving, "Open: torn tail found, its copy made but not written"},
	{tailSaved, "Open: torn tail copied and synced, file not yet cut"},
	{tailCut, "Open, and Append after a failed write: file cut, not synced"},
	{tailDone, "Open: file cut and synced"},
	{replaceHalf, "rewriting a file: half of the new one written"},
	{replaceReady, "rewriting a file: new one synced, old one in place"},
	{replaceKept, "rewriting a record: old one has a second name"},
	{replaceRenamed, "rewriting a file: new one in place, folder not synced"},
	{replaceDone, "rewriting a file: folder synced"},
	{renameStart, "Rename: locks taken"},
	{renameMoved, "Rename: record renamed, side files not"},
	{removeStart, "Remove: lock taken"},
	{removeSides, "Remove: side files gone, record still there"},
	{removeGone, "Remove: record gone, folder not synced"},
	{closeStart, "Close: file closed, lock held"},
}

const (
	createLocked   = "create-locked"
	createEmpty    = "create-empty"
	createNamed    = "create-named"
	appendStart    = "append-start"
	appendHalf     = "append-half"
	appendWritten  = "append-written"
	appendSynced   = "append-synced"
	openLocked     = "open-locked"
	tailSaving     = "tail-saving"
	tailSaved      = "tail-saved"
	tailCut        = "tail-cut"
	tailDone       = "tail-done"
	replaceHalf    = "replace-half"
	replaceReady   = "replace-ready"
	replaceKept    = "replace-kept"
	replaceRenamed = "replace-renamed"
	replaceDone    = "replace-done"
	renameStart    = "rename-start"
	renameMoved    = "rename-moved"
	removeStart    = "remove-start"
	removeSides    = "remove-sides"
	removeGone     = "remove-gone"
	closeStart     = "close-start"
)

// FailpointVariable is the environment variable whose value a program passes to
// WithFailpoint.
const FailpointVariable = "DROPWALK_FAILPOINT"

// WithFailpoint returns env with one failpoint armed. text is "name" or
// "name:count"; the process is killed when it comes to the place for the
// count-th time (1 if not given). An empty text changes nothing; an unknown
// name is an error, so that a misspelt test can't pass.
func WithFailpoint(env Env, text string) (Env, error) {
	if text == "" {
		return env, nil
	}
	name, count, counted := strings.Cut(text, ":")
	n := 1
	if counted {
		var err error
		if n, err = strconv.Atoi(count); err != nil || n < 1 {
			return env, fmt.Errorf("%s: count %q is not a number from 1 up", FailpointVariable, count)
		}
	}
	for _, f := range Failpoints {
		if f.Name == name {
			env.trap = &trap{name: name, left: n, spring: die}
			return env, nil
		}
	}
	return env, fmt.Errorf("%s: no failpoint is called %q", FailpointVariable, name)
}

type trap struct {
	name   string
	left   int
	spring func(name string)
}

// at springs the trap if it is the one called name and its count is used up.
func (t *trap) at(name string) {
	if t == nil || t.name != name {
		return
	}
	if t.left--; t.left == 0 {
		t.spring(name)
	}
}

// next reports whether at(name) would spring.
func (t *trap) next(name string) bool {
	return t != nil && t.name == name && t.left == 1
}

// die ends the process at once, without deferred calls or exit handlers: the
// same as kill -9.
func die(name string) {
	fmt.Fprintf(os.Stderr, "failpoint %s reached: the process is killed\n", name)
	if p, err := os.FindProcess(os.Getpid()); err == nil {
		p.Kill()
	}
	select {} // the signal may take a moment; nothing may run on
}
