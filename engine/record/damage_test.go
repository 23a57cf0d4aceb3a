package record

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestEverySingleBitFlipIsFound(t *testing.T) {
	path, data := makeRecord(t, t.TempDir(), 4)
	want := scan(path, data, true).Content
	flips := 0
	for at := range data {
		line := bytes.Count(data[:at], []byte("\n")) + 1
		for bit := range 8 {
			flipped := bytes.Clone(data)
			flipped[at] ^= 1 << bit
			s := scan(path, flipped, true)
			flips++
			checkFlip(t, fmt.Sprintf("byte %d bit %d in line %d", at, bit, line), line, s, want)
		}
	}
	t.Logf("%d flips", flips)
}

// checkFlip fails unless the flip is found at its line and what is proved is what was written.
func checkFlip(t *testing.T, where string, line int, s *scanner, want *Content) {
	t.Helper()
	switch {
	case s.Bad != nil && s.Bad.Line == line:
	case s.Torn != nil && s.Torn.Number == line:
	case s.Unended: // the last line feed turned into something else never gives this
		t.Errorf("%s: taken for a missing line feed", where)
	default:
		t.Errorf("%s: not found: bad %v, torn %v", where, s.Bad, s.Torn)
	}
	if got := len(s.sums); got != line-1 {
		t.Errorf("%s: %d lines proved, want %d", where, got, line-1)
	}
	if n := max(0, line-2); n > 0 {
		if d := diff(s.Lines, want.Lines[:n]); d != "" {
			t.Errorf("%s: proved lines have changed: %s", where, d)
		}
	}
}

func TestCutAtEveryByte(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 3)
	last := bytes.LastIndexByte(data[:len(data)-1], '\n') + 1
	for size := last; size < len(data); size++ {
		writeBytes(t, path, data[:size])
		l, rec, err := Open(path, testEnv())
		if err != nil {
			t.Fatalf("cut to %d bytes: %v", size, err)
		}
		switch {
		case size == last: // exactly between two lines: nothing shows
			checkAnswers(t, rec.Content, 2)
			checkFindings(t, rec.Did, nil)
		case size == len(data)-1: // the line feed alone is gone
			checkAnswers(t, rec.Content, 3)
			checkFindings(t, rec.Did, []string{"line 4: note: its line feed was missing"})
		default:
			checkAnswers(t, rec.Content, 2)
			checkFindings(t, rec.Did, []string{"line 4: damage: the last line was not whole"})
			if got := readBytes(t, rec.Torn.MovedTo); !bytes.Equal(got, data[last:size]) {
				t.Fatalf("cut to %d bytes: set aside %q, want %q", size, got, data[last:size])
			}
			os.Remove(rec.Torn.MovedTo)
		}
		n := len(rec.Lines)
		appendAnswers(t, l, 1)
		l.Close()
		after := mustView(t, path)
		checkAnswers(t, after, n+1)
		checkFindings(t, after.Findings, nil)
	}
}

func TestCutOfTheWholeFile(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 2)
	header := bytes.IndexByte(data, '\n')
	for size := range data {
		writeBytes(t, path, data[:size])
		whole := bytes.Count(data[:size], []byte("\n"))
		if size > 0 && data[size] == '\n' {
			whole++
		}
		l, rec, err := Open(path, testEnv())
		if size < header {
			if !errors.Is(err, ErrNoHeader) && !errors.Is(err, ErrNotRecord) {
				t.Fatalf("cut to %d bytes: got %v, want ErrNoHeader", size, err)
			}
			if got := readBytes(t, path); !bytes.Equal(got, data[:size]) {
				t.Fatalf("cut to %d bytes: the file was changed", size)
			}
			continue
		}
		if err != nil {
			t.Fatalf("cut to %d bytes: %v", size, err)
		}
		checkAnswers(t, rec.Content, whole-1)
		l.Close()
	}
}

func TestATornHeaderIsNamed(t *testing.T) {
	path, data := makeRecord(t, t.TempDir(), 0)
	for _, size := range []int{0, 3, 100} {
		writeBytes(t, path, data[:size])
		c := mustView(t, path)
		checkFindings(t, c.Findings, []string{"line 1: damage: there is no header: the record was cut off while it was being created, before anything was saved in it; remove it"})
		if err := c.CanContinue(); !errors.Is(err, ErrNoHeader) {
			t.Errorf("%d bytes: CanContinue gives %v, want ErrNoHeader", size, err)
		}
	}
}

func TestAFirstLineThatIsNoHeader(t *testing.T) {
	path := Path(t.TempDir(), "x")
	line := func(kind, body string) []byte {
		return joinLines(reframe(`{"v":1,"id":"a","seq":1,"t":"2026-11-25T10:02:03.123Z","mono_ms":5,"kind":"` + kind + `","prev":"00000000","body":` + body + `}`))
	}
	for _, c := range []struct {
		data []byte
		bad  string
	}{
		{line("noted", `{"format":1}`), `line 1: damage: the first line must be the header, not "noted"`},
		{line("header", `{}`), "line 1: damage: the header says no format version"},
		{line("header", `{"format":-1}`), "line 1: damage: the header says no format version"},
		{line("header", `{"format":"1"}`), "line 1: damage: the header can't be read"},
		{line("header", `null`), "line 1: damage: the header says no format version"},
	} {
		writeBytes(t, path, c.data)
		checkDamage(t, path, c.data, 0, c.bad)
		checkRepair(t, path, c.data, nil, false)
	}
}

func TestZeroesAtTheEndAreATornTail(t *testing.T) {
	path, data := makeRecord(t, t.TempDir(), 2)
	writeBytes(t, path, append(bytes.Clone(data), make([]byte, 512)...))
	l, rec := mustOpen(t, path, testEnv())
	checkAnswers(t, rec.Content, 2)
	checkFindings(t, rec.Did, []string{"line 4: damage: the last line was not whole; its 512 bytes were moved to yellow.torn-"})
	appendAnswers(t, l, 1)
	checkAnswers(t, mustView(t, path), 3)
}

func TestLinesMovedAbout(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 4)
	p := lines(data) // header and answers 2 to 5
	otherDir := t.TempDir()
	env := testEnv()
	env.Random = bytes.NewReader(bytes.Repeat([]byte("another record's random bytes"), 100))
	other, err := Create(otherDir, "yellow", testHeader, env)
	if err != nil {
		t.Fatal(err)
	}
	appendAnswers(t, other, 4)
	other.Close()
	foreign := lines(readBytes(t, other.Path()))
	for _, c := range []struct {
		name   string
		data   []byte
		proved int // answers
		bad    string
		repair bool
	}{
		{"second line twice", joinLines(p[0], p[1], p[1], p[2], p[3], p[4]), 1, "line 3: damage: this is line 2 a second time", true},
		{"last line twice", joinLines(p[0], p[1], p[2], p[3], p[4], p[4]), 4, "line 6: damage: this is line 5 a second time", true},
		{"header twice", joinLines(p[0], p[0], p[1], p[2], p[3], p[4]), 0, "line 2: damage: this is line 1 a second time", true},
		{"all lines twice", joinLines(append(p[:5:5], p...)...), 4, "line 6: damage: this is line 1 a second time", true},
		{"two lines swapped", joinLines(p[0], p[2], p[1], p[3], p[4]), 0, "line 2: damage: line 2 is expected here, but this is line 3", true},
		{"last two swapped", joinLines(p[0], p[1], p[2], p[4], p[3]), 2, "line 4: damage: line 4 is expected here, but this is line 5", true},
		{"a line missing", joinLines(p[0], p[1], p[3], p[4]), 1, "line 3: damage: line 3 is expected here, but this is line 4", false},
		{"header missing", joinLines(p[1], p[2], p[3], p[4]), 0, "line 1: damage: line 1 is expected here, but this is line 2", false},
		{"a line of another record in place", joinLines(p[0], p[1], foreign[2], p[3], p[4]), 1, "line 3: damage: this line was not written after the line 2", false},
		{"a line of another record at the end", joinLines(p[0], p[1], p[2], p[3], foreign[4]), 3, "line 5: damage: this line was not written after the line 4", false},
		{"an earlier line of another record at the end", joinLines(p[0], p[1], p[2], foreign[1]), 2, "line 4: damage: line 4 is expected here, but this says it is line 2", false},
		{"a word in the middle", joinLines(p[0], p[1], "hello", p[2], p[3], p[4]), 1, "line 3: damage: this is no line of a record", false},
		{"two broken lines at the end", joinLines(p[0], p[1], p[2], p[3][:50], p[4][:50]), 2, "line 4: damage: this is no line of a record", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			writeBytes(t, path, c.data)
			checkDamage(t, path, c.data, c.proved, c.bad)
			checkRepair(t, path, c.data, data, c.repair)
		})
	}
}

// checkDamage fails unless the record is shown as damaged, and refused by Open
// without a byte being changed.
func checkDamage(t *testing.T, path string, data []byte, proved int, bad string) {
	t.Helper()
	v := mustView(t, path)
	checkAnswers(t, v, proved)
	if v.Bad == nil || !strings.HasPrefix(v.Bad.String(), bad) {
		t.Errorf("first bad place: got %v, want %q", v.Bad, bad)
	}
	seen := 0
	if v.Header.Format > 0 {
		seen = 1
	}
	if got, want := seen+proved+len(v.Unverified), bytes.Count(data, []byte("\n")); got != want {
		t.Errorf("%d lines shown, want all %d", got, want)
	}
	_, _, err := Open(path, testEnv())
	var refused *ReadOnlyError
	if !errors.As(err, &refused) || !errors.Is(err, ErrReadOnly) || refused.Content == nil || len(refused.Content.Lines) != proved {
		t.Errorf("Open: got %v, want a ReadOnlyError with the content", err)
	}
	if got := readBytes(t, path); !bytes.Equal(got, data) {
		t.Error("the file was changed")
	}
}

// checkRepair fails unless Repair does what it promises: all or nothing.
func checkRepair(t *testing.T, path string, damaged, whole []byte, can bool) {
	t.Helper()
	report, err := Check(path)
	if err != nil || report.Sound() || report.Repairable != can {
		t.Errorf("Check: got %+v, %v, want faults, repairable %v", report, err, can)
	}
	kept, err := Repair(path, testEnv())
	if !can {
		if !errors.Is(err, ErrReadOnly) || !bytes.Equal(readBytes(t, path), damaged) {
			t.Errorf("Repair: got %v, want ErrReadOnly and the file as it was", err)
		}
		return
	}
	if err != nil {
		t.Fatalf("Repair: %v", err)
	}
	if !bytes.Equal(readBytes(t, path), whole) {
		t.Error("the repaired file differs from the one that was written")
	}
	if !bytes.Equal(readBytes(t, kept), damaged) {
		t.Error("the damaged file was not kept")
	}
	os.Remove(kept)
}

func TestEditorsAndMail(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 3)
	crlf := bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n"))
	bom := []byte("\xef\xbb\xbf")
	for _, c := range []struct {
		name string
		data []byte
		says []string
	}{
		{"CRLF", crlf, []string{"line 1: warning: carriage returns were added"}},
		{"BOM", append(bom, data...), []string{"line 1: warning: a byte order mark was put"}},
		{"both", append(bom, crlf...), []string{"line 1: warning: a byte order mark", "line 1: warning: carriage returns"}},
		{"an empty line at the end", append(bytes.Clone(data), '\n'), []string{"line 5: warning: an empty line was added"}},
		{"one line with CR", bytes.Replace(data, []byte("\n"), []byte("\r\n"), 1), []string{"line 1: warning: carriage returns"}},
		{"CRLF and no last line feed", crlf[:len(crlf)-2], []string{"line 1: warning: carriage returns", "line 4: note: the line feed at the end is missing"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			writeBytes(t, path, c.data)
			v := mustView(t, path)
			checkAnswers(t, v, 3)
			checkFindings(t, v.Findings, c.says)
			if !v.Converted || v.Bad != nil {
				t.Errorf("converted %v, bad %v, want true and nil", v.Converted, v.Bad)
			}
			if _, _, err := Open(path, testEnv()); !errors.Is(err, ErrReadOnly) || !strings.Contains(err.Error(), "put the plain form back") {
				t.Errorf("Open: got %v, want ErrReadOnly with what to do", err)
			}
			checkRepair(t, path, c.data, data, true)
		})
	}
	t.Run("no last line feed is no fault", func(t *testing.T) {
		writeBytes(t, path, data[:len(data)-1])
		_, rec := mustOpen(t, path, testEnv())
		checkAnswers(t, rec.Content, 3)
		if got := readBytes(t, path); !bytes.Equal(got, data) {
			t.Error("the line feed was not put back")
		}
	})
	t.Run("UTF-16", func(t *testing.T) {
		wide := []byte("\xff\xfe")
		for _, b := range data {
			wide = append(wide, b, 0)
		}
		writeBytes(t, path, wide)
		checkFindings(t, mustView(t, path).Findings, []string{"line 1: damage: the file was saved as UTF-16"})
		if _, _, err := Open(path, testEnv()); !errors.Is(err, ErrReadOnly) {
			t.Errorf("Open: got %v, want ErrReadOnly", err)
		}
	})
}

// A converted file with a torn tail may be repaired: the tail never was a line.
func TestRepairLeavesATornTailInTheKeptFile(t *testing.T) {
	path, data := makeRecord(t, t.TempDir(), 3)
	damaged := append(bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n")), `{"crc":"12345`...)
	writeBytes(t, path, damaged)
	checkRepair(t, path, damaged, data, true)
}

func TestLaterVersions(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 2)
	p := lines(data)
	prev := p[2][len(framePrefix) : len(framePrefix)+8]
	sameShape := reframe(`{"v":2,"id":"abc","seq":4,"t":"2026-11-25T10:02:03.123Z","mono_ms":5,"kind":"weighed","prev":"` + prev + `","body":"x"}`)
	otherShape := reframe(`{"v":3,"number":4,"what":"x"}`)
	laterHeader := reframe(strings.Replace(strings.TrimSuffix(p[0][frameStart:], "}\n"), `"format":1`, `"format":2`, 1))
	for _, c := range []struct {
		name              string
		data              []byte
		newer             int
		lines, unverified int
	}{
		{"a later line of the same shape", joinLines(p[0], p[1], p[2], sameShape), 2, 3, 0},
		{"a later line of another shape", joinLines(p[0], p[1], p[2], otherShape), 3, 2, 1},
		{"a later line of another shape in the middle", joinLines(p[0], p[1], p[2], otherShape, p[2]), 3, 2, 2},
		{"a later header", joinLines(laterHeader), 2, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			writeBytes(t, path, c.data)
			v := mustView(t, path)
			if v.Newer != c.newer || len(v.Lines) != c.lines || len(v.Unverified) != c.unverified {
				t.Errorf("got version %d, %d lines, %d unverified, want %d, %d, %d", v.Newer, len(v.Lines), len(v.Unverified), c.newer, c.lines, c.unverified)
			}
			if w := v.Worst(); w == nil || w.Level != Warning {
				t.Errorf("worst finding: got %v, want a warning: it is no damage", w)
			}
			_, _, err := Open(path, testEnv())
			want := fmt.Sprintf("continued by a later release (format %d; this release writes 1); it can be read here; update the program to go on with it", c.newer)
			if !errors.Is(err, ErrReadOnly) || !strings.Contains(err.Error(), want) {
				t.Errorf("Open: got %v, want ErrReadOnly that says %q", err, want)
			}
			checkRepair(t, path, c.data, nil, false)
		})
	}
}

func TestAnotherFileIsNoRecord(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "notes.txt")
	for _, text := range []string{"hello\nworld\n", "{}\n", "sheet: 1\n", strings.Repeat("\x00", 5000), "\n\n"} {
		writeBytes(t, path, []byte(text))
		_, err1 := View(path)
		_, _, err2 := Open(path, testEnv())
		_, err3 := Check(path)
		_, err4 := Repair(path, testEnv())
		for i, err := range []error{err1, err2, err3, err4} {
			if !errors.Is(err, ErrNotRecord) {
				t.Errorf("%.10q, call %d: got %v, want ErrNotRecord", text, i+1, err)
			}
		}
		if got := string(readBytes(t, path)); got != text || len(dirNames(t, dir)) != 1 {
			t.Errorf("%.10q: the folder was changed: %v", text, dirNames(t, dir))
		}
	}
	if _, err := View(dir); err == nil || !strings.Contains(err.Error(), "is no file") {
		t.Errorf("View of a folder: got %v", err)
	}
	if _, err := View(filepath.Join(dir, "none")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("View of nothing: got %v", err)
	}
	if _, _, err := Open(filepath.Join(dir, "none.jsonl"), testEnv()); !errors.Is(err, os.ErrNotExist) || len(dirNames(t, dir)) != 1 {
		t.Errorf("Open of nothing: got %v and %v", err, dirNames(t, dir))
	}
}

func TestCheckSaysWhatToDo(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 3)
	r, err := Check(path)
	if err != nil || !r.Sound() || r.String() != path+": all 4 lines are sound\n" {
		t.Errorf("a sound record: got %v, %v", r, err)
	}
	writeBytes(t, path, append(bytes.Clone(data), `{"crc":"12`...))
	if r, err = Check(path); err != nil {
		t.Fatal(err)
	}
	checkFindings(t, r.Findings, []string{"line 5: damage: the last line is not whole: it was cut off while it was being saved, or altered later; go on with the record"})
	l, _ := mustOpen(t, path, testEnv())
	l.Close()
	writeBytes(t, stem(path)+newExt+"abc", nil)
	os.Chmod(path, 0o644)
	if r, err = Check(path); err != nil || !r.Sound() {
		t.Fatalf("after opening it: %v, %v", r, err)
	}
	checkFindings(t, r.Findings, []string{
		"note: others on this computer may read the file (mode 0644)",
		"note: yellow.new-abc was left by a rewrite",
		"note: yellow.torn-"})
	l, _ = mustOpen(t, path, testEnv())
	l.Close()
	if got := dirNames(t, dir); len(got) != 2 {
		t.Errorf("Open leaves %v, want the record and the torn tail", got)
	}
}
