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
	var asJSON bool
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
			return a.listProcedures(asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with the list")
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

func (a *app) listProcedures(asJSON bool) error {
	type listed struct {
		Name   string   `json:"name"`
		Title  string   `json:"title"`
		Takes  string   `json:"takes"`
		Parts  []string `json:"parts"`
		SHA256 string   `json:"sha256"` // of its file, as the header of a record has it
	}
	rows := [][]string{{"procedure", "what it answers", "takes"}}
	list := []listed{}
	for _, name := range shipped() {
		p, err := findProcedure(name, quantity.AsTyped)
		if err != nil {
			return err
		}
		rows = append(rows, []string{p.Name, p.Title, p.Takes})
		l := listed{Name: p.Name, Title: p.Title, Takes: p.Takes, SHA256: p.SHA256()}
		for _, part := range p.Parts {
			l.Parts = append(l.Parts, part.Title)
		}
		list = append(list, l)
	}
	if asJSON {
		return a.writeVersioned("procedures", struct {
			List []listed `json:"list"`
		}{list})
	}
	_, err := io.WriteString(a.Out, terminal.Table(rows, a.Width))
	return err
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
			p, err := findProcedure(args[0], units)
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
	cmd.Flags().BoolVar(&source, "source", false, "print the file as it is")
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

func (a *app) proceduresCheck() *cobra.Command {
	var form string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check [FILE...]",
		Short: "find every fault of a procedure; those of the program if none is named",
		Example: `dropwalk procedures check my-procedure.yaml
dropwalk procedures check --format github my-procedure.yaml`,
		RunE: func(_ *cobra.Command, args []string) error {
			if asJSON && form != "text" {
				return &usageError{"--json and --format are two forms of the same", "one of the two"}
			}
			if len(args) == 0 {
				args = shipped()
			}
			var all strictyaml.Faults
			checked := []checkedFile{}
			for _, arg := range args {
				file, src, err := procedureText(arg)
				if err != nil {
					return err
				}
				p, _, faults := loadProcedure(file, src, quantity.AsTyped)
				all = append(all, faults...)
				switch {
				case asJSON:
					checked = append(checked, newCheckedFile(file, p, faults))
				case form == "text":
					a.tellChecked(file, src, p, faults)
				}
			}
			if asJSON {
				return a.checkedJSON(checked, all.Err())
			}
			return a.checked(form, all)
		},
	}
	cmd.Flags().StringVar(&form, "format", "text", "`form` of the faults: text, json or github")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with each file and its faults")
	return cmd
}

// checkedFile is what was found in one procedure, for machines. The faults are
// those of --format json.
type checkedFile struct {
	File   string            `json:"file"`
	Sound  bool              `json:"sound"` // warnings leave it sound
	Parts  int               `json:"parts"`
	Faults strictyaml.Faults `json:"faults"`
}

func newCheckedFile(file string, p *engine.Procedure, faults strictyaml.Faults) checkedFile {
	c := checkedFile{File: filepath.ToSlash(file), Sound: p != nil, Faults: faults.Sorted()}
	if p != nil {
		c.Parts = len(p.Parts)
	}
	if c.Faults == nil {
		c.Faults = strictyaml.Faults{}
	}
	return c
}

func (a *app) checkedJSON(list []checkedFile, bad error) error {
	err := a.writeVersioned("procedures_check", struct {
		Files []checkedFile `json:"files"`
	}{list})
	if err == nil && bad != nil {
		return shown(bad)
	}
	return err
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
