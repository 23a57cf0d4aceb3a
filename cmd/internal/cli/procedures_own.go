package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/spell"
	"dropwalk/procedures"
)

const (
	procedureExt = ".yaml"
	// mostOwn bounds how many files of the user's folder are looked at.
	mostOwn = 500
)

// ownFolder is where the user's own procedures lie.
func (a *app) ownFolder() (string, error) { return a.beside("procedures") }

// beside is where the user's own things of a kind lie: beside the usual folder of
// the records, wherever --dir has the records of this test.
func (a *app) beside(kind string) (string, error) {
	records, err := record.Place(runtime.GOOS, a.env, os.UserHomeDir)
	if err != nil {
		return "", input(fmt.Errorf("there is no folder for %s: no home folder is set", kind), "name the path of the file")
	}
	return filepath.Join(filepath.Dir(records), kind), nil
}

// ownProcedure is a file in the user's folder.
type ownProcedure struct{ name, path string }

// ownProcedures lists the files of the user's folder that are procedures by
// their names, and the names of the others. A folder that can't be read has
// none.
func (a *app) ownProcedures() (own []ownProcedure, strange []string) {
	dir, err := a.ownFolder()
	if err != nil {
		return nil, nil
	}
	names, strange := namedFiles(dir, procedureExt, mostOwn, engine.IsName)
	for _, name := range names {
		own = append(own, ownProcedure{name, filepath.Join(dir, name+procedureExt)})
	}
	return own, strange
}

// namedFiles lists the files of a folder with the ending ext whose names will do,
// without it and no more than most, and the other files with that ending. A folder that
// can't be read has none.
func namedFiles(dir, ext string, most int, will func(name string) bool) (names, strange []string) {
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		name, has := strings.CutSuffix(e.Name(), ext)
		switch {
		case !has || strings.HasPrefix(e.Name(), "."):
		case !will(name) || !isFile(filepath.Join(dir, e.Name())):
			strange = append(strange, e.Name())
		case len(names) < most:
			names = append(names, name)
		}
	}
	return names, strange
}

// isFile tells whether a path leads to a plain file. A pipe or a device would
// have the program wait for ever.
func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}

// ownText finds one of the user's own by its name. The name can't lead out of
// the folder: it has neither points nor bars.
func (a *app) ownText(name string) (file string, src []byte, err error) {
	dir, err := a.ownFolder()
	if err != nil || !engine.IsName(name) {
		return "", nil, fs.ErrNotExist
	}
	file = filepath.Join(dir, name+procedureExt)
	if !isFile(file) {
		return "", nil, fs.ErrNotExist
	}
	src, err = readFile(file)
	return file, src, err
}

// procedureText finds a procedure that comes with the program by its name, or
// that of a file by its path.
func procedureText(word string) (*procedureFile, error) {
	if w, err := shippedText(word); err == nil {
		return w, nil
	}
	if isPath(word) {
		src, err := readFile(word)
		if err != nil {
			return nil, err
		}
		return newProcedureFile(word, src), nil
	}
	return nil, noProcedure(word, shipped())
}

// shippedText is one that comes with the program, with its blocks in it.
func shippedText(name string) (*procedureFile, error) {
	if !engine.IsName(name) {
		return nil, fs.ErrNotExist
	}
	src, err := procedures.FS.ReadFile(name + procedureExt)
	if err != nil {
		return nil, err
	}
	w := newProcedureFile("procedures/"+name+procedureExt, src)
	w.comes = true
	return w, nil
}

// procedureText also finds the user's own. One that comes with the program goes
// first, and where one of the user's has its name, that is told.
func (a *app) procedureText(word string) (*procedureFile, error) {
	ownFile, ownSrc, ownErr := a.ownText(word)
	switch {
	case slices.Contains(shipped(), word):
		if ownErr == nil {
			fmt.Fprintf(a.Err, "%s is the one that comes with %s. Yours of that name: %s\n", word, program, terminal.CleanLine(ownFile))
		}
	case ownErr == nil:
		return newProcedureFile(ownFile, ownSrc), nil
	case !errors.Is(ownErr, fs.ErrNotExist):
		return nil, ownErr
	case !isPath(word):
		return nil, noProcedure(word, a.procedureNames())
	}
	return procedureText(word)
}

func noProcedure(word string, known []string) error {
	hint := "one of " + strings.Join(known, ", ") + ", or the path of a file"
	if near, ok := spell.Nearest(word, known); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	return &usageError{fmt.Sprintf("there is no procedure %q", word), hint}
}

// procedureNames are all that a name can call.
func (a *app) procedureNames() []string {
	names := shipped()
	own, _ := a.ownProcedures()
	for _, o := range own {
		if !slices.Contains(names, o.name) {
			names = append(names, o.name)
		}
	}
	return names
}

func (o ownProcedure) listed() listedProcedure {
	l := listedProcedure{Name: o.name, Origin: originOwn, File: o.path, Shadowed: slices.Contains(shipped(), o.name)}
	p, err := o.load()
	if err != nil {
		l.Fault = firstLine(err)
		return l
	}
	l.fill(p)
	return l
}

func (o ownProcedure) load() (*engine.Procedure, error) {
	src, err := readFile(o.path)
	if err != nil {
		return nil, err
	}
	p, err := checkedProcedure(newProcedureFile(filepath.Base(o.path), src), quantity.AsTyped)
	if err == nil {
		err = sameName(o.name, p)
	}
	return p, err
}

// sameName holds that a procedure calls itself what its file is called: records
// name the procedure that they were made with.
func sameName(name string, p *engine.Procedure) error {
	if p.Name == name {
		return nil
	}
	return input(fmt.Errorf("%s%s calls itself %q", name, procedureExt, p.Name), fmt.Sprintf("write name: %s in it, or rename the file", name))
}

func firstLine(err error) string {
	line, _, more := strings.Cut(err.Error(), "\n")
	if more {
		line += " ..."
	}
	return line
}

// tellOwn says what the table of procedures can't: which of the user's can't be
// called by name.
func (a *app) tellOwn(list []listedProcedure, strange []string) {
	for _, l := range list {
		if l.Shadowed {
			fmt.Fprintf(a.Err, "%s means the one that comes with %s; yours is called by its path: %s\n", l.Name, program, terminal.CleanLine(l.File))
		}
	}
	for i, name := range strange {
		if i == 10 {
			fmt.Fprintf(a.Err, "and %d more\n", len(strange)-i)
			return
		}
		fmt.Fprintf(a.Err, "%q can't be called by name: small letters, digits and hyphens, and a plain file\n", name)
	}
}

func (a *app) proceduresWhere() *cobra.Command {
	return a.where("procedures", "name the folder of your own procedures", "print a JSON object with the folder", a.ownFolder)
}
