package classroom

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine/record"
	"dropwalk/engine/spell"
)

// Codes of what is said of a file that was handed in.
const (
	Late           = "late"
	Damaged        = "damaged"
	Reshaped       = "reshaped" // line ends were changed on the way
	Renamed        = "renamed"
	Duplicate      = "duplicate" // the same once more
	Earlier        = "earlier"   // an earlier state of a record that went on
	Branch         = "branch"    // two files go on from one record in two ways
	Copied         = "copied"    // a record that another group handed in too
	SameName       = "same-name" // another record of the group bears the name
	WrongClass     = "wrong-class"
	UnknownGroup   = "unknown-group"
	OtherProcedure = "other-procedure"
	OtherText      = "other-text" // the procedure has another text than the class pinned
	LaterRelease   = "later-release"
	CodeDiffers    = "code-differs"
	NoHandIn       = "no-hand-in"
	Bare           = "bare" // a record that was not packed
	Empty          = "empty"
	Unreadable     = "unreadable"
	Practised      = "practice" // a simulated car
	OtherCar       = "other-car"
	NoReadings     = "no-readings"
	Unfinished     = "unfinished" // the test was left before its end, or with something still to be done to the car
	Missing        = "missing"    // of a group: nothing that counts
)

// Codes lists them. More may come with later releases; none changes its name.
func Codes() []string {
	return []string{Late, Damaged, Reshaped, Renamed, Duplicate, Earlier, Branch, Copied, SameName, WrongClass, UnknownGroup, OtherProcedure, OtherText,
		LaterRelease, CodeDiffers, NoHandIn, Bare, Empty, Unreadable, Practised, OtherCar, NoReadings, Unfinished}
}

// Remark is one thing that is said of a file.
type Remark struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// Item is one file that was handed in.
type Item struct {
	File    string    `json:"file"`  // below the folder of what was handed in
	Group   string    `json:"group"` // "" where it can't be told
	Record  string    `json:"record"`
	Code    string    `json:"code"` // as on paper; "" where it can't be told
	Made    time.Time `json:"made,omitzero"`
	Lines   int       `json:"lines"` // of the record that are proved
	Of      int       `json:"of"`    // that it had; 0 where nobody knows
	Counts  bool      `json:"counts"`
	Remarks []Remark  `json:"remarks"`

	At   int    `json:"-"` // its place in the order of the files
	id   string // of the record
	last string // id of its last proved line
	path string
}

// Exclude says of a file that counts why it doesn't after all.
func (i *Item) Exclude(code, text string) { i.out(code, "%s", text) }

// Say says something of a file that counts all the same.
func (i *Item) Say(code, text string) { i.say(code, "%s", text) }

// Remarks is what will be said of a record that is handed in to the class, by what
// stands in the record alone. Counts tells whether it can count.
func (c *Class) Remarks(content *record.Content) (list []Remark, counts bool) {
	i := &Item{Counts: true}
	if content.Header.Simulated != "" {
		i.out(Practised, practisedText)
	}
	i.procedure(content, c, (&looker{class: c, hashes: map[string]string{}}).procedureHash)
	return i.Remarks, i.Counts
}

const practisedText = "practice on a simulated car: it tells nothing of the car of the class"

// Has tells whether one of these codes is said of it.
func (i *Item) Has(codes ...string) bool {
	return slices.ContainsFunc(i.Remarks, func(r Remark) bool { return slices.Contains(codes, r.Code) })
}

func (i *Item) say(code, format string, args ...any) {
	i.Remarks = append(i.Remarks, Remark{code, fmt.Sprintf(format, args...)})
}

// out says why a file doesn't count.
func (i *Item) out(code, format string, args ...any) {
	i.say(code, format, args...)
	i.Counts = false
}

// Collected is all that came in.
type Collected struct {
	Class   *Class
	Items   []Item   // by group, then by name of the file
	Missing []string // groups of which nothing counts
}

// Visitor sees every record that may count while it is at hand: Read in a few threads
// at a time, then Keep one after the other in the order of the files, with what Read
// gave. At is the place of the file among Collected.Items as long as they aren't sorted;
// Item.At has it.
type Visitor struct {
	Read func(i *Item, c *record.Content) any
	Keep func(at int, read any)
}

// Collect looks at every file that was handed in to the class of a folder. It changes
// nothing, and reads one file at a time in each of a few threads.
func Collect(dir string, c *Class, visit Visitor) (*Collected, error) {
	names, err := handedIn(filepath.Join(dir, HandInDir))
	if err != nil {
		return nil, err
	}
	items := make([]Item, len(names))
	read := make([]any, len(names))
	l := &looker{class: c, hashes: map[string]string{}}
	inTurn(len(names), func(i int) {
		var content *record.Content
		items[i], content = l.look(filepath.Join(dir, HandInDir, filepath.FromSlash(names[i])), names[i])
		items[i].At = i
		if items[i].Counts && visit.Read != nil {
			read[i] = visit.Read(&items[i], content)
		}
	}, func(i int) {
		if read[i] != nil {
			visit.Keep(i, read[i])
			read[i] = nil
		}
	})
	twice(items)
	out := &Collected{Class: c, Items: items}
	slices.SortStableFunc(out.Items, func(a, b Item) int {
		if d := strings.Compare(rank(a.Group), rank(b.Group)); d != 0 {
			return d
		}
		return strings.Compare(a.File, b.File)
	})
	out.Missing = out.Lacking()
	return out, nil
}

// Lacking are the groups of which nothing counts as things are now.
func (c *Collected) Lacking() []string {
	var out []string
	for _, g := range c.Class.Groups {
		if !slices.ContainsFunc(c.Items, func(i Item) bool { return i.Group == g.Name && i.Counts }) {
			out = append(out, g.Name)
		}
	}
	return out
}

// rank puts what belongs to no group behind all others.
func rank(group string) string {
	if group == "" {
		return "\xff"
	}
	return group
}

// threads that read files. More would wait for the disk or for each other.
const threads = 4

// inTurn does work for 0 to n-1 in a few threads and then after, one after the other
// and in order. No more than a few are ahead, so that what work leaves behind takes
// little memory.
func inTurn(n int, work, after func(i int)) {
	done := make([]chan struct{}, n)
	for i := range done {
		done[i] = make(chan struct{})
	}
	room := make(chan struct{}, 2*threads)
	next := make(chan int)
	var all sync.WaitGroup
	for range threads {
		all.Go(func() {
			for i := range next {
				work(i)
				close(done[i])
			}
		})
	}
	go func() {
		for i := range n {
			room <- struct{}{}
			next <- i
		}
		close(next)
	}()
	for i := range n {
		<-done[i]
		after(i)
		done[i] = nil
		<-room
	}
	all.Wait()
}

// handedIn lists the files below a folder, in order. Those that are being written, and
// those that the system hides, are none.
func handedIn(dir string) ([]string, error) {
	var names []string
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		switch {
		case err != nil && path == dir && errors.Is(err, fs.ErrNotExist):
			return nil // nobody has handed in yet
		case err != nil && path == dir:
			return err
		case strings.HasPrefix(e.Name(), ".") && path != dir, strings.Contains(e.Name(), ".new-"):
			if e.IsDir() {
				return fs.SkipDir
			}
		case err != nil || !e.IsDir(): // a folder that can't be read may hold somebody's work
			name, _ := filepath.Rel(dir, path)
			names = append(names, filepath.ToSlash(name))
		}
		return nil
	})
	slices.Sort(names)
	return names, err
}

// looker says what files are, by themselves. Several threads may use it.
type looker struct {
	class  *Class
	mu     sync.Mutex
	hashes map[string]string // of procedures, by the line that holds one
}

// mostHashes bounds how many procedures are remembered: a class has a few.
const mostHashes = 32

func (l *looker) look(path, name string) (Item, *record.Content) {
	c := l.class
	i := Item{File: name, path: path, Counts: true, Remarks: []Remark{}}
	data, err := readSome(path, record.MaxFile)
	switch {
	case err != nil:
		i.out(Unreadable, "it can't be read: %v", bare(err))
		return i, nil
	case len(data) == 0:
		i.out(Empty, "the file is empty: copy it once more")
		return i, nil
	}
	o := Unpack(name, data)
	if o.Head != nil {
		i.Group, i.Record, i.Code, i.Made, i.Of = o.Head.Group, o.Head.Record.Name, o.Head.Code, o.Head.Made, o.Head.Record.Lines
		i.id = o.Head.Record.ID
	}
	if o.Content != nil {
		i.Lines, i.id, i.last = len(o.Content.Lines)+1, o.Content.Header.ID, lastID(o.Content)
	}
	if i.refuse(o) {
		return i, nil
	}
	i.place(o.Head, c)
	i.state(o)
	i.procedure(o.Content, c, l.procedureHash)
	return i, o.Content
}

// bare is a fault of a file without its path, which stands beside it.
func bare(err error) error {
	if p, ok := errors.AsType[*fs.PathError](err); ok {
		return p.Err
	}
	return err
}

func lastID(c *record.Content) string {
	if len(c.Lines) == 0 {
		return c.Header.ID
	}
	return c.Lines[len(c.Lines)-1].ID
}

// refuse says of what can't count at all why it doesn't.
func (i *Item) refuse(o *Opened) bool {
	switch {
	case o.Head == nil && o.Later > 0:
		i.out(LaterRelease, "a later release of the program made it (format %d): update this one", o.Later)
	case o.Nothing:
		i.out(NoHandIn, "this is no file that was handed in")
	case o.Bare:
		i.Record = strings.TrimSuffix(filepath.Base(i.File), record.Ext)
		i.out(Bare, "a record that was not handed in: dropwalk class hand-in packs it with the group's name")
	case o.Head == nil:
		i.out(Damaged, "damaged so that it can't be told whose it is; %s proved: hand it in once more", lines(i.Lines))
	case o.Content == nil:
		i.out(Damaged, "damaged: nothing of the record can be read; hand it in once more")
	case o.Content.Header.Simulated != "":
		i.out(Practised, practisedText)
	case o.Content.Newer > 0:
		i.out(LaterRelease, "a later release of the program went on with the record (format %d): update this one", o.Content.Newer)
	default:
		return false
	}
	return true
}

func lines(n int) string {
	if n == 1 {
		return "1 line of the record is"
	}
	return fmt.Sprintf("%d lines of the record are", n)
}

// place holds the head to the class.
func (i *Item) place(h *Head, c *Class) {
	switch {
	case h.Class != c.ID:
		i.out(WrongClass, "handed in to class %s, and this is %s", h.Class, c.ID)
	case c.GroupNamed(h.Group) == nil:
		hint := ""
		if near, ok := spell.Nearest(h.Group, c.GroupNames()); ok && len(h.Group) > 1 {
			hint = fmt.Sprintf("; is it %s?", near)
		}
		i.out(UnknownGroup, "the class has no group %s%s", h.Group, hint)
	}
	if h.Code != h.code() {
		i.out(CodeDiffers, "the code %s belongs to something else: hand it in once more", h.Code)
	}
	if !c.Until.IsZero() && h.Made.After(c.Until) {
		i.say(Late, "handed in at %s, after %s", h.Made.In(c.Until.Location()).Format("2006-01-02 15:04"), c.Until.Format("2006-01-02 15:04"))
	}
	stem := strings.TrimSuffix(h.File(), Ext)
	if base := strings.TrimSuffix(filepath.Base(i.File), Ext); base != stem && !strings.HasPrefix(base, stem+"-") {
		i.say(Renamed, "the file was renamed; it was %s", h.File())
	}
}

// state says how much of the record is there.
func (i *Item) state(o *Opened) {
	switch {
	case o.Whole:
	case o.Reshaped:
		i.say(Reshaped, "line ends were changed on the way; the record is whole")
	case i.Lines == i.Of && o.Content.Bad == nil:
		i.say(Damaged, "damaged, but every line of the record is proved")
	case i.Lines < i.Of:
		i.say(Damaged, "damaged: %d of %d lines are proved, and no other can count", i.Lines, i.Of)
	case o.Content.Bad != nil || o.Content.Torn != nil:
		i.say(Damaged, "damaged: the %d lines before the damage are proved, and no other can count", i.Lines)
	default:
		i.out(Damaged, "the record is not the one that was handed in: it has %d lines, and %d were handed in; hand it in once more", i.Lines, i.Of)
	}
}

// procedure holds the record to what the class works by.
func (i *Item) procedure(content *record.Content, c *Class, hash func(*record.Content) string) {
	h := content.Header
	at := slices.IndexFunc(c.Procedures, func(p Pinned) bool { return p.Name == h.Procedure })
	switch {
	case at < 0:
		i.out(OtherProcedure, "made with the procedure %s, which the class doesn't use", h.Procedure)
	case c.Procedures[at].SHA256 != hash(content):
		i.say(OtherText, "the procedure %s has another text than that of the class: another release, or changed", h.Procedure)
	}
}

// procedureHash is that of the text in the record: what its header claims is no proof.
func (l *looker) procedureHash(c *record.Content) string {
	for _, line := range c.Lines {
		if line.Kind != session.ProcedureKind {
			continue
		}
		l.mu.Lock()
		hash, known := l.hashes[string(line.Body)]
		l.mu.Unlock()
		if known {
			return hash
		}
		p, err := session.ProcedureOf(line)
		if err != nil {
			break
		}
		hash = record.Hash([]byte(p.Text))
		l.mu.Lock()
		defer l.mu.Unlock()
		if len(l.hashes) < mostHashes {
			l.hashes[string(line.Body)] = hash
		}
		return hash
	}
	return c.Header.ProcedureSHA256
}

// twice finds what came in more than once, so that nothing counts twice: the longest
// state of each record counts, of copies that of the group that handed in first.
func twice(items []Item) {
	byRecord, byName := map[string][]*Item{}, map[string][]*Item{}
	for k := range items {
		if i := &items[k]; i.Counts && i.id != "" {
			byRecord[i.id] = append(byRecord[i.id], i)
		}
	}
	for _, list := range byRecord {
		if len(list) > 1 {
			settle(list)
		}
	}
	for k := range items {
		if i := &items[k]; i.Counts {
			byName[i.Group+"\x00"+i.Record] = append(byName[i.Group+"\x00"+i.Record], i)
		}
	}
	for _, list := range byName {
		for _, i := range list[1:] {
			i.say(SameName, "another record of the group is called %s too; both count", i.Record)
		}
	}
}

// settle lets one of several files of one record count.
func settle(list []*Item) {
	slices.SortStableFunc(list, func(a, b *Item) int { return a.Made.Compare(b.Made) })
	first := list[0].Group
	best := list[0]
	for _, i := range list[1:] {
		if i.Group == first && i.Lines > best.Lines {
			best = i
		}
	}
	ids := lineIDs(best.path)
	for _, i := range list {
		switch {
		case i == best:
		case i.Group != first:
			i.out(Copied, "the same record was handed in by group %s first; it counts there", first)
		case i.last == best.last:
			i.out(Duplicate, "the same as %s; it counts once", best.File)
		case i.Lines <= len(ids) && ids[i.Lines-1] == i.last:
			i.out(Earlier, "an earlier state of the record; the later one counts: %s", best.File)
		default:
			i.out(Branch, "the record was gone on with in two places; the longer one counts: %s", best.File)
		}
	}
}

// lineIDs are those of the proved lines of the record in a file, none where it can't be
// read any more.
func lineIDs(path string) []string {
	data, err := readSome(path, record.MaxFile)
	if err != nil {
		return nil
	}
	c := Unpack(path, data).Content
	if c == nil {
		return nil
	}
	ids := []string{c.Header.ID}
	for _, l := range c.Lines {
		ids = append(ids, l.ID)
	}
	return ids
}

// Sound is the record in a file that counts: its proved lines.
func (i *Item) Sound() ([]byte, error) {
	data, err := readSome(i.path, record.MaxFile)
	if err != nil {
		return nil, err
	}
	return record.Sound(i.Record, Unpack(i.Record, data).Data), nil
}

// FromStick brings what lies below a folder into that of the class. It gives the names
// of what is new, and what on the stick could not be read, with the reason: one such
// thing holds up nothing else. What only leads elsewhere is left where it is.
func FromStick(from, dir string, env record.Env) (list, left []string, err error) {
	var found []string
	err = filepath.WalkDir(from, func(path string, e fs.DirEntry, err error) error {
		switch {
		case err != nil && path == from:
			return err
		case err != nil:
			left = append(left, fmt.Sprintf("%s: %v", path, bare(err)))
		case e.IsDir() || !strings.EqualFold(filepath.Ext(e.Name()), Ext):
		case !e.Type().IsRegular():
			left = append(left, path+": it is no plain file")
		default:
			found = append(found, path)
		}
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	to := filepath.Join(dir, HandInDir)
	if err := os.MkdirAll(to, 0o755); err != nil {
		return nil, nil, err
	}
	for _, path := range found {
		data, err := readSome(path, record.MaxFile)
		if err != nil {
			left = append(left, fmt.Sprintf("%s: %v", path, bare(err)))
			continue
		}
		name, err := put(filepath.Base(path), data, to, env)
		if err != nil {
			return list, left, err
		}
		if name != "" {
			list = append(list, name)
		}
	}
	return list, left, nil
}
