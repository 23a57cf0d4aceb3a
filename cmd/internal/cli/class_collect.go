package cli

import (
	"crypto/rand"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice/report"
	"dropwalk/cmd/internal/classroom"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// classEntry is an entry of a sheet that a class begins with.
type classEntry = subject.Entry

func readRandom(b []byte) (int, error) { return rand.Read(b) }

// collecting is what the command line says of collecting.
type collecting struct {
	from    []string // sticks
	codes   []string // as they stand on paper
	records string   // folder for the records; "" for none
	asJSON  bool
}

func (a *app) classCollect() *cobra.Command {
	var o collecting
	cmd := &cobra.Command{
		Use:   "collect DIR",
		Short: "look at all that was handed in: missing, damaged, twice, late",
		Long: "Every file is proved by its checksum. One that is damaged hides no other: the lines of its record that are proved count. With --from what lies on a stick is " +
			"copied into the folder first. With --code the codes on paper are held to what came in. It may be run as often as you like: nothing is taken twice.",
		Example: `dropwalk class collect autumn
dropwalk class collect autumn --from /media/stick
dropwalk class collect autumn --code K7M4QB --code 8BD2TK
dropwalk class collect autumn --records autumn-records`,
		Args: arguments(1, 1, "DIR"),
		RunE: func(_ *cobra.Command, args []string) error { return a.collectClass(args[0], o) },
	}
	cmd.Flags().StringSliceVar(&o.from, "from", nil, "`folder` or stick from which files are copied; may be given again")
	cmd.Flags().StringSliceVar(&o.codes, "code", nil, "`code` from paper; may be given again")
	cmd.Flags().StringVar(&o.records, "records", "", "`folder` to which the records that count are written, for report and compare with --dir")
	cmd.Flags().BoolVar(&o.asJSON, "json", false, "print one JSON object")
	return cmd
}

// paperCode is what is said of a code from paper.
type paperCode struct {
	Code string `json:"code"`
	Text string `json:"text"`
	Came bool   `json:"came"`
}

func (a *app) collectClass(dir string, o collecting) error {
	c, err := classroom.Open(dir)
	if err != nil {
		return classFault(err)
	}
	env, err := a.world()
	if err != nil {
		return err
	}
	copied := []string{}
	for _, from := range o.from {
		list, left, err := classroom.FromStick(from, dir, env)
		for _, what := range left {
			fmt.Fprintf(a.Err, "left out: %s\n", terminal.CleanLine(what))
		}
		if err != nil {
			return classFault(err)
		}
		copied = append(copied, list...)
	}
	in, err := a.cameIn(dir, c)
	if err != nil {
		return err
	}
	in.tellCars()
	got := in.Collected
	codes := held(got, o.codes)
	written := 0
	if o.records != "" {
		if written, err = writeRecords(got, o.records, env); err != nil {
			return classFault(err)
		}
	}
	if o.asJSON {
		return a.writeVersioned("class_collect", struct {
			Class   string           `json:"class"`
			Items   []classroom.Item `json:"items"`
			Missing []string         `json:"missing"`
			Codes   []paperCode      `json:"codes"`
			Copied  []string         `json:"copied"`
			Written int              `json:"written"`
		}{c.ID, orEmpty(got.Items), orEmpty(got.Missing), codes, copied, written})
	}
	return a.show(collectPage(got, codes, copied, o.records, written))
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// collected looks at what came in, with a word on how far it is.
func (a *app) collected(dir string, c *classroom.Class, visit classroom.Visitor) (*classroom.Collected, error) {
	defer gatherSeldom()()
	progress := a.progress()
	defer progress.Clear()
	progress.Tell("looking at what was handed in")
	got, err := classroom.Collect(dir, c, visit)
	if err != nil {
		return nil, classFault(err)
	}
	return got, nil
}

// tellCars says of records of another car than that of most groups that a summary of
// the class leaves them out until it is asked for that car.
func (in *cameIn) tellCars() {
	usual, err := chooseCar(in.cars, "")
	if err != nil {
		return
	}
	for k := range in.Items {
		i := &in.Items[k]
		if of := in.visits[i.At].car; i.Counts && of != usual {
			i.Say(classroom.OtherCar, fmt.Sprintf("a test of the car %s: class summary counts it with --about alone", of.Car()))
		}
	}
}

// held says of each code from paper whether what it belongs to came in.
func held(got *classroom.Collected, texts []string) []paperCode {
	out := []paperCode{}
	for _, text := range texts {
		code, err := classroom.ReadCode(text)
		if err != nil {
			out = append(out, paperCode{text, err.Error() + ": look at the paper once more", false})
			continue
		}
		p, counts := paperCode{code, "nothing with this code came in", false}, false
		for _, i := range got.Items {
			if i.Code != code {
				continue
			}
			// Of several with one code the one speaks that counts.
			if !p.Came || i.Counts {
				p.Text = fmt.Sprintf("came in from group %s: %s", i.Group, i.Record)
			}
			p.Came, counts = true, counts || i.Counts
		}
		if p.Came && !counts {
			p.Text += ", and doesn't count: see there"
		}
		out = append(out, p)
	}
	return out
}

// writeRecords writes the records that count, each called by its group too. Those that
// are there already with the same bytes are left alone.
func writeRecords(got *classroom.Collected, dir string, env record.Env) (int, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return 0, err
	}
	n := 0
	taken := map[string]bool{}
	for k := range got.Items {
		i := &got.Items[k]
		if !i.Counts {
			continue
		}
		data, err := i.Sound()
		if err != nil {
			return n, err
		}
		name := record.NameFrom(i.Group + "-" + i.Record)
		for base, m := name, 2; taken[name]; m++ {
			name = fmt.Sprintf("%s-%d", base, m)
		}
		taken[name] = true
		path := record.Path(dir, name)
		if old, err := os.ReadFile(path); err == nil && string(old) == string(data) {
			continue
		}
		if err := record.ReplaceFile(path, data, 0o600, env); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}

// collectPage tells what came in, what is wrong with it and what is missing.
func collectPage(got *classroom.Collected, codes []paperCode, copied []string, records string, written int) string {
	var b strings.Builder
	counts, sound := 0, 0
	for _, i := range got.Items {
		if i.Counts {
			counts++
		}
		if i.Counts && len(i.Remarks) == 0 {
			sound++
		}
	}
	fmt.Fprintf(&b, "# What came in, class %s\n\n", got.Class.ID)
	fmt.Fprintf(&b, "%s came in, %s.\n\n", counted(len(got.Items), "file"), theyCount(counts))
	if len(copied) > 0 {
		fmt.Fprintf(&b, "%s copied into the folder.\n\n", counted(len(copied), "file"))
	}
	for _, g := range got.Class.Groups {
		var list []string
		for _, i := range got.Items {
			if i.Group == g.Name && i.Counts {
				list = append(list, report.Escape(i.Record)+" `"+i.Code+"`")
			}
		}
		if len(list) == 0 {
			fmt.Fprintf(&b, "- %s: **missing**, nothing that counts\n", report.Escape(g.Name))
			continue
		}
		fmt.Fprintf(&b, "- %s: %s\n", report.Escape(g.Name), strings.Join(list, ", "))
	}
	if sound < len(got.Items) {
		b.WriteString("\n## To look at\n\n")
		for _, i := range got.Items {
			if len(i.Remarks) > 0 {
				fmt.Fprintf(&b, "- %s: %s.\n", report.Escape(i.File), remarksOf(i))
			}
		}
	}
	if len(codes) > 0 {
		b.WriteString("\n## Codes from paper\n\n")
		for _, c := range codes {
			fmt.Fprintf(&b, "- %s: %s.\n", report.Escape(c.Code), report.Escape(c.Text))
		}
	}
	if records != "" {
		fmt.Fprintf(&b, "\n%s written to %s.\n", counted(written, "file"), report.Escape(records))
	}
	return b.String()
}

func remarksOf(i classroom.Item) string {
	var list []string
	for _, r := range i.Remarks {
		list = append(list, report.Escape(r.Text))
	}
	text := strings.Join(list, "; ")
	if !i.Counts {
		text += " (does not count)"
	}
	return text
}

func theyCount(n int) string {
	if n == 1 {
		return "1 of them counts"
	}
	return fmt.Sprintf("%d of them count", n)
}
