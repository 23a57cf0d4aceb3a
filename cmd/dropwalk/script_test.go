package main

import (
	"errors"
	"flag"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the expected output in the scripts; read the diff before you keep it")

// TestMain makes the program itself a command of the scripts: they run main as
// a user would.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"dropwalk": main})
}

// TestScript runs the stories in testdata/script. Each tells what a person does
// and sees; the first word of a file's name is the command that it is about.
func TestScript(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "../../testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       *update,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"code": code},
		Setup: func(env *testscript.Env) error {
			// Nothing of the machine's own: records and locale of the story only.
			env.Setenv("XDG_DATA_HOME", env.WorkDir+"/data")
			env.Setenv("LANG", "C.UTF-8")
			env.Setenv("LC_ALL", "")
			env.Setenv("LC_CTYPE", "")
			env.Setenv("COLUMNS", "80")
			return nil
		},
	})
}

// code runs a command and checks its exit code: code 2 dropwalk convrt.
func code(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: code NUMBER COMMAND [ARGUMENT...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		exit, ok := errors.AsType[*exec.ExitError](err)
		if !ok {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}
