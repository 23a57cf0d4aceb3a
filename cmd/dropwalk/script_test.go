package main

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
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
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"big": big, "code": code, "mask": mask, "oldest-name": oldestName, "spoil": spoil, "typed": typed,
		},
		Setup: func(env *testscript.Env) error {
			// Nothing of the machine's own: records and locale of the story only.
			env.Setenv("XDG_DATA_HOME", env.WorkDir+"/data")
			env.Setenv("RECORDS", env.WorkDir+"/data/dropwalk/records")
			answers, err := filepath.Abs("../../testdata/answers")
			if err != nil {
				return err
			}
			env.Setenv("ANSWERS", answers)
			env.Setenv("TESTDATA", filepath.Dir(answers))
			env.Setenv("ESC", "\x1b")
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

// oldestName puts the name that sorts first in the folder of the records into
// NAME.
func oldestName(ts *testscript.TestScript, _ bool, _ []string) {
	files, err := filepath.Glob(filepath.Join(ts.Getenv("RECORDS"), "*.jsonl"))
	ts.Check(err)
	if len(files) == 0 {
		ts.Fatalf("no records")
	}
	ts.Setenv("NAME", strings.TrimSuffix(filepath.Base(files[0]), ".jsonl"))
}

// spoil replaces a text in a file: spoil FILE OLD NEW. \r\n stands for a line
// end of Windows.
func spoil(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: spoil FILE OLD NEW")
	}
	path := ts.MkAbs(args[0])
	old, err := os.ReadFile(path)
	ts.Check(err)
	ends := strings.NewReplacer(`\r`, "\r", `\n`, "\n")
	spoilt := bytes.ReplaceAll(old, []byte(ends.Replace(args[1])), []byte(ends.Replace(args[2])))
	if bytes.Equal(old, spoilt) {
		ts.Fatalf("%q is not in %s", args[1], args[0])
	}
	ts.Check(os.WriteFile(path, spoilt, 0o600))
}

var clock = regexp.MustCompile(`\d\d\d\d-\d\d-\d\d( \d\d:\d\d)?`)

// mask saves what the last command wrote to standard error, with DATE for each
// date and time: mask FILE.
func mask(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 1 {
		ts.Fatalf("usage: mask FILE")
	}
	text := clock.ReplaceAllString(ts.ReadFile("stderr"), "DATE")
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o600))
}

// big writes a sheet that no hand would: one title of so many bytes, so many
// brackets inside each other, or a letter that isn't UTF-8 behind so many lines.
func big(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: big long|deep|latin1 FILE NUMBER")
	}
	n, err := strconv.Atoi(args[2])
	ts.Check(err)
	text := ""
	switch args[0] {
	case "long":
		text = "sheet: 1\ntitle: \"" + strings.Repeat("x", n) + "\"\n"
	case "deep":
		text = "sheet: 1\npath: " + strings.Repeat("[", n) + strings.Repeat("]", n) + "\n"
	case "latin1":
		text = strings.Repeat("# \n", n) + "title: 18 \xb0C\n"
	default:
		ts.Fatalf("big knows no %q", args[0])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(text), 0o600))
}

// typed writes a line as it comes from a keyboard: typed FILE TEXT.
func typed(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: typed FILE TEXT")
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(args[1]+"\n"), 0o600))
}
