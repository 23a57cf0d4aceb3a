package classroom_test

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"dropwalk/cmd/internal/classroom"
	"dropwalk/cmd/internal/session"
	"dropwalk/engine/record"
)

var monday = time.Date(2026, 11, 23, 14, 0, 0, 0, time.FixedZone("CET", 3600))

const procedureText = "procedure: 1\nname: intake\n"

// school is a class in a folder of its own, with groups A, B and C.
type school struct {
	t     *testing.T
	dir   string
	class *classroom.Class
	clock time.Time
	n     int
}

func newSchool(t *testing.T) *school {
	t.Helper()
	s := &school{t: t, dir: filepath.Join(t.TempDir(), "autumn"), clock: monday}
	people, faults := classroom.ReadRoster("roster.csv", []byte("name,group\nAda,A\nBen,A\nCleo,B\nDora,B\nEmil,C\nFay,C\n"))
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	s.class = &classroom.Class{ID: classroom.Code("autumn"), Title: "Autumn", Made: monday, Until: monday.Add(3 * time.Hour), Rotate: classroom.ByRun,
		Groups: classroom.Grouped(people), Procedures: []classroom.Pinned{{Name: "intake", SHA256: record.Hash([]byte(procedureText))}}}
	err := classroom.New(s.dir, s.class, classroom.Material{People: people, Procedures: map[string][]byte{"intake": []byte(procedureText)}}, record.Env{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// record makes a record with so many answers, and the bytes of it.
func (s *school) record(procedure, text string, answers int) []byte {
	s.t.Helper()
	s.n++
	log := s.begin(fmt.Sprintf("test-%d", s.n), procedure, text)
	s.answer(log, answers)
	path := log.Path()
	if err := log.Close(); err != nil {
		s.t.Fatal(err)
	}
	return s.read(path)
}

func (s *school) begin(name, procedure, text string) *record.Log {
	s.t.Helper()
	log, err := record.Create(filepath.Join(s.dir, "..", "records"), name, record.Header{Procedure: procedure, ProcedureSHA256: record.Hash([]byte(text))}, record.Env{})
	if err != nil {
		s.t.Fatal(err)
	}
	if _, err := log.Append(session.ProcedureKind, session.Procedure{Name: procedure, Text: text}); err != nil {
		s.t.Fatal(err)
	}
	return log
}

func (s *school) answer(log *record.Log, n int) {
	s.t.Helper()
	for i := range n {
		if _, err := log.Append("answered", map[string]any{"text": fmt.Sprintf("%d inH2O", i)}); err != nil {
			s.t.Fatal(err)
		}
	}
}

func (s *school) read(path string) []byte {
	s.t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		s.t.Fatal(err)
	}
	return data
}

func (s *school) write(name string, data []byte) {
	s.t.Helper()
	path := filepath.Join(s.dir, classroom.HandInDir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		s.t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		s.t.Fatal(err)
	}
}

// pack is what a group hands in, a minute after the one before.
func (s *school) pack(class, group, name string, data []byte) ([]byte, classroom.Head) {
	s.t.Helper()
	s.clock = s.clock.Add(time.Minute)
	text, head, err := classroom.Pack(class, group, name, data, "dropwalk test", s.clock)
	if err != nil {
		s.t.Fatal(err)
	}
	return text, head
}

// handIn is pack into the folder.
func (s *school) handIn(group, name string, data []byte) classroom.Head {
	s.t.Helper()
	text, head := s.pack(s.class.ID, group, name, data)
	s.write(head.File(), text)
	return head
}

func (s *school) collect() *classroom.Collected {
	s.t.Helper()
	c, err := classroom.Open(s.dir)
	if err != nil {
		s.t.Fatal(err)
	}
	got, err := classroom.Collect(s.dir, c, classroom.Visitor{})
	if err != nil {
		s.t.Fatal(err)
	}
	return got
}

// told is one file in short: "A counts late, renamed".
func told(i classroom.Item) string {
	text := i.Group
	if text == "" {
		text = "?"
	}
	if i.Counts {
		text += " counts"
	} else {
		text += " is out"
	}
	for _, r := range i.Remarks {
		text += " " + r.Code
	}
	return text
}

// Every way in which a file goes wrong is named, beside a sound one of group B that it
// doesn't touch. What is proved of a damaged record counts, and nothing counts twice.
func TestDamage(t *testing.T) {
	for _, way := range []struct {
		name string
		do   func(s *school)
		want []string // of the files that are not B's, in order
	}{
		{"cut", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 20))
			s.write(head.File(), text[:len(text)/2])
		}, []string{"A counts damaged"}},
		{"cut within the first line", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 20))
			s.write(head.File(), text[:100])
		}, []string{"? is out damaged"}},
		{"its beginning lost", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 20))
			s.write(head.File(), text[200:])
		}, []string{"A counts damaged"}},
		{"a flipped bit in the record", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 20))
			text[bytes.Index(text, []byte("15 inH2O"))] ^= 4
			s.write(head.File(), text)
		}, []string{"A counts damaged"}},
		{"a flipped bit in the first line", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 20))
			text[30] ^= 1
			s.write(head.File(), text)
		}, []string{"A counts damaged"}},
		{"line ends changed", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 20))
			s.write(head.File(), bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n")))
		}, []string{"A counts reshaped"}},
		{"wrong class", func(s *school) {
			text, head := s.pack(classroom.Code("spring"), "A", "car", s.record("intake", procedureText, 5))
			s.write(head.File(), text)
		}, []string{"A is out wrong-class"}},
		{"copied and continued by another group", func(s *school) {
			log := s.begin("shared", "intake", procedureText)
			s.answer(log, 5)
			s.handIn("A", "car", s.read(log.Path()))
			s.answer(log, 5)
			log.Close()
			s.handIn("C", "car", s.read(log.Path()))
		}, []string{"A counts", "C is out copied"}},
		{"gone on with in two places", func(s *school) {
			log := s.begin("shared", "intake", procedureText)
			s.answer(log, 5)
			log.Close()
			other := filepath.Join(s.dir, "..", "records", "other.jsonl")
			if err := os.WriteFile(other, s.read(log.Path()), 0o600); err != nil {
				s.t.Fatal(err)
			}
			for i, path := range []string{log.Path(), other} {
				log, _, err := record.Open(path, record.Env{})
				if err != nil {
					s.t.Fatal(err)
				}
				s.answer(log, 3+i)
				log.Close()
				s.handIn("A", fmt.Sprint("car-", i), s.read(path))
			}
		}, []string{"A is out branch", "A counts"}},
		{"handed in again after it went on", func(s *school) {
			log := s.begin("shared", "intake", procedureText)
			s.answer(log, 5)
			s.handIn("A", "car-1", s.read(log.Path()))
			s.answer(log, 5)
			log.Close()
			s.handIn("A", "car-2", s.read(log.Path()))
		}, []string{"A is out earlier", "A counts"}},
		{"renamed", func(s *school) {
			text, _ := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 5))
			s.write("our homework (final).handin", text)
		}, []string{"A counts renamed"}},
		{"two with one name", func(s *school) {
			s.handIn("A", "car", s.record("intake", procedureText, 5))
			s.handIn("A", "car", s.record("intake", procedureText, 6))
		}, []string{"A counts", "A counts same-name"}},
		{"future version", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 5))
			s.write(head.File(), bytes.ReplaceAll(text, []byte(`"hand_in":1`), []byte(`"hand_in":7`)))
		}, []string{"? is out later-release"}},
		{"a record that a later release went on with", func(s *school) {
			data := s.record("intake", procedureText, 5)
			text, head := s.pack(s.class.ID, "A", "car", data)
			s.write(head.File(), bytes.Replace(text, []byte(`"v":1,`), []byte(`"v":9,`), -1))
		}, []string{"A is out damaged"}},
		{"empty", func(s *school) { s.write("A-car.handin", nil) }, []string{"? is out empty"}},
		{"not a hand-in", func(s *school) { s.write("holiday.txt", []byte("Dear all,\nsee you on Monday.\n")) }, []string{"? is out no-hand-in"}},
		{"noise", func(s *school) { s.write("A.handin", bytes.Repeat([]byte{0, 255, 10, 13}, 1000)) }, []string{"? is out no-hand-in"}},
		{"a record that was not packed", func(s *school) { s.write("car.jsonl", s.record("intake", procedureText, 5)) }, []string{"? is out bare"}},
		{"code of another", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 5))
			_, other := s.pack(s.class.ID, "B", "car", s.record("intake", procedureText, 5))
			s.write(head.File(), bytes.ReplaceAll(text, []byte(head.Code), []byte(other.Code)))
		}, []string{"? is out damaged"}},
		{"the group altered by hand", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 5))
			s.write(head.File(), bytes.ReplaceAll(text, []byte(`"group":"A"`), []byte(`"group":"C"`)))
		}, []string{"? is out damaged"}},
		{"another procedure", func(s *school) {
			s.handIn("A", "car", s.record("rollers", "procedure: 1\nname: rollers\n", 5))
		}, []string{"A is out other-procedure"}},
		{"another text of the procedure", func(s *school) {
			s.handIn("A", "car", s.record("intake", procedureText+"# changed\n", 5))
		}, []string{"A counts other-text"}},
		{"practice", func(s *school) {
			log, err := record.Create(filepath.Join(s.dir, "..", "records"), "bench", record.Header{Procedure: "intake", Simulated: "bench"}, record.Env{})
			if err != nil {
				s.t.Fatal(err)
			}
			s.answer(log, 5)
			log.Close()
			s.handIn("A", "bench", s.read(log.Path()))
		}, []string{"A is out practice"}},
		{"duplicate", func(s *school) {
			text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 5))
			s.write(head.File(), text)
			s.write("copies/"+head.File(), text)
		}, []string{"A counts", "A is out duplicate"}},
		{"a group that is none", func(s *school) {
			s.handIn("AA", "car", s.record("intake", procedureText, 5))
		}, []string{"AA is out unknown-group"}},
		{"late", func(s *school) {
			s.clock = s.clock.Add(5 * time.Hour)
			s.handIn("A", "car", s.record("intake", procedureText, 5))
		}, []string{"A counts late"}},
	} {
		t.Run(way.name, func(t *testing.T) {
			s := newSchool(t)
			s.handIn("B", "car", s.record("intake", procedureText, 7))
			way.do(s)
			before := listing(t, s.dir)
			got := s.collect()
			var list []string
			for _, i := range got.Items {
				switch {
				case i.Group == "B":
					if told(i) != "B counts" {
						t.Errorf("the sound one: got %q, want B counts", told(i))
					}
				default:
					list = append(list, told(i))
				}
				for _, r := range i.Remarks {
					if r.Text == "" || strings.Contains(r.Text, "%!") {
						t.Errorf("%s: the remark says %q", r.Code, r.Text)
					}
				}
			}
			if diff := cmp.Diff(way.want, list); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
			if files := len(list) + 1; files != len(got.Items) {
				t.Errorf("%d files are told, and %d are there", files, len(got.Items))
			}
			if again := s.collect(); !cmp.Equal(got.Items, again.Items, cmp.AllowUnexported(classroom.Item{})) {
				t.Error("a second look tells something else")
			}
			if diff := cmp.Diff(before, listing(t, s.dir)); diff != "" {
				t.Errorf("looking changed the folder (-before +after)\n%s", diff)
			}
		})
	}
}

// listing is every file below a folder with its size and time.
func listing(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		info, err := e.Info()
		if err == nil {
			out[path] = fmt.Sprint(info.Size(), info.ModTime())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// One byte changed anywhere, or the file cut anywhere: it is never told as sound, the
// lines that are proved still count where the group can be told, and nothing panics.
func TestEveryByte(t *testing.T) {
	s := newSchool(t)
	text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 6))
	whole := classroom.Unpack("x", text)
	if !whole.Whole || whole.Head.Code != head.Code {
		t.Fatalf("the sound file: got %+v", whole)
	}
	lost := 0
	for i := range text {
		bad := bytes.Clone(text)
		bad[i] ^= 1 << (i % 8)
		o := classroom.Unpack("x", bad)
		if o.Whole {
			t.Fatalf("byte %d changed: told as sound", i)
		}
		if o.Head == nil {
			lost++
		}
		if o := classroom.Unpack("x", text[:i]); o.Whole && i < len(text)-1 { // the line feed at the end says nothing
			t.Fatalf("cut at byte %d: told as sound", i)
		}
	}
	if lost > 0 {
		t.Errorf("after %d of %d changes of one byte nobody can say whose file it is, want none", lost, len(text))
	}
}

// Groups of which nothing counts are missing.
func TestMissing(t *testing.T) {
	s := newSchool(t)
	if diff := cmp.Diff([]string{"A", "B", "C"}, s.collect().Missing); diff != "" {
		t.Error(diff)
	}
	s.handIn("B", "car", s.record("intake", procedureText, 5))
	if diff := cmp.Diff([]string{"A", "C"}, s.collect().Missing); diff != "" {
		t.Error(diff)
	}
}

// Handing the same state in again changes nothing, and a state that went on has
// another code.
func TestHandInTwice(t *testing.T) {
	s := newSchool(t)
	dir := filepath.Join(s.dir, classroom.HandInDir)
	data := s.record("intake", procedureText, 5)
	text, head := s.pack(s.class.ID, "A", "car", data)
	path, before, err := classroom.Put(dir, text, head, record.Env{})
	if err != nil || before {
		t.Fatalf("got %v, %v, want a new file", before, err)
	}
	first := s.read(path)
	again, later := s.pack(s.class.ID, "A", "car", data)
	if _, before, err := classroom.Put(dir, again, later, record.Env{}); err != nil || !before {
		t.Errorf("got %v, %v, want it to be there already", before, err)
	}
	if later.Code != head.Code || !bytes.Equal(first, s.read(path)) {
		t.Errorf("got the code %s and a changed file, want %s and none", later.Code, head.Code)
	}
	if _, other := s.pack(s.class.ID, "B", "car", data); other.Code == head.Code {
		t.Error("two groups have one code")
	}
}

// Groups that hand in at the same time don't disturb each other.
func TestHandInAtOnce(t *testing.T) {
	s := newSchool(t)
	dir := filepath.Join(s.dir, classroom.HandInDir)
	var all sync.WaitGroup
	for _, group := range []string{"A", "B", "C", "A", "B", "C"} {
		text, head := s.pack(s.class.ID, group, "car", s.record("intake", procedureText, 5))
		all.Go(func() {
			if _, _, err := classroom.Put(dir, text, head, record.Env{}); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	got := s.collect()
	for _, i := range got.Items {
		if !i.Counts || i.Has(classroom.Damaged, classroom.Renamed) {
			t.Errorf("got %s for %s", told(i), i.File)
		}
	}
	if len(got.Items) != 6 || len(got.Missing) != 0 {
		t.Errorf("got %d files and missing %v", len(got.Items), got.Missing)
	}
}

// What lies on a stick is copied once; another file of one name gets another one.
func TestFromStick(t *testing.T) {
	s := newSchool(t)
	stick := t.TempDir()
	text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 5))
	other, _ := s.pack(s.class.ID, "C", "car", s.record("intake", procedureText, 5))
	for name, data := range map[string][]byte{head.File(): text, "x/" + head.File(): other, "photo.jpg": []byte("no")} {
		path := filepath.Join(stick, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	list, _, err := classroom.FromStick(stick, s.dir, record.Env{})
	if err != nil || len(list) != 2 {
		t.Fatalf("got %v, %v, want two files", list, err)
	}
	before := listing(t, s.dir)
	if list, _, err := classroom.FromStick(stick, s.dir, record.Env{}); err != nil || len(list) != 0 {
		t.Errorf("a second time: got %v, %v, want none", list, err)
	}
	if diff := cmp.Diff(before, listing(t, s.dir)); diff != "" {
		t.Error(diff)
	}
	if got := s.collect(); len(got.Missing) != 1 || got.Missing[0] != "B" {
		t.Errorf("got missing %v, want B", got.Missing)
	}
}

// A head made by hand can claim any length: the file is told damaged, and the others
// are looked at all the same.
func TestHeadThatClaimsTooLittle(t *testing.T) {
	s := newSchool(t)
	data := s.record("intake", procedureText, 5)
	_, head := s.pack(s.class.ID, "A", "car", data)
	head.Record.Bytes, head.Record.Lines = -1, -7
	s.write("odd.handin", classroom.Sealed(head, data))
	s.handIn("B", "car", s.record("intake", procedureText, 5))
	got := s.collect()
	if len(got.Items) != 2 || !got.Items[1].Counts || got.Items[0].Counts || !got.Items[0].Has(classroom.Damaged) {
		t.Errorf("got %+v", got.Items)
	}
}

// What can't be read on a stick, or only leads elsewhere, is named and holds up nothing.
func TestStickWithTrouble(t *testing.T) {
	s := newSchool(t)
	stick := t.TempDir()
	text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 5))
	if err := os.WriteFile(filepath.Join(stick, "z.handin"), text, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a.handin", "b.handin"} {
		if err := os.Symlink(map[string]string{"a.handin": filepath.Join(s.dir, classroom.RosterFile), "b.handin": "nowhere"}[name], filepath.Join(stick, name)); err != nil {
			t.Skip("no links here: ", err)
		}
	}
	if err := os.Mkdir(filepath.Join(stick, "lost+found"), 0o000); err != nil {
		t.Fatal(err)
	}
	list, left, err := classroom.FromStick(stick, s.dir, record.Env{})
	if err != nil || len(list) != 1 || list[0] != "z.handin" {
		t.Fatalf("got %v, %v, want z.handin", list, err)
	}
	want := 3
	if os.Geteuid() == 0 {
		want = 2 // root may read everywhere
	}
	if len(left) != want || !strings.Contains(left[0], "a.handin: it is no plain file") {
		t.Errorf("left out: %q, want %d", left, want)
	}
	if got := s.collect(); len(got.Items) != 1 || got.Items[0].Code != head.Code {
		t.Errorf("what came in: %+v", got.Items)
	}
}

// Several people who collect at once, each from a stick with another file of the same
// name, lose none of them.
func TestCollectingAtOnceLosesNothing(t *testing.T) {
	s := newSchool(t)
	const sticks = 8
	var all sync.WaitGroup
	faults := make([]error, sticks)
	for n := range sticks {
		stick := t.TempDir()
		if err := os.WriteFile(filepath.Join(stick, "test.handin"), fmt.Appendf(nil, "of stick %d", n), 0o644); err != nil {
			t.Fatal(err)
		}
		all.Go(func() { _, _, faults[n] = classroom.FromStick(stick, s.dir, record.Env{}) })
	}
	all.Wait()
	if err := errors.Join(faults...); err != nil {
		t.Fatal(err)
	}
	met := map[string]bool{}
	for path := range listing(t, filepath.Join(s.dir, classroom.HandInDir)) {
		met[string(s.read(path))] = true
	}
	if len(met) != sticks {
		t.Errorf("of %d files there are %d", sticks, len(met))
	}
}

// The file of the class comes last: a folder for which there was no room is no class,
// and may be begun again.
func TestClassIsBegunAgainAfterAFullDisk(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "autumn")
	people := []classroom.Person{{ID: "A1", Name: "Ada", Group: "A", Drives: true}}
	c := &classroom.Class{ID: classroom.Code("autumn"), Made: monday, Rotate: classroom.ByRun, Groups: classroom.Grouped(people), Procedures: []classroom.Pinned{{Name: "intake"}}}
	m := classroom.Material{People: people, Procedures: map[string][]byte{"intake": []byte(procedureText)}, Worksheets: map[string][]byte{"A.html": []byte("x"), "B.html": []byte("y")}}
	// A folder in its place keeps the last worksheet from being written, as no room would.
	inTheWay := filepath.Join(dir, classroom.WorksheetDir, "B.html")
	if err := os.MkdirAll(inTheWay, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := classroom.New(dir, c, m, record.Env{}); err == nil {
		t.Fatal("it was made all the same")
	}
	if _, err := classroom.Open(dir); !errors.Is(err, classroom.ErrNoClass) {
		t.Errorf("half a class opens with %v, want %v", err, classroom.ErrNoClass)
	}
	if err := os.Remove(inTheWay); err != nil {
		t.Fatal(err)
	}
	if err := classroom.New(dir, c, m, record.Env{}); err != nil {
		t.Errorf("begun again: %v", err)
	}
	if got := string((&school{t: t}).read(inTheWay)); got != "y" {
		t.Errorf("the worksheet says %q", got)
	}
}

// A folder that can't be written to says so, and nothing half-made is left.
func TestReadOnlyFolder(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("root may write everywhere")
	}
	s := newSchool(t)
	dir := filepath.Join(s.dir, classroom.HandInDir)
	if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(dir, 0o755)
	text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 5))
	if _, _, err := classroom.Put(dir, text, head, record.Env{}); !errors.Is(err, fs.ErrPermission) {
		t.Errorf("got %v, want permission denied", err)
	}
}

// fullDisk takes a few bytes and no more.
type fullDisk struct{ record.Disk }

func (d fullDisk) OpenFile(name string, flag int, perm fs.FileMode) (record.File, error) {
	f, err := d.Disk.OpenFile(name, flag, perm)
	if err != nil || flag&os.O_CREATE == 0 {
		return f, err
	}
	return fullFile{f}, nil
}

type fullFile struct{ record.File }

func (f fullFile) Write(p []byte) (int, error) {
	n, _ := f.File.Write(p[:min(10, len(p))])
	return n, record.ErrFull
}

// On a full disk the hand-in fails with a word on it and leaves nothing behind.
func TestFullDisk(t *testing.T) {
	s := newSchool(t)
	dir := filepath.Join(s.dir, classroom.HandInDir)
	text, head := s.pack(s.class.ID, "A", "car", s.record("intake", procedureText, 5))
	_, _, err := classroom.Put(dir, text, head, record.Env{FS: fullDisk{}})
	if !errors.Is(err, record.ErrFull) {
		t.Errorf("got %v, want a full disk", err)
	}
	if left, _ := os.ReadDir(dir); len(left) != 0 {
		t.Errorf("%d files are left behind", len(left))
	}
}

// A class in a folder is never overwritten; a folder without a class says so.
func TestFolder(t *testing.T) {
	s := newSchool(t)
	if err := classroom.New(s.dir, s.class, classroom.Material{}, record.Env{}); !errors.Is(err, fs.ErrExist) {
		t.Errorf("got %v, want that it is there already", err)
	}
	if _, err := classroom.Open(t.TempDir()); !errors.Is(err, classroom.ErrNoClass) {
		t.Errorf("got %v, want no class", err)
	}
	if text := s.read(filepath.Join(s.dir, "class.yaml")); bytes.Contains(text, []byte("Cleo")) {
		t.Error("the file that everybody may see has names of people")
	}
	names, err := classroom.Names(s.dir)
	if err != nil || names["B1"] != "Cleo" {
		t.Errorf("got %v, %v, want B1 to be Cleo", names, err)
	}
	if info, err := os.Stat(filepath.Join(s.dir, classroom.RosterFile)); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the roster has the mode %v", info.Mode())
	}
}

// Faults of a file of a class come with their place.
func TestBrokenClassFile(t *testing.T) {
	s := newSchool(t)
	path := filepath.Join(s.dir, "class.yaml")
	text := string(s.read(path))
	for from, want := range map[string]string{
		"rotate: run":     "rotate",
		"name: C":         "twice",
		"class_folder: 1": "class_folder",
	} {
		broken := strings.Replace(text, from, map[string]string{"rotate: run": "rotate: week", "name: C": "name: A", "class_folder: 1": "class_folder: 2"}[from], 1)
		if broken == text {
			t.Fatalf("%q is not in\n%s", from, text)
		}
		if err := os.WriteFile(path, []byte(broken), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := classroom.Open(s.dir); err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "class.yaml:") {
			t.Errorf("%s: got %v, want a place and %q", from, err, want)
		}
	}
}
