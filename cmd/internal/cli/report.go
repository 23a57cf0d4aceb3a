package cli

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/assessment"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

// reportMode is the mode of a report on disk: like any document of the user.
const reportMode = 0o644

func (a *app) report() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "report RECORD|SHEET",
		Short: "report on a test: what was measured, what it means, what to do",
		Example: `dropwalk report yellow
dropwalk report sheet.yaml --out report.md`,
		Args: arguments(1, 1, "RECORD|SHEET"),
		RunE: func(_ *cobra.Command, args []string) error {
			units, err := a.system()
			if err != nil {
				return err
			}
			s, err := a.oneSheet(args[0])
			if err != nil {
				return err
			}
			page := terminal.Clean(markdown(s, advice.Assess(s, advice.Options{}), units))
			switch {
			case sameFile(out, args[0]):
				return &usageError{fmt.Sprintf("--out %s would replace what the report is made of", out), "another file name"}
			case out != "":
				return a.saveReport(out, page)
			case a.OutTTY:
				return a.read(page)
			}
			_, err = io.WriteString(a.Out, page)
			return err
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "`file` to write, in Markdown; an old one is replaced at one stroke")
	return cmd
}

// markdown is the report on one sheet.
func markdown(s *sheet.Sheet, judged *assessment.Assessment, units quantity.System) string {
	return report.Markdown(judged, s, report.Options{Units: units})
}

// sameFile tells whether two paths lead to one file that exists.
func sameFile(a, b string) bool {
	x, errA := os.Stat(a)
	y, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(x, y)
}

func (a *app) saveReport(path, page string) error {
	env, err := a.world()
	if err != nil {
		return err
	}
	if err := record.ReplaceFile(path, []byte(page), reportMode, env); err != nil {
		return plainPath(err)
	}
	fmt.Fprintf(a.Err, "written to %s\n", path)
	return nil
}

// oneSheet is the sheet that word calls: that of a record, or the only one in a
// file or on standard input.
func (a *app) oneSheet(word string) (*sheet.Sheet, error) {
	src, err := a.findSource(word)
	if err != nil {
		return nil, err
	}
	if src.isRecord {
		return a.sheetOf(src.path)
	}
	in := a.In
	if src.path != "" {
		file, err := os.Open(src.path)
		if err != nil {
			return nil, plainPath(err)
		}
		defer file.Close()
		in = file
	}
	return a.soleSheet(src.name, in)
}

func (a *app) soleSheet(name string, in io.Reader) (*sheet.Sheet, error) {
	var found *sheet.Sheet
	var faults strictyaml.Faults
	count := 0
	sheet.ReadAll(name, in, func(s *sheet.Sheet, f strictyaml.Faults) bool {
		count++
		if count == 1 {
			found, faults = s, f
		}
		return count == 1
	})
	if count > 1 {
		return nil, input(fmt.Errorf("%s holds more than one sheet", name), "a report is about one; dropwalk assess takes them all")
	}
	printFaults(a.Err, faults)
	if found == nil {
		return nil, shown(errInput)
	}
	return found, nil
}
