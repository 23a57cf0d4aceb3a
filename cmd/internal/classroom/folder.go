package classroom

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

// Version is the version of the file of a class, and of what is handed in.
const Version = 1

// What lies in the folder of a class.
const (
	classFile    = "class.yaml" // no names of people in it: it may go to everybody
	RosterFile   = "roster.csv" // who is who: for the instructor alone
	SheetFile    = "car.yaml"   // the car, its path and its gauges, where they are given
	ProcedureDir = "procedures" // the procedures of the class, as they were when it was made
	HandInDir    = "hand-in"    // what the groups hand in
	WorksheetDir = "worksheets" // one paper a group
)

// Class is a class as its file tells it.
type Class struct {
	ID         string
	Title      string
	Made       time.Time
	Until      time.Time // what is handed in after it is late; zero for never
	Rotate     string    // ByRun, ByRound
	Groups     []Group
	Procedures []Pinned
	Gauges     []string // as the sheet describes them, for people
	Sheet      bool     // SheetFile is there
}

// Group is one group, by ids.
type Group struct {
	Name   string
	People []Person // without names, but for a roster that is at hand
}

// Pinned is a procedure of the class, held to its text.
type Pinned struct {
	Name, SHA256 string
}

// File is where the text of a pinned procedure lies in the folder of the class.
func (p Pinned) File() string { return ProcedureDir + "/" + p.Name + ".yaml" }

// GroupNamed finds a group, nil where the class has none of that name.
func (c *Class) GroupNamed(name string) *Group {
	for i := range c.Groups {
		if c.Groups[i].Name == name {
			return &c.Groups[i]
		}
	}
	return nil
}

// GroupNames lists the groups.
func (c *Class) GroupNames() []string {
	var list []string
	for _, g := range c.Groups {
		list = append(list, g.Name)
	}
	return list
}

// Grouped parts people by their groups, in the order in which groups come up.
func Grouped(people []Person) []Group {
	var list []Group
	for _, p := range people {
		i := slices.IndexFunc(list, func(g Group) bool { return g.Name == p.Group })
		if i < 0 {
			i = len(list)
			list = append(list, Group{Name: p.Group})
		}
		list[i].People = append(list[i].People, p)
	}
	return list
}

const nameLength = 200

var shape = strictyaml.Keys(
	strictyaml.Need("class_folder", strictyaml.Whole(Version, Version).Called("1"), "version of the format"),
	strictyaml.Need("id", strictyaml.Text(codeLength), "code of the class"),
	strictyaml.Key{Name: "title", Shape: strictyaml.Text(nameLength), Doc: "what the class is called"},
	strictyaml.Need("made", strictyaml.Text(nameLength), "when it was made, RFC 3339"),
	strictyaml.Key{Name: "until", Shape: strictyaml.Text(nameLength), Doc: "what is handed in later is late, RFC 3339"},
	strictyaml.Need("rotate", strictyaml.Words(ByRun, ByRound), "when roles change hands"),
	strictyaml.Need("groups", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("name", strictyaml.Text(mostGroup), "name of the group"),
		strictyaml.Need("people", strictyaml.ListOf(strictyaml.Text(nameLength), 1), "ids; who is who stands in the roster"),
		strictyaml.Key{Name: "drive", Shape: strictyaml.ListOf(strictyaml.Text(nameLength), 0), Doc: "those who may drive, where not all may"},
	), 1), "the groups"),
	strictyaml.Need("procedures", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("name", strictyaml.Text(nameLength), "name of the procedure"),
		strictyaml.Need("sha256", strictyaml.Text(64), "of its text, lower-case hex"),
	), 1), "what the class works by; the texts lie beside this file"),
	strictyaml.Key{Name: "gauges", Shape: strictyaml.ListOf(strictyaml.Text(nameLength), 0), Doc: "the gauges of the class, in words"},
	strictyaml.Key{Name: "sheet", Shape: strictyaml.Truth(), Doc: "the car of the class is described in " + SheetFile},
).Called("a class")

// write is the file of a class.
func (c *Class) write() []byte {
	text := strictyaml.NewText
	groups, procedures, gauges := strictyaml.NewList(), strictyaml.NewList(), strictyaml.NewList()
	for _, g := range c.Groups {
		people, drive, all := strictyaml.NewList(), strictyaml.NewList(), true
		for _, p := range g.People {
			people.Items = append(people.Items, text(p.ID))
			if all = all && p.Drives; p.Drives {
				drive.Items = append(drive.Items, text(p.ID))
			}
		}
		n := strictyaml.NewMap().Set("name", text(g.Name)).Set("people", people)
		if !all {
			n.Set("drive", drive)
		}
		groups.Items = append(groups.Items, n)
	}
	for _, p := range c.Procedures {
		procedures.Items = append(procedures.Items, strictyaml.NewMap().Set("name", text(p.Name)).Set("sha256", text(p.SHA256)))
	}
	for _, g := range c.Gauges {
		gauges.Items = append(gauges.Items, text(g))
	}
	n := strictyaml.NewMap().Set("class_folder", strictyaml.NewWhole(Version)).Set("id", text(c.ID))
	if c.Title != "" {
		n.Set("title", text(c.Title))
	}
	n.Set("made", text(c.Made.Format(time.RFC3339)))
	if !c.Until.IsZero() {
		n.Set("until", text(c.Until.Format(time.RFC3339)))
	}
	n.Set("rotate", text(c.Rotate)).Set("groups", groups).Set("procedures", procedures)
	if len(c.Gauges) > 0 {
		n.Set("gauges", gauges)
	}
	if c.Sheet {
		n.Set("sheet", strictyaml.NewTruth(true))
	}
	return strictyaml.Write(n)
}

// read makes a class of its file.
func read(file string, src []byte) (*Class, strictyaml.Faults) {
	n, faults := strictyaml.ParseYAML(file, src, 1)
	if n == nil {
		return nil, faults
	}
	r := &strictyaml.Report{File: file, Faults: append(faults, shape.Check(file, n)...)}
	c := &Class{Title: n.Get("title").Str(), Rotate: n.Get("rotate").Str(), Sheet: n.Get("sheet").True(), Gauges: n.Get("gauges").Strs()}
	id, err := ReadCode(n.Get("id").Str())
	if err != nil && len(r.Faults) == 0 {
		r.At(n.Get("id"), err.Error(), "the code that the class was given", "")
	}
	c.ID = id
	for _, at := range []struct {
		key string
		to  *time.Time
	}{{"made", &c.Made}, {"until", &c.Until}} {
		if v := n.Get(at.key); v != nil && v.Str() != "" {
			if *at.to, err = time.Parse(time.RFC3339, v.Str()); err != nil {
				r.At(v, fmt.Sprintf("%q is no time", v.Str()), "such as 2026-11-25T17:00:00+01:00", "")
			}
		}
	}
	if list := n.Get("groups"); list != nil && len(r.Faults) == 0 {
		for _, g := range list.Items {
			c.Groups = append(c.Groups, readGroup(g, c, r))
		}
		for _, p := range n.Get("procedures").Items {
			c.Procedures = append(c.Procedures, Pinned{p.Get("name").Str(), p.Get("sha256").Str()})
		}
	}
	return c, r.Faults.Sorted()
}

func readGroup(n *strictyaml.Node, c *Class, r *strictyaml.Report) Group {
	g := Group{Name: n.Get("name").Str()}
	if err := CheckGroup(g.Name); err != nil {
		r.At(n.Get("name"), err.Error(), "letters a-z, digits and dashes", "")
	}
	if c.GroupNamed(g.Name) != nil {
		r.At(n.Get("name"), fmt.Sprintf("the group %q stands there twice", g.Name), "each once", "")
	}
	drive := n.Get("drive").Strs()
	for _, id := range n.Get("people").Strs() {
		g.People = append(g.People, Person{ID: id, Group: g.Name, Drives: !n.Has("drive") || slices.Contains(drive, id)})
	}
	return g
}

// ErrNoClass says that a folder is none of a class.
var ErrNoClass = errors.New("this folder holds no class")

// Open reads the class of a folder. The error wraps ErrNoClass, is strictyaml.Faults,
// or that of the file system.
func Open(dir string) (*Class, error) {
	path := filepath.Join(dir, classFile)
	src, err := readSome(path, strictyaml.MaxBytes)
	if errors.Is(err, fs.ErrNotExist) {
		if _, there := os.Stat(dir); there == nil {
			return nil, fmt.Errorf("%s: %w", dir, ErrNoClass)
		}
	}
	if err != nil {
		return nil, err
	}
	c, faults := read(path, src)
	return c, faults.Err()
}

// readSome reads a file that is no larger than most, and neither a pipe nor a device.
func readSome(path string, most int64) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, err
	case info.IsDir():
		if _, err := os.ReadDir(path); err != nil {
			return nil, err
		}
		return nil, fmt.Errorf("%s is a folder", path)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is no file", path)
	case info.Size() > most:
		return nil, fmt.Errorf("%s is too large: %d bytes, at most %d", path, info.Size(), most)
	}
	return os.ReadFile(path)
}

// Material is what a folder of a class is made of beside the class itself.
type Material struct {
	People     []Person
	Procedures map[string][]byte // texts by name
	Sheet      []byte            // nil for none
	Worksheets map[string][]byte // pages by the names of their files
}

// New makes the folder of a class. It refuses one that holds a class already, and puts
// the file of the class last: a folder without it is none, and may be begun again.
func New(dir string, c *Class, m Material, env record.Env) error {
	if _, err := os.Lstat(filepath.Join(dir, classFile)); err == nil {
		return fmt.Errorf("%s holds a class already%w", dir, quiet{fs.ErrExist})
	}
	for _, sub := range []string{ProcedureDir, HandInDir, WorksheetDir} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o755); err != nil {
			return err
		}
	}
	put := func(name string, data []byte, perm fs.FileMode) error {
		return record.ReplaceFile(filepath.Join(dir, filepath.FromSlash(name)), data, perm, env)
	}
	if err := put(RosterFile, writeRoster(m.People), 0o600); err != nil {
		return err
	}
	for _, p := range c.Procedures {
		if err := put(p.File(), m.Procedures[p.Name], 0o644); err != nil {
			return err
		}
	}
	if m.Sheet != nil {
		if err := put(SheetFile, m.Sheet, 0o644); err != nil {
			return err
		}
	}
	for _, name := range slices.Sorted(maps.Keys(m.Worksheets)) {
		if err := put(WorksheetDir+"/"+name, m.Worksheets[name], 0o644); err != nil {
			return err
		}
	}
	return put(classFile, c.write(), 0o644)
}

// quiet carries a class of error without adding to its text.
type quiet struct{ error }

func (quiet) Error() string   { return "" }
func (q quiet) Unwrap() error { return q.error }

// writeRoster is the roster with ids, for the instructor.
func writeRoster(people []Person) []byte {
	var b strings.Builder
	w := csv.NewWriter(&b)
	rows := [][]string{{"id", columnName, columnGroup, columnDrives}}
	for _, p := range people {
		drives := "yes"
		if !p.Drives {
			drives = "no"
		}
		rows = append(rows, []string{p.ID, p.Name, p.Group, drives})
	}
	_ = w.WriteAll(rows) // a strings.Builder never fails
	return []byte(b.String())
}

// Names are the names of people by their ids, from the roster of a folder.
func Names(dir string) (map[string]string, error) {
	path := filepath.Join(dir, RosterFile)
	src, err := readSome(path, mostRoster)
	if err != nil {
		return nil, err
	}
	rows, err := csv.NewReader(strings.NewReader(string(src))).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	names := map[string]string{}
	for _, row := range rows[min(1, len(rows)):] {
		if len(row) > 1 {
			names[row[0]] = row[1]
		}
	}
	return names, nil
}

// ReadUntil reads the time after which things are late: a time of today, or a date
// with one, in the place where the program runs.
func ReadUntil(text string, now time.Time) (time.Time, error) {
	for _, form := range []string{time.RFC3339, "2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02T15:04:05"} {
		if t, err := time.ParseInLocation(form, text, now.Location()); err == nil {
			return t, nil
		}
	}
	if t, err := time.ParseInLocation("15:04", text, now.Location()); err == nil {
		return time.Date(now.Year(), now.Month(), now.Day(), t.Hour(), t.Minute(), 0, 0, now.Location()), nil
	}
	return time.Time{}, fmt.Errorf("%q is no time", text)
}
