package record

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// The test binary runs itself as the program that is killed. What it is to do
// stands in childVariable as "job:path".
const childVariable = "DROPWALK_RECORD_TEST_CHILD"

func TestMain(m *testing.M) {
	if job := os.Getenv(childVariable); job != "" {
		os.Exit(child(job))
	}
	os.Exit(m.Run())
}

// child does one job on a record and prints a line for each thing that is
// acknowledged. It ends with 0 where no failpoint stopped it.
func child(text string) int {
	job, path, _ := strings.Cut(text, ":")
	env, err := WithFailpoint(Env{}, os.Getenv(FailpointVariable))
	if err == nil {
		err = childJobs[job](path, env)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

var childJobs = map[string]func(path string, env Env) error{
	"create": func(path string, env Env) error {
		l, err := Create(filepath.Dir(path), Name(path), testHeader, env)
		if err != nil {
			return err
		}
		fmt.Println("created")
		return childAppend(l, 3)
	},
	"open": func(path string, env Env) error {
		l, _, err := Open(path, env)
		if err != nil {
			return err
		}
		fmt.Println("opened")
		return childAppend(l, 3)
	},
	"endless": func(path string, env Env) error {
		l, _, err := Open(path, env)
		if err != nil {
			return err
		}
		return childAppend(l, 1<<30)
	},
	// The sync of the record fails each second time, so that it is rewritten.
	"rewrite": func(path string, env Env) error {
		n := 0
		env.FS = &faultyDisk{sync: func(name string) error {
			if name != path {
				return nil
			}
			if n++; n%2 == 0 {
				return syscall.EIO
			}
			return nil
		}}
		l, _, err := Open(path, env)
		if err != nil {
			return err
		}
		return childAppend(l, 5)
	},
	"full": func(path string, env Env) error {
		n := 0
		env.FS = &faultyDisk{write: func(name string, b []byte) (int, error) {
			if n++; name == path && n%2 == 0 {
				return len(b) / 2, syscall.ENOSPC
			}
			return len(b), nil
		}}
		l, _, err := Open(path, env)
		if err != nil {
			return err
		}
		for range 4 {
			if err := childAppendOne(l); err != nil && !errors.Is(err, ErrFull) {
				return err
			}
		}
		return l.Close()
	},
	"hold": func(path string, env Env) error {
		if _, _, err := Open(path, env); err != nil {
			return err
		}
		fmt.Println("held")
		bufio.NewReader(os.Stdin).ReadString('\n')
		return nil
	},
	"hold-file": func(path string, env Env) error {
		env.FS = &faultyDisk{lock: func(string) error { return errors.ErrUnsupported }}
		if _, _, err := Open(path, env); err != nil {
			return err
		}
		fmt.Println("held")
		bufio.NewReader(os.Stdin).ReadString('\n')
		return nil
	},
	"repair": func(path string, env Env) error {
		if _, err := Repair(path, env); err != nil {
			return err
		}
		fmt.Println("repaired")
		return nil
	},
	"rename": func(path string, env Env) error {
		if _, err := Rename(path, "green", env); err != nil {
			return err
		}
		fmt.Println("renamed")
		return nil
	},
	"remove": func(path string, env Env) error {
		if err := Remove(path, env); err != nil {
			return err
		}
		fmt.Println("removed")
		return nil
	},
	"report": func(path string, env Env) error {
		if err := ReplaceFile(path, []byte(newReport), 0o644, env); err != nil {
			return err
		}
		fmt.Println("reported")
		return nil
	},
}

const newReport = "a new report, longer than the old one\n"

func childAppend(l *Log, n int) error {
	for range n {
		if err := childAppendOne(l); err != nil {
			return err
		}
	}
	return l.Close()
}

func childAppendOne(l *Log) error {
	line, err := l.Append("answered", answerNo(l.Seq()+1))
	if err != nil {
		return err
	}
	fmt.Println("saved", line.Seq)
	return nil
}
