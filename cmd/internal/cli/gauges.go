package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/record"
	"dropwalk/engine/spell"
)

const (
	cardExt = ".yaml"
	// mostCards bounds how many files of the folder are looked at.
	mostCards = 500
	// gaugeOption names a gauge at a command.
	gaugeOption = "gauge"
)

func (a *app) gauges() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "gauges",
		Short: "list the cards of your gauges, or look after them",
		Long: "A card keeps what every test has to know of a gauge: its range, the scale, how accurate it is, when it was last checked, and its correction table. " +
			"At the question for the gauge the name of a card is the answer. What stood on the card then goes into the record, so a later change of the card changes no old test.",
		Example: `dropwalk gauges
dropwalk gauges add g25 --range "25 inH2O" --division "0.5 inH2O" --accuracy "2 %"
dropwalk gauges show g25
dropwalk gauges remove g25`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return a.listGauges(asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with the list")
	cmd.AddCommand(a.gaugesShow(), a.gaugesAdd(), a.gaugesTake(), a.gaugesRemove(), a.gaugesWhere())
	return cmd
}

// cardFolder is where the cards of the user's gauges lie.
func (a *app) cardFolder() (string, error) { return a.beside("gauges") }

func (a *app) gaugesWhere() *cobra.Command {
	return a.where("gauges", "name the folder of the cards", "print a JSON object with the folder", a.cardFolder)
}

// cardFile is a card in its folder. Its file is called as its gauge is.
type cardFile struct {
	name, path string
	card       *sheet.Card // nil where it can't be read
	fault      error
}

// cardFiles lists the cards by their names, and the files that are none. A folder
// that isn't there has none.
func (a *app) cardFiles() (list []cardFile, strange []string) {
	dir, err := a.cardFolder()
	if err != nil {
		return nil, nil
	}
	names, strange := namedFiles(dir, cardExt, mostCards, func(name string) bool { return cardName(name) == nil })
	for _, name := range names {
		list = append(list, readCard(name, filepath.Join(dir, name+cardExt)))
	}
	return list, strange
}

func readCard(name, path string) cardFile {
	f := cardFile{name: name, path: path}
	src, err := readFile(path)
	if err != nil {
		f.fault = err
		return f
	}
	card, faults := sheet.ReadCard(filepath.Base(path), src)
	switch {
	case card == nil:
		f.fault = faults.Sorted()
	case card.Name != name:
		f.fault = input(fmt.Errorf("%s%s calls its gauge %q", name, cardExt, card.Name), fmt.Sprintf("write name: %s in it, or rename the file", name))
	default:
		f.card = card
	}
	return f
}

// cards are those that can be read; what is wrong with the others is told, and no
// test waits for it.
func (a *app) cards() []sheet.Card {
	var cards []sheet.Card
	list, _ := a.cardFiles()
	for _, f := range list {
		if f.card == nil {
			fmt.Fprintf(a.Err, "the card of %s is left out: %s\n", f.name, terminal.CleanLine(firstLine(f.fault)))
			continue
		}
		cards = append(cards, *f.card)
	}
	return cards
}

func gaugeNames(a *app, _ *cobra.Command, _ []string, _ string) []string {
	var names []string
	list, _ := a.cardFiles()
	for _, f := range list {
		names = append(names, f.name)
	}
	return names
}

// cardName refuses a name that can't be an answer at a prompt: one that is a word
// there, or could be a number.
func cardName(name string) error {
	words := append(terminal.Words(), (&advice.Matter{}).Names().Pictures...)
	switch {
	case !advice.IsCardName(name):
		return &usageError{fmt.Sprintf("%q is no name for a card", name), "small letters, digits and hyphens, beginning with a letter, such as g25"}
	case slices.Contains(append(words, "unknown", advice.UnnamedGauge), name):
		return &usageError{fmt.Sprintf("%q means something else at a prompt", name), "another name, such as g25"}
	}
	return nil
}

// card finds the card that a word calls.
func (a *app) card(word string) (cardFile, error) {
	list, _ := a.cardFiles()
	i := slices.IndexFunc(list, func(f cardFile) bool { return f.name == word })
	if i >= 0 {
		return list[i], nil
	}
	names := gaugeNames(a, nil, nil, "")
	hint := a.command("gauges add", "NAME", `--range "25 inH2O"`) + " makes one"
	if near, ok := spell.Nearest(word, names); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	} else if len(names) > 0 {
		hint = "one of: " + strings.Join(names, ", ")
	}
	return cardFile{}, &usageError{fmt.Sprintf("there is no card of a gauge %q", word), hint}
}

func (a *app) listGauges(asJSON bool) error {
	list, strange := a.cardFiles()
	if asJSON {
		return a.gaugesJSON(list)
	}
	dir, err := a.cardFolder()
	if err != nil {
		return err
	}
	for _, name := range strange {
		fmt.Fprintf(a.Err, "%q is no card: small letters, digits and hyphens, beginning with a letter, no word of a prompt, and a plain file\n", name)
	}
	if len(list) == 0 {
		fmt.Fprintf(a.Err, "no cards of gauges in %s\nTo make one: %s gauges add g25 --range \"25 inH2O\" --division \"0.5 inH2O\" --accuracy \"2 %%\"\n", dir, program)
		return nil
	}
	rows := [][]string{{"gauge", "range", "scale", "accuracy", "checked", "table"}}
	for _, f := range list {
		rows = append(rows, a.gaugeRow(f))
	}
	_, err = fmt.Fprint(a.Out, terminal.Table(rows, a.Width))
	return err
}

func (a *app) gaugeRow(f cardFile) []string {
	if f.card == nil {
		return []string{f.name, "can't be read: " + terminal.CleanLine(firstLine(f.fault)), "", "", "", ""}
	}
	c := f.card
	return []string{f.name, orDash(c.Range.Text()), orDash(c.Division.Text()), orDash(c.Accuracy.Text()), a.checkedText(c), rowsText(c)}
}

func orDash(text string) string {
	if text == "" {
		return "-"
	}
	return text
}

// checkedText is the day of the last check, with a remark where it is long ago.
func (a *app) checkedText(c *sheet.Card) string {
	if model.Overdue(c.Checked, a.now()) {
		return c.Checked + ", over a year ago"
	}
	return orDash(c.Checked)
}

func rowsText(c *sheet.Card) string {
	if len(c.Correction) == 0 {
		return "-"
	}
	return counted(len(c.Correction), "row")
}

func (a *app) gaugesJSON(list []cardFile) error {
	dir, err := a.cardFolder()
	if err != nil {
		return err
	}
	type row struct {
		Name    string          `json:"name"`
		File    string          `json:"file"`
		Card    json.RawMessage `json:"card"` // null where it can't be read
		Overdue bool            `json:"overdue"`
		Fault   string          `json:"fault,omitzero"`
	}
	rows := []row{}
	for _, f := range list {
		r := row{Name: f.name, File: f.path, Card: json.RawMessage("null")}
		if f.card == nil {
			r.Fault = firstLine(f.fault)
		} else {
			r.Card, r.Overdue = nodeJSON(f.card.Tree()), model.Overdue(f.card.Checked, a.now())
		}
		rows = append(rows, r)
	}
	return a.writeVersioned("gauges", struct {
		Folder string `json:"folder"`
		List   []row  `json:"list"`
	}{dir, rows})
}

func (a *app) gaugesShow() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "show NAME",
		Short: "show the card of a gauge",
		Example: `dropwalk gauges show g25
dropwalk gauges show g25 --json`,
		Args: arguments(1, 1, "NAME"),
		RunE: func(_ *cobra.Command, args []string) error {
			f, err := a.card(args[0])
			if err != nil {
				return err
			}
			if f.card == nil {
				return f.fault
			}
			if asJSON {
				_, err = a.Out.Write(append(nodeJSON(f.card.Tree()), '\n'))
				return err
			}
			_, err = fmt.Fprint(a.Out, a.gaugePage(f))
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the card as one JSON object")
	return cmd
}

// labelled is how wide the labels of a card are.
const labelled = 10

// gaugePage is a card for people.
func (a *app) gaugePage(f cardFile) string {
	c := f.card
	var b strings.Builder
	add := func(label, text string) {
		if text != "" {
			b.WriteString(terminal.Wrap(terminal.CleanLine(text), a.Width, fmt.Sprintf("%-*s", labelled, label), strings.Repeat(" ", labelled)))
		}
	}
	add("gauge", f.name)
	add("range", c.Range.Text())
	add("scale", c.Division.Text())
	if text := c.Accuracy.Text(); text != "" {
		add("accuracy", text+" of the range")
	}
	add("read", c.Position)
	add("checked", a.checkedText(c))
	add("note", c.Note)
	fmt.Fprintf(&b, "%-*s%s\n", labelled, "file", f.path) // whole, so that it can be copied
	if len(c.Correction) == 0 {
		return b.String()
	}
	table := [][]string{{"shown", "true"}}
	for _, k := range c.Correction {
		table = append(table, []string{k.Shown.Text(), k.True.Text()})
	}
	return b.String() + "\n" + terminal.Table(table, a.Width)
}

func (a *app) gaugesAdd() *cobra.Command {
	var replace bool
	answers := map[string]*string{}
	cmd := &cobra.Command{
		Use:   "add NAME|FILE",
		Short: "keep the card of a gauge, from options or from a file",
		Long: "NAME is what you will type at the question for the gauge. A FILE is a card in YAML or JSON that begins with gauge: 1; its JSON Schema is " +
			"advice/sheet/gauge-1.schema.json. Only the range is needed.",
		Example: `dropwalk gauges add g25 --range "25 inH2O" --division "0.5 inH2O" --accuracy "2 %" --checked 2026-11-01
dropwalk gauges add g5 --range "5 inH2O" --correction "1 inH2O = 1.04 inH2O, 5 inH2O = 5.2 inH2O"
dropwalk gauges add g25.yaml --replace`,
		Args: arguments(1, 1, "NAME|FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			card, err := a.newCard(args[0], answers)
			if err != nil {
				return err
			}
			return a.keepNew(card, replace)
		},
	}
	for _, o := range []struct{ key, help string }{
		{"range", "full `scale`, such as \"25 inH2O\""},
		{"division", "smallest `division` of the scale"},
		{"accuracy", "accuracy as a `share` of the range"},
		{"checked", "`day` of its last check, year-month-day"},
		{"correction", "correction `table`: \"10 inH2O = 10.2 inH2O, 20 inH2O = 20.3 inH2O\", shown and true"},
		{"position", "how it is read: `upright` or flat"},
		{"note", "`text` to keep with it"},
	} {
		answers[o.key] = cmd.Flags().String(o.key, "", o.help)
	}
	cmd.Flags().BoolVar(&replace, "replace", false, "in place of the card that there is; old tests keep what they were made with")
	return cmd
}

// newCard makes a card of options, or reads a file.
func (a *app) newCard(word string, options map[string]*string) (*sheet.Card, error) {
	given := map[string]string{}
	for key, text := range options {
		if *text != "" {
			given[key] = *text
		}
	}
	if isPath(word) {
		return a.fileCard(word, given)
	}
	if err := cardName(word); err != nil {
		return nil, err
	}
	given["name"] = word
	card, faults := sheet.CardOf(given)
	if card != nil {
		return card, nil
	}
	f := faults.Errors()[0]
	hint := f.Hint
	if f.Path == "" {
		return nil, &usageError{"a card needs at least the range of the gauge", `such as --range "25 inH2O"`}
	}
	if f.Path == "correction" {
		f.Expected = "shown and true, such as: 10 inH2O = 10.2 inH2O, 20 inH2O = 20.3 inH2O"
	}
	what := fmt.Sprintf("--%s: %s", optionOf(f.Path), f.What)
	if f.Expected != "" {
		what += "; expected " + f.Expected
	}
	return nil, &usageError{what, hint}
}

// optionOf is the option that a fault of a card is about.
func optionOf(path string) string {
	key, _, _ := strings.Cut(path, "[")
	key, _, _ = strings.Cut(key, ".")
	return key
}

func (a *app) fileCard(path string, given map[string]string) (*sheet.Card, error) {
	if len(given) > 0 {
		return nil, &usageError{"a file and options don't go together", "put everything into the file, or type a name in its place"}
	}
	src, err := readFile(path)
	if err != nil {
		return nil, err
	}
	card, faults := sheet.ReadCard(path, src)
	printFaults(a.Err, faults)
	if card == nil {
		return nil, shown(errInput)
	}
	return card, cardName(card.Name)
}

// keepNew keeps a card, and says how it is used.
func (a *app) keepNew(card *sheet.Card, replace bool) error {
	dir, err := a.cardFolder()
	if err != nil {
		return err
	}
	path := filepath.Join(dir, card.Name+cardExt)
	if _, err := os.Lstat(path); err == nil && !replace {
		return input(fmt.Errorf("there is a card of %s already", card.Name), "add --replace to have this one in its place; "+a.command("gauges show", card.Name)+" shows the old one")
	}
	if err := a.keepCard(card); err != nil {
		return err
	}
	fmt.Fprintf(a.Err, "the card of %s is kept as %s\nAt the question for the gauge, type: %s\n", card.Name, path, card.Name)
	return nil
}

// Modes of the folder and of a card: as private as records are.
const (
	cardFolderMode = 0o700
	cardMode       = 0o600
)

// keepCard writes a card at one stroke.
func (a *app) keepCard(card *sheet.Card) error {
	dir, err := a.cardFolder()
	if err != nil {
		return err
	}
	env, err := a.world()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, cardFolderMode); err != nil {
		return plainPath(err)
	}
	return plainPath(record.ReplaceFile(filepath.Join(dir, card.Name+cardExt), card.Write(), cardMode, env))
}

func (a *app) gaugesRemove() *cobra.Command {
	var yes bool
	cmd := &cobra.Command{
		Use:   "remove NAME",
		Short: "delete the card of a gauge, once its name is typed again",
		Long:  "Tests that were made with it keep what stood on it.",
		Example: `dropwalk gauges remove g25
dropwalk gauges remove g25 --yes`,
		Args: arguments(1, 1, "NAME"),
		RunE: func(_ *cobra.Command, args []string) error {
			f, err := a.card(args[0])
			if err != nil {
				return err
			}
			if !yes && !a.confirm("the card of "+f.name, f.name) {
				return errNotConfirmed
			}
			if err := os.Remove(f.path); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return plainPath(err)
			}
			fmt.Fprintf(a.Err, "the card of %s is deleted\n", f.name)
			return nil
		},
	}
	cmd.Flags().BoolVar(&yes, "yes", false, "don't ask")
	return cmd
}
