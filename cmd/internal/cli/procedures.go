package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
	"dropwalk/procedures"
)

func (a *app) procedures() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "procedures",
		Short: "list the procedures, show one, or check your own",
		Example: `dropwalk procedures
dropwalk procedures show intake
dropwalk procedures check my-procedure.yaml`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return a.listProcedures()
		},
	}
	cmd.AddCommand(a.proceduresShow(), a.proceduresCheck())
	return cmd
}

// shipped lists the names of the procedures that come with the program.
func shipped() []string {
	entries, _ := procedures.FS.ReadDir(".") // embedded: it is there
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), ".yaml"))
	}
	return names
}

// procedureText finds a procedure by name, or by the path of its file.
func procedureText(word string) (file string, src []byte, err error) {
	if src, err := procedures.FS.ReadFile(word + ".yaml"); err == nil {
		return "procedures/" + word + ".yaml", src, nil
	}
	if isPath(word) {
		src, err := readFile(word)
		return word, src, err
	}
	hint := "one of " + strings.Join(shipped(), ", ") + ", or the path of a file"
	if near, ok := spell.Nearest(word, shipped()); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	return "", nil, &usageError{fmt.Sprintf("there is no procedure %q", word), hint}
}

// readFile reads a whole file that somebody wrote by hand. One byte more than
// such a file may have is enough to have it refused.
func readFile(path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, input(plainPath(err), hintOf(plainPath(err)))
	}
	defer file.Close()
	src, err := io.ReadAll(io.LimitReader(file, strictyaml.MaxBytes+1))
	if err != nil {
		return nil, input(err, "")
	}
	return src, nil
}

// findProcedure loads a procedure; its warnings are passed over, its faults are
// the error.
func findProcedure(word string, units quantity.System) (*engine.Procedure, error) {
	file, src, err := procedureText(word)
	if err != nil {
		return nil, err
	}
	p, _, faults := loadProcedure(file, src, units)
	if fault := faults.Err(); fault != nil {
		return nil, fault
	}
	return p, nil
}

func (a *app) listProcedures() error {
	rows := [][]string{{"procedure", "what it answers", "takes"}}
	for _, name := range shipped() {
		p, err := findProcedure(name, quantity.AsTyped)
		if err != nil {
			return err
		}
		rows = append(rows, []string{p.Name, p.Title, p.Takes})
	}
	_, err := io.WriteString(a.Out, terminal.Table(rows, a.Width))
	return err
}

func (a *app) proceduresShow() *cobra.Command {
	var source bool
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
			p, err := findProcedure(args[0], units)
			if err != nil {
				return err
			}
			if !source {
				return a.read(procedurePage(p))
			}
			_, err = a.Out.Write(p.Source)
			return err
		},
	}
	cmd.Flags().BoolVar(&source, "source", false, "print the file as it is")
	return cmd
}

func (a *app) proceduresCheck() *cobra.Command {
	var form string
	cmd := &cobra.Command{
		Use:   "check [FILE...]",
		Short: "find every fault of a procedure; those of the program if none is named",
		Example: `dropwalk procedures check my-procedure.yaml
dropwalk procedures check --format github my-procedure.yaml`,
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				args = shipped()
			}
			var all strictyaml.Faults
			for _, arg := range args {
				file, src, err := procedureText(arg)
				if err != nil {
					return err
				}
				p, _, faults := loadProcedure(file, src, quantity.AsTyped)
				all = append(all, faults...)
				if form == "text" {
					a.tellChecked(file, src, p, faults)
				}
			}
			return a.checked(form, all)
		},
	}
	cmd.Flags().StringVar(&form, "format", "text", "`form` of the faults: text, json or github")
	return cmd
}

// tellChecked says what was found in one file: each fault with the line it
// stands on, or that there is none.
func (a *app) tellChecked(file string, src []byte, p *engine.Procedure, faults strictyaml.Faults) {
	for _, f := range faults.Sorted() {
		fmt.Fprintln(a.Err, f)
		if quote := f.Quote(src, 1); quote != "" {
			fmt.Fprintln(a.Err, quote)
		}
	}
	if p != nil {
		fmt.Fprintf(a.Out, "%s: sound, %d parts\n", filepath.ToSlash(file), len(p.Parts))
	}
}

func (a *app) checked(form string, all strictyaml.Faults) error {
	if form != "text" {
		text, err := all.Format(form)
		if err != nil {
			return &usageError{"--format: " + err.Error(), ""}
		}
		if text != "" {
			fmt.Fprintln(a.Out, text)
		}
	}
	if err := all.Err(); err != nil {
		return shown(err)
	}
	return nil
}
