package cli

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice/practice"
	"dropwalk/cmd/internal/lesson"
	"dropwalk/cmd/internal/session"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/record"
	"dropwalk/engine/subject"
)

// practiceFolder is where the records of practice lie, below those of real cars.
const practiceFolder = "practice"

// practiceOptions are what the command line says of a practice.
type practiceOptions struct {
	car       string // "" for the next one
	seed      uint64
	level     int    // 0 for that of the car
	levelText string // as it was typed
	procedure string
	answers   string
	guess     string
	list      bool
	watch     bool
	debrief   string
	asJSON    bool
	out       string
}

func (a *app) practice() *cobra.Command {
	var o practiceOptions
	cmd := &cobra.Command{
		Use:   "practice",
		Short: "practise on a simulated car whose truth is told at the end",
		Long: "The questions are those of a real test; what you would see at the car stands above each of them. Read it, decide, and type. " +
			"Things can be wrong with the car, with the gauge and the hose, and with the place. At the end the truth is set beside your path. " +
			"The cars are invented. See dropwalk help scores.\n\n" +
			"At level 1 a coach comments on each decision, at 2 on mistakes only, at 3 help gives hints, at 4 nobody speaks. " +
			"Without --car it is the first car of the level that you haven't finished.",
		Example: `dropwalk practice --list
dropwalk practice --watch    see the program take a car through the test
dropwalk practice            the next car, with a coach while they are easy
dropwalk practice --car turnip --seed 7
dropwalk practice --debrief practice-biscuit-2026-11-25 --out debrief.html`,
		Args: arguments(0, 0, "[OPTION...]"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := o.check(); err != nil {
				return err
			}
			switch {
			case o.list:
				return a.practiceList(o)
			case o.debrief != "":
				return a.practiceDebrief(o)
			case o.watch:
				return a.practiceWatch(o)
			}
			return a.practise(o)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.car, "car", "", "`name` of the car; --list shows them")
	f.Uint64Var(&o.seed, "seed", 0, "`number` of another car with the same story and other figures")
	f.StringVar(&o.levelText, "level", "", "`number` from 1 (a coach comments on everything) to 4 (silent); that of the car where it isn't given")
	f.StringVar(&o.procedure, "procedure", usualProcedure, "`name` of the procedure to practise")
	f.StringVar(&o.answers, "answers", "", "`file` of answers, - for standard input: run without a terminal")
	f.StringVar(&o.guess, "guess", "", "with --answers: what you would change first, and how sure you are, such as \"filter, 70 %\" (`text`)")
	f.BoolVar(&o.list, "list", false, "list the cars")
	f.BoolVar(&o.watch, "watch", false, "watch the program take a car through the test, with the coach's remarks")
	f.StringVar(&o.debrief, "debrief", "", "`record` of a practice that has ended: tell the truth about it")
	f.BoolVar(&o.asJSON, "json", false, "with --list or --debrief: print one JSON object")
	f.StringVar(&o.out, "out", "", "with --debrief: `file` to write: "+endingWords(debriefEndings)+"; an old one is replaced at one stroke")
	return cmd
}

// debriefEndings are those of the files of a debrief, with what they are.
var debriefEndings = []ending{{endMarkdown, "Markdown"}, {endText, "plain text"}, {endHTML, "a page for a browser and for paper"}, {endJSON, "for programs"}}

// check refuses what can't be carried out.
func (o *practiceOptions) check() error {
	if o.levelText != "" {
		if o.level = slices.Index(coachLevels, o.levelText) + 1; o.level == 0 {
			return &usageError{fmt.Sprintf("--level: there is no level %q", o.levelText), "one of " + strings.Join(coachLevels, ", ")}
		}
	}
	if o.car != "" {
		if _, err := practice.Find(o.car); err != nil {
			return &usageError{"--car: " + err.Error(), "dropwalk practice --list shows the cars"}
		}
	}
	if o.procedure != usualProcedure {
		return &usageError{fmt.Sprintf("--procedure: %q can't be practised yet", o.procedure), usualProcedure}
	}
	said := 0
	for _, b := range []bool{o.list, o.watch, o.debrief != "", o.answers != ""} {
		if b {
			said++
		}
	}
	switch {
	case said > 1:
		return &usageError{"--list, --watch, --debrief and --answers don't go together", "one of them"}
	case o.guess != "" && o.answers == "":
		return &usageError{"--guess is for --answers: at the prompts you are asked", "dropwalk practice --answers FILE --guess \"filter, 70 %\""}
	case o.asJSON && !o.list && o.debrief == "":
		return &usageError{"--json is for --list and --debrief", "dropwalk practice --list --json"}
	case o.out != "" && o.debrief == "":
		return &usageError{"--out is for --debrief", "dropwalk practice --debrief RECORD --out debrief.html"}
	}
	asJSON, err := formOf("debrief", o.out, o.asJSON, debriefEndings)
	o.asJSON = asJSON
	return err
}

// coachLevels of coaching, as they are typed.
var coachLevels = []string{"1", "2", "3", "4"}

// simulated is what a record of practice keeps of its car: enough to make it
// again.
type simulated struct {
	car   string
	seed  uint64
	level int
}

func (s simulated) String() string {
	return fmt.Sprintf("car=%s seed=%d level=%d", s.car, s.seed, s.level)
}

// readSimulated reads what a record keeps; false where it is none of practice or
// of a later release.
func readSimulated(text string) (simulated, bool) {
	var s simulated
	n, err := fmt.Sscanf(text, "car=%s seed=%d level=%d", &s.car, &s.seed, &s.level)
	return s, err == nil && n == 3 && s.level >= 1 && s.level <= 4
}

// bench is the car of s, new.
func (s simulated) bench() (*lesson.Bench, error) {
	c, err := practice.Find(s.car)
	if err != nil {
		return nil, err
	}
	return lesson.New(c.With(s.seed).Bench(s.seed+1), s.level), nil
}

// practiceDir is the folder of the records of practice.
func (a *app) practiceDir() (string, error) {
	dir, err := a.folder()
	return filepath.Join(dir, practiceFolder), err
}

// chooseCar is the car that the options ask for: the one that is named, else the
// first of the level that no finished record is about.
func (a *app) chooseCar(o practiceOptions) (simulated, error) {
	if o.car != "" {
		c, err := practice.Find(o.car)
		if err != nil {
			return simulated{}, err
		}
		return simulated{c.Name, o.seed, cmp.Or(o.level, c.Level)}, nil
	}
	done, err := a.carsDone()
	if err != nil {
		return simulated{}, err
	}
	var first *practice.Case
	for _, c := range practice.Cars() {
		if o.level != 0 && c.Level != o.level {
			continue
		}
		if first == nil {
			first = c
		}
		if _, ok := done[c.Name]; !ok {
			return simulated{c.Name, o.seed, cmp.Or(o.level, c.Level)}, nil
		}
	}
	// All were done: once more, with other figures.
	return simulated{first.Name, o.seed + uint64(done[first.Name]), cmp.Or(o.level, first.Level)}, nil
}

// openPractice is the latest practice on a car that can go on, on any car where it is "". None is "".
func (a *app) openPractice(car string) string {
	dir, err := a.practiceDir()
	if err != nil {
		return ""
	}
	list, err := record.List(dir)
	if err != nil {
		return ""
	}
	for _, s := range unfinishedOf(list) {
		if made, ok := readSimulated(s.Header.Simulated); ok && (car == "" || made.car == car) {
			return s.Name
		}
	}
	return ""
}

// carsDone counts the practices by car that nobody stopped.
func (a *app) carsDone() (map[string]int, error) {
	dir, err := a.practiceDir()
	if err != nil {
		return nil, err
	}
	list, err := record.List(dir)
	if err != nil {
		return nil, plainPath(err)
	}
	done := map[string]int{}
	for _, s := range list {
		if made, ok := readSimulated(s.Header.Simulated); ok && stateOf(s) == isFinished && !a.outcomeOf(s.Path, s.Header).stopped {
			done[made.car]++
		}
	}
	return done, nil
}

// practise runs one practice from its first question.
func (a *app) practise(o practiceOptions) error {
	made, err := a.chooseCar(o)
	if err != nil {
		return err
	}
	at, err := made.bench()
	if err != nil {
		return err
	}
	b, err := a.prepare(o.procedure, origin{})
	if err != nil {
		return err
	}
	if b.store.dir, err = a.practiceDir(); err != nil {
		return err
	}
	b.store.simulated = made.String()
	b.given = append(b.given, subject.Entry{Path: "title", Text: "Practice on a simulated car: " + at.Sim.Case.Title})
	if o.answers != "" {
		return a.practiseFrom(o, b, at)
	}
	defer b.store.close()
	inner, by := a.asker()
	run := engine.NewRun(b.procedure, b.matter)
	s := a.benched(run, b.store, inner, by, at)
	if open := a.openPractice(made.car); open != "" {
		inner.Say(session.Message{Lines: []string{"A practice on this car is unfinished. To go on with it instead: " + a.command("resume", open)}})
	}
	inner.Say(opening(at, made))
	inner.Say(session.Message{Title: "The card of the car, and what a tape shows:", Lines: at.Card()})
	if err := s.Begin(b.given); err != nil {
		return err
	}
	return a.driveBench(s, func() *record.Log { return b.store.log })
}

// benched is a session whose learner stands at a simulated car.
func (a *app) benched(run *engine.Run, store session.Store, inner session.Asker, by string, at *lesson.Bench) *session.Session {
	asker := &lesson.Asker{Bench: at, Inner: inner, Draw: by == promptsAsker}
	return &session.Session{Run: run, Store: &lesson.Store{Store: store, Asker: asker}, Asker: asker, By: by}
}

// opening is the story of a car, with how to practise on it.
func opening(at *lesson.Bench, made simulated) session.Message {
	c := at.Sim.Case
	m := session.Message{Title: c.Title + " (invented)", Lines: []string{c.Story}}
	m.Lines = append(m.Lines, fmt.Sprintf("Practice at level %d. %s", made.level, levelWords[made.level-1]),
		"The questions are those of a real test. Above each stands what you see at the car. Nothing but you decides what becomes of it. "+
			"Besides the usual words there are look, card and mend WHAT; help lists them.")
	return m
}

// levelWords say what the coach does at each level.
var levelWords = [...]string{
	"A coach comments on each decision. Where the card answers, Enter takes its answer.",
	"A coach speaks where something was missed. Where the card answers, Enter takes its answer.",
	"Nobody comments. help gives a hint. What the program makes of the readings stays closed until you have said what you would change.",
	"Nobody comments. What the program makes of the readings stays closed until you have said what you would change.",
}

// practiseFrom runs a practice from a file of answers.
func (a *app) practiseFrom(o practiceOptions, b *beginning, at *lesson.Bench) error {
	file, err := a.readAnswers(o.answers, b)
	if err != nil {
		return err
	}
	defer b.store.close()
	asker := file.NewAsker(a.Err, a.Width)
	s := a.benched(engine.NewRun(b.procedure, b.matter), unattended{b.store}, asker, answersAsker, at)
	s.Asker.(*lesson.Asker).Guess = cmp.Or(o.guess, "?")
	if err := s.Begin(b.given); err != nil {
		return err
	}
	ctx, stop := untilSignal()
	defer stop()
	err = s.Drive(ctx)
	if name := b.store.logName(); name != "" {
		fmt.Fprintln(a.Out, name)
	}
	if err == nil {
		return a.debriefAfter(b.store.log.Path())
	}
	return a.answersEnd(err, s, b, o.answers)
}

// driveBench runs a sitting; at its end comes the debrief.
func (a *app) driveBench(s *session.Session, open func() *record.Log) error {
	return a.driven(s, open, func(log *record.Log) error { return a.debriefAfter(log.Path()) })
}

// errSimulated says that a record is about no real car.
var errSimulated = errors.New("simulated car")

// isPractice tells whether a header is of a record about no real car.
func isPractice(h record.Header) bool { return h.Simulated != "" }

// noRealCar refuses a record of practice where only real cars count.
func (a *app) noRealCar(path string, h record.Header) error {
	if !isPractice(h) {
		return nil
	}
	return input(fmt.Errorf("%s is practice on a simulated car and counts as no visit of a real one%w", record.Name(path), silent{errSimulated}),
		a.command("practice", "--debrief", quoted(record.Name(path)))+" tells what came of it")
}

// countsAsVisit refuses a word that calls a record of practice.
func (a *app) countsAsVisit(word string) error {
	src, err := a.findSource(word)
	if err != nil || !src.isRecord {
		return nil // whoever reads it says what is wrong
	}
	c, err := record.View(src.path)
	if err != nil {
		return nil
	}
	return a.noRealCar(src.path, c.Header)
}

// practiceRecord finds the record of a practice by its path, its name or the
// beginning of its name.
func (a *app) practiceRecord(word string) (string, error) {
	if isPath(word) {
		return a.findRecord(word)
	}
	dir, err := a.practiceDir()
	if err != nil {
		return "", err
	}
	names, err := record.Names(dir)
	if err != nil {
		return "", plainPath(err)
	}
	name, err := pick(word, names)
	if err != nil {
		if other, err := pick(practiceFolder+"-"+word, names); err == nil {
			return record.Path(dir, other), nil
		}
		return "", err
	}
	return record.Path(dir, name), nil
}

// practised finds a practice by the name of its record, or by the beginning of it.
func (a *app) practised(word string) (string, bool) {
	dir, err := a.practiceDir()
	if err != nil {
		return "", false
	}
	names, err := record.Names(dir)
	if err != nil {
		return "", false
	}
	name, err := pick(word, names)
	return record.Path(dir, name), err == nil
}

// listedCar is one car in the list.
type listedCar struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Level int    `json:"level"`
	Done  int    `json:"done"` // practices that were finished
}

func (a *app) practiceList(o practiceOptions) error {
	done, err := a.carsDone()
	if err != nil {
		return err
	}
	rows := []listedCar{}
	for _, c := range practice.Cars() {
		if o.level == 0 || c.Level == o.level {
			rows = append(rows, listedCar{c.Name, c.Title, c.Level, done[c.Name]})
		}
	}
	slices.SortStableFunc(rows, func(a, b listedCar) int { return cmp.Compare(a.Level, b.Level) })
	if o.asJSON {
		return a.writeVersioned("practice", struct {
			Cars []listedCar `json:"cars"`
		}{rows})
	}
	level := 0
	for _, r := range rows {
		if r.Level != level {
			level = r.Level
			fmt.Fprintf(a.Out, "Level %d\n", level)
		}
		text := r.Title
		switch {
		case r.Done == 1:
			text += " (done)"
		case r.Done > 1:
			text += fmt.Sprintf(" (done %d times)", r.Done)
		}
		fmt.Fprint(a.Out, terminal.Wrap(text, a.Width, fmt.Sprintf("  %-11s ", r.Name), strings.Repeat(" ", 14)))
	}
	return nil
}

// carNames are the cars to practise on, for completion.
func carNames() []string {
	var names []string
	for _, c := range practice.Cars() {
		names = append(names, c.Name)
	}
	slices.Sort(names)
	return names
}
