package record

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"time"
)

// Summary is one record in a list.
type Summary struct {
	Name, Path string
	Header     Header
	Lines      int    // proved lines, the header included
	LastKind   string // kind of the last proved line
	LastTime   time.Time
	Modified   time.Time
	Size       int64
	GoesOn     bool     // Open would take it, a torn tail set aside
	Worst      *Finding // the worst finding, nil where there is none above a note
	Err        error    // the file couldn't be read at all; then the fields between Path and Err are empty
}

// List returns the records in dir by name. A record that is damaged or can't be
// read is in the list all the same. A folder that isn't there has no records.
func List(dir string) ([]Summary, error) { return list(Disk{}, dir) }

func list(fsys FS, dir string) ([]Summary, error) {
	names, err := names(fsys, dir)
	if err != nil {
		return nil, err
	}
	summaries := make([]Summary, 0, len(names))
	for _, name := range names {
		s, _ := summarise(fsys, Path(dir, name), false)
		summaries = append(summaries, s)
	}
	return summaries, nil
}

// Each calls do with every record in dir, by name: what List says of it and what
// is in it, nil where that can't be read. One record is held at a time.
func Each(dir string, do func(Summary, *Content)) error {
	names, err := Names(dir)
	if err != nil {
		return err
	}
	for _, name := range names {
		do(summarise(Disk{}, Path(dir, name), true))
	}
	return nil
}

// Names returns the names of the records in dir in order, without opening one.
func Names(dir string) ([]string, error) { return names(Disk{}, dir) }

func names(fsys FS, dir string) ([]string, error) {
	var names []string
	taken, err := fsys.ReadDir(dir)
	if isMissing(err) {
		return nil, nil
	}
	for _, e := range taken {
		if name, ok := strings.CutSuffix(e.Name(), Ext); ok && !e.IsDir() {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names, err
}

// summarise reads a record once. The content has its lines where keep is set.
func summarise(fsys FS, path string, keep bool) (Summary, *Content) {
	sum := Summary{Name: Name(path), Path: path}
	data, err := readFile(fsys, path)
	if err != nil {
		sum.Err = err
		return sum, nil
	}
	s := scan(path, data, keep)
	if s.alien(data) {
		sum.Err = ErrNotRecord
		return sum, nil
	}
	s.stat(fsys)
	sum.Header, sum.Lines, sum.Modified, sum.Size = s.Header, len(s.sums), s.Modified, s.Size
	sum.LastKind, sum.LastTime, sum.Worst = s.lastKind, s.last, s.Content.Worst()
	sum.GoesOn = s.refusal() == nil && len(s.sums) > 0
	return sum, s.Content
}

// Worst returns the first finding of the highest level above Note, or nil.
func (c *Content) Worst() *Finding {
	var worst *Finding
	for i, f := range c.Findings {
		if f.Level > Note && (worst == nil || f.Level > worst.Level) {
			worst = &c.Findings[i]
		}
	}
	return worst
}

// Report is what Check found.
type Report struct {
	Path       string
	Lines      int // proved lines, the header included
	Unverified int // lines behind the first bad place
	Findings   []Finding
	Repairable bool // Repair would put it right without losing a line
}

// Sound reports whether nothing above a note was found.
func (r *Report) Sound() bool {
	return !slices.ContainsFunc(r.Findings, func(f Finding) bool { return f.Level > Note })
}

// String is one line a finding, or one that says that all is well.
func (r *Report) String() string {
	var b strings.Builder
	for _, f := range r.Findings {
		fmt.Fprintf(&b, "%s: %s\n", r.Path, f)
	}
	if b.Len() == 0 {
		fmt.Fprintf(&b, "%s: all %d lines are sound\n", r.Path, r.Lines)
	}
	return b.String()
}

// Check reads a record and the files beside it and says what is wrong and what
// to do. It changes nothing. The error is that of View.
func Check(path string) (*Report, error) { return check(Disk{}, path) }

func check(fsys FS, path string) (*Report, error) {
	data, err := readFile(fsys, path)
	if err != nil {
		return nil, err
	}
	s := scan(path, data, false)
	if s.alien(data) {
		return nil, fmt.Errorf("%s: %w", path, ErrNotRecord)
	}
	r := &Report{Path: path, Lines: len(s.sums), Unverified: len(s.Content.Unverified) + s.Unshown, Findings: s.Findings}
	if s.refusal() != nil {
		_, fault := mend(path, data)
		r.Repairable = fault == nil
	}
	if info, err := fsys.Stat(path); err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		r.Findings = append(r.Findings, Finding{Level: Note, What: fmt.Sprintf("others on this computer may read the file (mode %04o)", info.Mode().Perm()),
			Do: "chmod 600 if that isn't wanted"})
	}
	for _, name := range sideFiles(fsys, path) {
		r.Findings = append(r.Findings, sideFinding(Name(path), name))
	}
	return r, nil
}

func sideFinding(record, name string) Finding {
	f := Finding{Level: Note, What: name + " holds the rest of a line that was cut off", Do: "delete it when you have entered that answer again"}
	switch rest := strings.TrimPrefix(name, record); {
	case strings.HasPrefix(rest, keptExt):
		f.What, f.Do = name+" is the file as it was before the record was written anew", "delete it when the record reads as you expect"
	case strings.HasPrefix(rest, newExt):
		f.What, f.Do = name+" was left by a rewrite that was cut off", "it goes away when the record is opened"
	}
	return f
}

// Repair puts a record back into its plain form where that loses nothing: byte
// order mark, carriage returns and empty lines are taken out, a line that stands
// there twice is taken once, lines in the wrong order are put in the order in
// which they were written. The chain of checksums then proves every line. The
// file as it was stays beside it; its path is returned.
//
// The error wraps ErrReadOnly where lines are missing or altered, or belong to a
// later release, and ErrLocked where another program has the record open. A
// record without faults is left alone and the path is empty.
func Repair(path string, env Env) (kept string, err error) {
	env = env.filled()
	if _, err := env.FS.Stat(path); err != nil {
		return "", err
	}
	unlock, _, err := lock(env, stem(path))
	if err != nil {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	defer func() { err = also(err, unlock()) }()
	data, err := readFile(env.FS, path)
	if err != nil {
		return "", err
	}
	if s := scan(path, data, false); s.alien(data) {
		return "", fmt.Errorf("%s: %w", path, ErrNotRecord)
	} else if s.refusal() == nil {
		return "", nil
	}
	mended, err := mend(path, data)
	if err != nil {
		return "", fmt.Errorf("%s: %w: %w", path, ErrReadOnly, err)
	}
	id, err := newID(env.Random)
	if err != nil {
		return "", err
	}
	kept = sidePath(path, keptExt, env.Now(), id)
	return kept, replace(env, path, mended, 0o600, kept)
}

// mend returns the bytes of the record in plain form, or why lines would be
// lost. A torn tail at the end is left out: it never was a line.
func mend(path string, data []byte) ([]byte, error) {
	pieces, broken := pick(data)
	if broken != 0 {
		return nil, fmt.Errorf("line %d is altered or belongs to a later release", broken)
	}
	bySeq := map[int]piece{}
	for _, p := range pieces {
		if old, twice := bySeq[p.seq]; twice && old.sum != p.sum {
			return nil, fmt.Errorf("there are two different lines %d", p.seq)
		}
		bySeq[p.seq] = p
	}
	var out []byte
	for seq := 1; seq <= len(bySeq); seq++ {
		p, ok := bySeq[seq]
		if !ok {
			return nil, fmt.Errorf("line %d is missing", seq)
		}
		out = append(append(out, p.text...), '\n')
	}
	if s := scan(path, out, false); s.refusal() != nil || s.Torn != nil || len(s.sums) == 0 {
		return nil, fmt.Errorf("the lines don't follow from each other")
	}
	return out, nil
}
