package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/report"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/classroom"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/cmd/internal/worksheet"
	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/spell"
)

func (a *app) class() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "class",
		Short: "run a class: groups that test one car, what they hand in, how well they agree",
		Long: "The instructor makes a folder for the class and prints a worksheet for each group. Each group tests the car by itself and hands its record in, to " +
			"the folder or to a stick; no network is needed. The summary then tells how well runs and groups agree, and which tap to look at. See dropwalk help class-room.",
		Example: `dropwalk class new autumn --roster roster.csv
dropwalk class hand-in yellow --group A --to autumn
dropwalk class collect autumn
dropwalk class summary autumn --out summary.html`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return a.showHelp(cmd)
		},
	}
	cmd.AddCommand(a.classNew(), a.classHandIn(), a.classCollect(), a.classSummary())
	return cmd
}

// newClass is what the command line says of a class to be made.
type newClass struct {
	roster, sheet, title, until, rotate string
	procedures                          []string
	asJSON                              bool
}

func (a *app) classNew() *cobra.Command {
	var o newClass
	cmd := &cobra.Command{
		Use:   "new DIR --roster FILE",
		Short: "make the folder of a class, with a worksheet for each group",
		Long: "The roster is a table with the columns name and group, and drives (yes or no) where not everybody may drive; commas, semicolons, tabs or bars part it. " +
			"Names stay in DIR/roster.csv, for the instructor alone: everywhere else people are called by ids such as A2. The procedures are copied into the folder as " +
			"they are now, and what is handed in is held to them. With --sheet every group begins with the same car, path and gauges, and calls the stations alike.",
		Example: `dropwalk class new autumn --roster roster.csv
dropwalk class new autumn --roster roster.csv --sheet car.yaml --until "2026-11-25 17:00" --rotate round`,
		Args: arguments(1, 1, "DIR --roster FILE"),
		RunE: func(_ *cobra.Command, args []string) error { return a.makeClass(args[0], o) },
	}
	cmd.Flags().StringVar(&o.roster, "roster", "", "`file` with the people and their groups")
	cmd.Flags().StringSliceVar(&o.procedures, "procedure", []string{usualProcedure}, "`procedure` by which the class works; may be given again")
	cmd.Flags().StringVar(&o.sheet, "sheet", "", "`file` of a test sheet: the car, its path and the gauges")
	cmd.Flags().StringVar(&o.title, "title", "", "`text`: what the class is called")
	cmd.Flags().StringVar(&o.until, "until", "", "`time` after which a hand-in is late, such as 17:00 or \"2026-11-25 17:00\"")
	cmd.Flags().StringVar(&o.rotate, "rotate", classroom.ByRun, "when driver, passenger and recorder change seats: by `run` or by round")
	cmd.Flags().BoolVar(&o.asJSON, "json", false, "print one JSON object")
	return cmd
}

func (a *app) makeClass(dir string, o newClass) error {
	c := &classroom.Class{Made: a.now(), Rotate: o.rotate, Title: strings.TrimSpace(o.title)}
	if !slices.Contains([]string{classroom.ByRun, classroom.ByRound}, o.rotate) {
		return &usageError{fmt.Sprintf("--rotate: roles can't change by %q", o.rotate), "run or round"}
	}
	if o.roster == "" {
		return &usageError{"a class needs its people: --roster names no file", "a table such as: name,group"}
	}
	if o.until != "" {
		var err error
		if c.Until, err = classroom.ReadUntil(o.until, a.now()); err != nil {
			return &usageError{"--until: " + err.Error(), `such as 17:00 or "2026-11-25 17:00"`}
		}
	}
	if strings.ContainsFunc(c.Title, func(r rune) bool { return r < ' ' }) || len(c.Title) > 200 {
		return &usageError{"--title is too long, or no plain text", "at most 200 characters on one line"}
	}
	m := classroom.Material{Procedures: map[string][]byte{}, Worksheets: map[string][]byte{}}
	procedures, err := a.classProcedures(c, &m, o.procedures)
	if err != nil {
		return err
	}
	if err := a.classPeople(c, &m, o.roster); err != nil {
		return err
	}
	given, err := a.classSheet(c, &m, o.sheet)
	if err != nil {
		return err
	}
	random := make([]byte, 16)
	if _, err := readRandom(random); err != nil {
		return err
	}
	c.ID = classroom.Code(string(random), c.Made.String())
	env, err := a.world()
	if err != nil {
		return err
	}
	for _, g := range c.Groups {
		for _, p := range procedures {
			if err := a.classWorksheet(dir, &m, c, g, p, given); err != nil {
				return err
			}
		}
	}
	if err := classroom.New(dir, c, m, env); err != nil {
		return classFault(err)
	}
	if o.asJSON {
		return a.writeVersioned("class_new", struct {
			Class  string   `json:"class"`
			Folder string   `json:"folder"`
			Groups []string `json:"groups"`
		}{c.ID, dir, c.GroupNames()})
	}
	return a.show(a.newClassPage(dir, c))
}

func (a *app) classPeople(c *classroom.Class, m *classroom.Material, file string) error {
	src, err := readFile(file)
	if err != nil {
		return err
	}
	people, faults := classroom.ReadRoster(file, src)
	if fault := faults.Err(); fault != nil {
		return fault
	}
	m.People, c.Groups = people, classroom.Grouped(people)
	like := classroom.CalledLike(people)
	for _, g := range c.Groups {
		if !classroom.Drivers(g.People) {
			fmt.Fprintf(a.Err, "Nobody in group %s may drive: somebody from elsewhere has to.\n", g.Name)
		}
		if name := like[g.Name]; name != "" {
			fmt.Fprint(a.Err, terminal.Wrap(fmt.Sprintf("The group %s is called like %q in the roster. Names of groups stand in file names and on the page that everybody sees. "+
				"To keep people out of both, call it A or north, and make the class anew in another folder.", g.Name, name), a.Width, "", "  "))
		}
	}
	return nil
}

// classProcedures pins the procedures of a class.
func (a *app) classProcedures(c *classroom.Class, m *classroom.Material, words []string) ([]*engine.Procedure, error) {
	units, err := a.system()
	if err != nil {
		return nil, err
	}
	var list []*engine.Procedure
	for _, word := range words {
		p, err := a.findProcedure(word, units)
		if u, ok := errors.AsType[*usageError](err); ok {
			return nil, &usageError{"--procedure: " + u.what, u.hint}
		}
		if err != nil {
			return nil, err
		}
		if m.Procedures[p.Name] != nil {
			return nil, &usageError{fmt.Sprintf("--procedure: %s is named twice", p.Name), "each once"}
		}
		m.Procedures[p.Name] = p.Source
		c.Procedures = append(c.Procedures, classroom.Pinned{Name: p.Name, SHA256: p.SHA256()})
		list = append(list, p)
	}
	if len(list) == 0 {
		return nil, &usageError{"--procedure names none", "dropwalk procedures lists them"}
	}
	return list, nil
}

// classSheet takes over the car and the gauges of a sheet.
func (a *app) classSheet(c *classroom.Class, m *classroom.Material, file string) ([]classEntry, error) {
	if file == "" {
		return nil, nil
	}
	s, err := a.oneSheet(file)
	if err != nil {
		return nil, err
	}
	s.Readings, s.Checks, s.Changes, s.Date, s.Title = nil, nil, nil, "", ""
	m.Sheet, c.Sheet = sheet.Write(s), true
	for _, g := range s.Gauges {
		text := g.Name
		if g.Range.Known() {
			text += ", " + quantity.ShowIn(g.Range.SI, quantity.PressureDiff, g.Range.Unit)
		}
		c.Gauges = append(c.Gauges, text)
	}
	return advice.Carried(s), nil
}

// turnsOnPaper is for how many runs or rounds a worksheet says who does what.
const turnsOnPaper = 6

// classWorksheet makes the paper of one group.
func (a *app) classWorksheet(dir string, m *classroom.Material, c *classroom.Class, g classroom.Group, p *engine.Procedure, given []classEntry) error {
	units, err := a.system()
	if err != nil {
		return err
	}
	text, err := worksheet.HTML(p, worksheet.Options{Matter: &advice.Matter{Units: units}, Given: given, Units: units, Head: classHead(c, g),
		Rules: classRules, Signs: signsInClass, Without: map[string][]string{placePath: {sheet.Road}},
		TypedIn: program + " " + classStart(dir, c, p.Name) + " --from-paper"})
	if err != nil {
		return err
	}
	name := g.Name + ".html"
	if len(c.Procedures) > 1 {
		name = g.Name + "-" + p.Name + ".html"
	}
	m.Worksheets[name] = text
	return nil
}

// placePath is where the document of a test has the place.
const placePath = "place"

// signsInClass is who signs each hold on the paper of a group.
const signsInClass = "instructor"

// classRules are those that a class has beyond what a single tester keeps to. Common
// practice, no source.
var classRules = []string{
	"**WARNING: several groups at work at once.** The recorder stays outside the car, and so does everybody who neither drives nor reads: where no car can come, and out of line with the tyres and straps of a rolling road. The recorder writes once the car stands.",
	"**Place: a closed track or a rolling road, never a public road.** One car moves at a time, and the instructor says which.",
	"**The instructor signs each HOLD, and no run begins without.** Before the first one the instructor has looked at the driver's licence, insurance and age, as local law has them. Looked at: initials `________` time `____`",
}

// classHead is what stands at the top of a group's paper.
func classHead(c *classroom.Class, g classroom.Group) []worksheet.Label {
	var ids []string
	for _, p := range g.People {
		ids = append(ids, p.ID)
	}
	head := []worksheet.Label{{Name: "Class", Text: strings.TrimSpace(c.Title + " " + c.ID)}, {Name: "Group", Text: g.Name + ": " + strings.Join(ids, ", ")}}
	if len(c.Gauges) > 0 {
		head = append(head, worksheet.Label{Name: "Gauges", Text: strings.Join(c.Gauges, "; ")})
	}
	if !c.Until.IsZero() {
		head = append(head, worksheet.Label{Name: "Hand in by", Text: c.Until.Format("2006-01-02 15:04")})
	}
	for i, t := range classroom.Turns(g.People, turnsOnPaper) {
		head = append(head, worksheet.Label{Name: fmt.Sprintf("%s %d", report.UpFirst(c.Rotate), i+1), Text: seats(t)})
	}
	return head
}

// seats says who does what.
func seats(t classroom.Turn) string {
	driver, passenger, recorder := t[0], t[1], t[2]
	if driver == "" {
		driver = "somebody who may"
	}
	switch passenger {
	case "":
		return driver + " drives; one more is needed to read the gauge"
	case recorder:
		return driver + " drives, " + passenger + " reads, and writes once the car stands"
	}
	return driver + " drives, " + passenger + " reads, " + recorder + " writes, outside the car"
}

func peopleCount(n int) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}

// classStart begins a test of a class: with the procedure and the car of its folder,
// not those that the program has at the time.
func classStart(dir string, c *classroom.Class, procedure string) string {
	begin := "start " + filepath.Join(dir, filepath.FromSlash(classroom.Pinned{Name: procedure}.File()))
	if c.Sheet {
		begin += " --sheet " + filepath.Join(dir, classroom.SheetFile)
	}
	return begin
}

// newClassPage says what was made and what to do now.
func (a *app) newClassPage(dir string, c *classroom.Class) string {
	var b strings.Builder
	people := 0
	for _, g := range c.Groups {
		people += len(g.People)
	}
	fmt.Fprintf(&b, "# Class %s\n\n%s in %s: %s.\n\n", c.ID, peopleCount(people), counted(len(c.Groups), "group"), strings.Join(c.GroupNames(), ", "))
	fmt.Fprintf(&b, "- Print the worksheets in `%s`: one for each group, with who drives, reads and writes.\n", filepath.Join(dir, classroom.WorksheetDir))
	fmt.Fprintf(&b, "- `%s` says who is who. Keep it to yourself; all else in the folder may be seen by everybody.\n", filepath.Join(dir, classroom.RosterFile))
	fmt.Fprintf(&b, "- A group begins with `%s`.\n", a.command(classStart(dir, c, c.Procedures[0].Name)))
	fmt.Fprintf(&b, "- It hands in with `%s class hand-in RECORD --group %s --to %s`. On another computer, to a stick: `--class %s --to STICK`.\n", program, c.Groups[0].Name, dir, c.ID)
	fmt.Fprintf(&b, "- Then `%s class collect %s` and `%s class summary %s`.\n", program, dir, program, dir)
	return b.String()
}

// handIn is what the command line says of a record that is handed in.
type handIn struct {
	group, to, class string
	asJSON           bool
}

func (a *app) classHandIn() *cobra.Command {
	var o handIn
	cmd := &cobra.Command{
		Use:   "hand-in RECORD... --group GROUP --to DIR",
		Short: "hand a record in: one file with a checksum, and a code to write on paper",
		Long: "DIR is the folder of the class, shared or copied; or any folder or stick, if --class says which class it is for. The file holds the record as it is now. " +
			"Hand in after each run if you like: the latest state counts, and nothing counts twice. Write the code on paper: with it the instructor sees whether your " +
			"file arrived as it was. A code has neither 0 nor O, neither 1, I nor L, and a sign misread is noticed.",
		Example: `dropwalk class hand-in yellow --group A --to autumn
dropwalk class hand-in yellow --group A --class K7M4QB --to /media/stick`,
		Args: arguments(1, -1, "RECORD... --group GROUP --to DIR"),
		RunE: func(_ *cobra.Command, args []string) error {
			for _, word := range args {
				if err := a.handInOne(word, o); err != nil {
					return err
				}
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&o.group, "group", "", "`name` of your group, as on the worksheet")
	cmd.Flags().StringVar(&o.to, "to", ".", "`folder` of the class, or a stick")
	cmd.Flags().StringVar(&o.class, "class", "", "`code` of the class, where its folder isn't at hand")
	cmd.Flags().BoolVar(&o.asJSON, "json", false, "print one JSON object a record")
	return cmd
}

func (a *app) handInOne(word string, o handIn) error {
	c, class, dir, err := handInPlace(&o)
	if err != nil {
		return err
	}
	path, err := a.findRecord(word)
	if err != nil {
		return err
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return plainPath(err)
	}
	remarks := []classroom.Remark{}
	if content, err := record.Read(record.Name(path), data); err == nil {
		if worst := content.Worst(); worst != nil {
			fmt.Fprintf(a.Err, "%s: %v. The lines that are proved are handed in.\n", record.Name(path), worst.What)
		}
		if c != nil && content.Header.Format > 0 {
			remarks = a.warnOfHandIn(c, record.Name(path), content)
		}
	}
	text, head, err := classroom.Pack(class, o.group, record.Name(path), data, program+" "+release(), a.now())
	if err != nil {
		return err
	}
	env, err := a.world()
	if err != nil {
		return err
	}
	file, before, err := classroom.Put(dir, text, head, env)
	if err != nil {
		return classFault(err)
	}
	verb := "Handed in"
	if before {
		verb = "Handed in before, and nothing has changed since"
	}
	if o.asJSON {
		return a.writeVersioned("class_hand_in", struct {
			Class  string `json:"class"`
			Group  string `json:"group"`
			Record string `json:"record"`
			Code   string `json:"code"`
			File   string `json:"file"`
			Before bool   `json:"before"` // it was there already

			Remarks []classroom.Remark `json:"remarks"` // what collect will say of the record
		}{head.Class, head.Group, head.Record.Name, head.Code, file, before, remarks})
	}
	fmt.Fprint(a.Err, terminal.Wrap(fmt.Sprintf("%s: %s", verb, file), a.Width, "", "  "))
	fmt.Fprintf(a.Err, "Write on paper: group %s, code\n", head.Group)
	_, err = fmt.Fprintln(a.Out, head.Code)
	return err
}

// warnOfHandIn says at once what collect will say of a record.
func (a *app) warnOfHandIn(c *classroom.Class, name string, content *record.Content) []classroom.Remark {
	list, counts := c.Remarks(content)
	for _, r := range list {
		text := name + ": " + r.Text + ". It counts all the same."
		if !counts {
			text = name + ": " + r.Text + ". It is handed in and does not count."
		}
		fmt.Fprint(a.Err, terminal.Wrap(text, a.Width, "", "  "))
	}
	return orEmpty(list)
}

// handInPlace finds the class and the folder, and holds the group to the class where
// its folder is at hand; of a stick there is no class, but its code.
func handInPlace(o *handIn) (c *classroom.Class, class, dir string, err error) {
	c, err = classroom.Open(o.to)
	switch {
	case err == nil:
		dir = filepath.Join(o.to, classroom.HandInDir)
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return nil, "", "", classFault(err)
		}
		if o.class != "" && !strings.EqualFold(o.class, c.ID) {
			return nil, "", "", &usageError{fmt.Sprintf("the folder %s is that of class %s, not of %s", o.to, c.ID, o.class), "leave out --class, or name another folder"}
		}
		return c, c.ID, dir, groupIn(c, o)
	case o.class == "" && errors.Is(err, classroom.ErrNoClass):
		return nil, "", "", &usageError{fmt.Sprintf("%q is not the folder of a class", o.to), "--to names it; for a stick, --class CODE says which class it is for: the code stands on the worksheet"}
	case !errors.Is(err, classroom.ErrNoClass):
		return nil, "", "", classFault(err)
	}
	id, err := classroom.ReadCode(o.class)
	if err != nil {
		return nil, "", "", &usageError{"--class: " + err.Error(), "the code as it stands on the worksheet"}
	}
	if err := classroom.CheckGroup(o.group); err != nil {
		return nil, "", "", &usageError{"--group: " + err.Error(), "as it stands on the worksheet"}
	}
	return nil, id, o.to, nil
}

func groupIn(c *classroom.Class, o *handIn) error {
	known := c.GroupNames()
	if o.group == "" && len(known) == 1 {
		o.group = known[0]
	}
	for _, name := range known {
		if strings.EqualFold(name, o.group) {
			o.group = name
			return nil
		}
	}
	hint := "one of " + strings.Join(known, ", ")
	if near, ok := spell.Nearest(o.group, known); ok && len(o.group) > 1 {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	if o.group == "" {
		return &usageError{"--group names no group", hint}
	}
	return &usageError{fmt.Sprintf("the class has no group %q", o.group), hint}
}

// classFault says in plain words what is wrong with the folder of a class.
func classFault(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, classroom.ErrNoClass):
		return input(err, "dropwalk class new makes one")
	case errors.Is(err, syscall.EROFS):
		return &hinted{err, "it can only be read: another folder or another stick, or undo its write protection"}
	case errors.Is(err, fs.ErrExist):
		return input(err, "another folder; a class is never overwritten")
	}
	return plainPath(err)
}
