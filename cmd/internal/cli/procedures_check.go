package cli

import (
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
)

// errWarned ends a strict check that found warnings only.
var errWarned = fmt.Errorf("%w: warnings, and --strict", errInput)

func (a *app) proceduresCheck() *cobra.Command {
	c := checking{app: a}
	cmd := &cobra.Command{
		Use:   "check [FILE...]",
		Short: "find every fault of a procedure; those of the program if none is named",
		Long: "A file that breaks a rule doesn't pass, except where breaking it is a warning only. --rules lists the rules. Every fault names its " +
			"place, what was expected, and the rule.",
		Example: `dropwalk procedures check my-procedure.yaml
dropwalk procedures check --strict my-procedure.yaml   warnings don't pass either
dropwalk procedures check --format github my-procedure.yaml
dropwalk procedures check --rules`,
		RunE: func(_ *cobra.Command, args []string) error {
			if c.asJSON && c.form != "text" {
				return &usageError{"--json and --format are two forms of the same", "one of the two"}
			}
			if c.rules {
				return a.writingRules(c.asJSON, args)
			}
			if len(args) == 0 {
				args = shipped()
			}
			return c.check(args)
		},
	}
	cmd.Flags().StringVar(&c.form, "format", "text", "`form` of the faults: text, json or github")
	cmd.Flags().BoolVar(&c.asJSON, "json", false, "print a JSON object with each file and its faults")
	cmd.Flags().BoolVar(&c.strict, "strict", false, "warnings count as faults")
	cmd.Flags().BoolVar(&c.rules, "rules", false, "list the rules instead of checking")
	return cmd
}

// checking is one call of check.
type checking struct {
	*app
	form          string
	asJSON        bool
	strict, rules bool
}

func (c *checking) check(words []string) error {
	var all strictyaml.Faults
	checked := []checkedFile{}
	for _, r := range c.results(words) {
		if r.err != nil {
			return r.err
		}
		all = append(all, r.faults...)
		switch {
		case c.asJSON:
			checked = append(checked, newCheckedFile(r.read.file, r.procedure, r.faults))
		case c.form == "text":
			c.tellChecked(r.read, r.procedure, r.faults)
		}
	}
	if err := c.print(checked, all); err != nil {
		return err
	}
	if err := all.Err(); err != nil {
		return shown(err)
	}
	if c.strict && len(all) > 0 {
		return shown(errWarned)
	}
	return nil
}

// checkResult is what became of one file.
type checkResult struct {
	read      *procedureFile
	procedure *engine.Procedure
	faults    strictyaml.Faults
	err       error // the file can't be read
}

// results checks the files, several at a time, and returns what became of each
// in their order.
func (c *checking) results(words []string) []checkResult {
	list := make([]checkResult, len(words))
	var wait sync.WaitGroup
	turns := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, word := range words {
		list[i].read, list[i].err = c.procedureText(word)
		if list[i].err != nil {
			break
		}
		turns <- struct{}{}
		wait.Go(func() {
			list[i].check(word)
			<-turns
		})
	}
	wait.Wait()
	return list
}

func (r *checkResult) check(word string) {
	p, faults := r.read.check(quantity.AsTyped)
	if p != nil && !isPath(word) && p.Name != word {
		faults = append(faults, strictyaml.Fault{Code: "name", File: r.read.file, Line: 1, Col: 1, What: fmt.Sprintf("the procedure calls itself %q", p.Name),
			Expected: "name: " + word, Hint: "or rename the file"})
		p = nil
	}
	r.procedure, r.faults = p, faults
}

func (c *checking) print(checked []checkedFile, all strictyaml.Faults) error {
	switch {
	case c.asJSON:
		return c.writeVersioned("procedures_check", struct {
			Files []checkedFile `json:"files"`
		}{checked})
	case c.form == "text":
		return nil
	}
	text, err := all.Format(c.form)
	if err != nil {
		return &usageError{"--format: " + err.Error(), ""}
	}
	if text != "" {
		fmt.Fprintln(c.Out, text)
	}
	return nil
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

// mostTold bounds the faults of one file that a person is told at once.
const mostTold = 100

// tellChecked says what was found in one file: each fault with the line it
// stands on, and whether the file is sound.
func (a *app) tellChecked(w *procedureFile, p *engine.Procedure, faults strictyaml.Faults) {
	for i, f := range faults.Sorted() {
		if i == mostTold {
			fmt.Fprintf(a.Err, "%s: and %d more; put these right first\n", strictyaml.Clean(w.file), len(faults)-i)
			break
		}
		fmt.Fprintln(a.Err, f)
		if quote := f.Quote(w.text.Original(f.File), 1); quote != "" {
			fmt.Fprintln(a.Err, quote)
		}
	}
	if p == nil {
		return
	}
	fmt.Fprintf(a.Out, "%s: sound, %d parts", strictyaml.Clean(filepath.ToSlash(w.file)), len(p.Parts))
	if n := len(faults.Warnings()); n > 0 {
		fmt.Fprintf(a.Out, ", %s", counted(n, "warning"))
	}
	fmt.Fprintln(a.Out)
}

// writingRules prints the rules that a procedure is held to.
func (a *app) writingRules(asJSON bool, args []string) error {
	if len(args) > 0 {
		return &usageError{"--rules lists the rules and checks nothing", "one of the two"}
	}
	if !asJSON {
		return a.read("# The rules of a procedure\n\n" + ruleList())
	}
	type row struct {
		Code     string `json:"code"`
		Severity string `json:"severity"`
		Says     string `json:"says"`
	}
	var rows []row
	for _, r := range engine.WritingRules() {
		rows = append(rows, row{r.Code, severity(r), r.Says})
	}
	return a.writeVersioned("procedures_rules", struct {
		Rules []row `json:"rules"`
	}{rows})
}

func severity(r engine.WritingRule) string {
	if r.Warning {
		return "warning"
	}
	return "error"
}

// ruleList is a Markdown list of the rules, from the table that holds them.
func ruleList() string {
	var b strings.Builder
	for _, part := range []struct {
		title   string
		warning bool
	}{{"A file that breaks one of these doesn't pass:", false}, {"These are warnings:", true}} {
		b.WriteString(part.title + "\n\n")
		for _, r := range engine.WritingRules() {
			if r.Warning == part.warning {
				fmt.Fprintf(&b, "- `%s`: %s\n", r.Code, r.Says)
			}
		}
		b.WriteString("\n")
	}
	return b.String()
}
