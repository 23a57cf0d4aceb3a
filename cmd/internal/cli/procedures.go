package cli

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
	"dropwalk/procedures"
)

func (a *app) procedures() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "procedures",
		Short: "list the procedures, show one, or write your own",
		Long: "Besides those that come with the program there are your own: every file NAME.yaml in the folder that dropwalk procedures where names " +
			"is found as NAME. One that comes with the program goes before one of yours of the same name. See dropwalk help writing.",
		Example: `dropwalk procedures
dropwalk procedures show intake
dropwalk procedures new my-check > my-check.yaml
dropwalk procedures check my-check.yaml
dropwalk procedures try my-check.yaml`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return a.listProcedures(asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with the list")
	cmd.AddCommand(a.proceduresShow(), a.proceduresPrint(), a.proceduresCheck(), a.proceduresTry(), a.proceduresBlocks(), a.proceduresNew(), a.proceduresSchema(), a.proceduresWhere())
	return cmd
}

// shipped lists the names of the procedures that come with the program.
func shipped() []string {
	entries, _ := procedures.FS.ReadDir(".") // embedded: it is there
	var names []string
	for _, e := range entries {
		if !e.IsDir() {
			names = append(names, strings.TrimSuffix(e.Name(), procedureExt))
		}
	}
	return names
}

// readFile reads a whole file that somebody wrote by hand. One byte more than
// such a file may have is enough to have it refused.
func readFile(path string) ([]byte, error) {
	src, err := readBounded(path)
	if err != nil {
		return nil, input(plainPath(err), hintOf(plainPath(err)))
	}
	return src, nil
}

// readBounded reads no more of a file than tells that it is too large, whatever the
// path leads to. Its errors are those of the file system.
func readBounded(path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, strictyaml.MaxBytes+1))
}

// findProcedure loads a procedure that comes with the program, or that of a
// file. Its warnings are passed over, its faults are the error.
func findProcedure(word string, units quantity.System) (*engine.Procedure, error) {
	w, err := procedureText(word)
	if err != nil {
		return nil, err
	}
	return checkedProcedure(w, units)
}

// findProcedure also finds the user's own by its name.
func (a *app) findProcedure(word string, units quantity.System) (*engine.Procedure, error) {
	w, err := a.procedureText(word)
	if err != nil {
		return nil, err
	}
	p, err := checkedProcedure(w, units)
	switch {
	case err != nil:
	case !isPath(word):
		err = sameName(word, p)
	case passesFor(p):
		fmt.Fprintf(a.Err, "This file calls itself %s, as one that comes with %s does, and is another.\n", p.Name, program)
	}
	return p, err
}

// passesFor tells whether a procedure has the name of one that comes with the
// program and another text: its records would bear that name.
func passesFor(p *engine.Procedure) bool {
	known, err := shippedText(p.Name)
	return err == nil && !bytes.Equal(known.text.Src, p.Source)
}

// checkedProcedure is one that is about to be shown or run for the first time:
// it has to keep every rule of writing that is more than a warning. One in a
// record has only to load.
func checkedProcedure(w *procedureFile, units quantity.System) (*engine.Procedure, error) {
	key := checkedKey{w.file, units}
	if p, ok := checkedBefore.Load(key); ok && w.comes {
		return p.(*engine.Procedure), nil
	}
	p, faults := w.check(units)
	if fault := faults.Err(); fault != nil {
		return nil, fault
	}
	if w.comes {
		checkedBefore.Store(key, p)
	}
	return p, nil
}

// checkedBefore are the procedures that come with the program, once they were checked: a list, a
// class or a row of tests asks for the same ones over and over. Nothing changes a procedure.
var checkedBefore sync.Map

type checkedKey struct {
	file  string
	units quantity.System
}

func (a *app) proceduresShow() *cobra.Command {
	var source, asJSON bool
	cmd := &cobra.Command{
		Use:   "show PROCEDURE",
		Short: "show a procedure step by step, or its file",
		Example: `dropwalk procedures show intake
dropwalk procedures show intake --source > my-procedure.yaml`,
		Args: arguments(1, 1, "PROCEDURE"),
		RunE: func(_ *cobra.Command, args []string) error {
			units, err := a.system()
			if err != nil {
				return err
			}
			p, err := a.findProcedure(args[0], units)
			if err != nil {
				return err
			}
			switch {
			case source && asJSON:
				return &usageError{"--source and --json are two forms of the same", "one of the two"}
			case asJSON:
				return a.procedureJSON(p)
			case !source:
				return a.read(procedurePage(p))
			}
			_, err = a.Out.Write(p.Source)
			return err
		},
	}
	cmd.Flags().BoolVar(&source, "source", false, "print its file, with the shared blocks in it")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the file as one JSON object")
	return cmd
}

// procedureJSON prints the file of a procedure in its JSON form, which reads
// back to the same procedure.
func (a *app) procedureJSON(p *engine.Procedure) error {
	tree, faults := strictyaml.ParseYAML(p.Name, p.Source, 1)
	if err := faults.Err(); err != nil {
		return err
	}
	_, err := a.Out.Write(append(nodeJSON(tree), '\n'))
	return err
}
