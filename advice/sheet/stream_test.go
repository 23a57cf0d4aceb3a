package sheet

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"dropwalk/engine/strictyaml"
)

// small is the least that is a sheet, with a title to know it by.
func small(title string) string {
	return "sheet: 1\ntitle: " + title + "\ncar: {engine: {displacement: 1998 cc}}\npath: [{name: a, kind: duct}]\n"
}

// smallJSON is small as one line of JSON.
func smallJSON(title string) string {
	return fmt.Sprintf(`{"sheet": 1, "title": %q, "car": {"engine": {"displacement": "1998 cc"}}, "path": [{"name": "a", "kind": "duct"}]}`, title)
}

// told reads a stream and tells of each part in one line: the title, or the
// first fault.
func told(r io.Reader) []string {
	var out []string
	ReadAll("f", r, func(s *Sheet, faults strictyaml.Faults) bool {
		if s != nil {
			out = append(out, s.Title)
			return true
		}
		first, _, _ := strings.Cut(faults.Error(), "\n")
		out = append(out, first)
		return true
	})
	return out
}

// cutOff is what is told of so many lines that each begin a sheet.
func cutOff(n int) []string {
	var list []string
	for i := range n {
		list = append(list, fmt.Sprintf("f:%d:1: unexpected '{', expected a key in double quotes", i+2))
	}
	return list
}

func TestReadAll(t *testing.T) {
	for name, c := range map[string]struct {
		src  string
		want []string
	}{
		"one":                     {small("A"), []string{"A"}},
		"two":                     {small("A") + "---\n" + small("B"), []string{"A", "B"}},
		"leading and last marks":  {"---\n" + small("A") + "---\n# only a remark\n---\n" + small("B") + "---\n", []string{"A", "B"}},
		"directive":               {"%YAML 1.2\n---\n" + small("A") + "...\n", []string{"A"}},
		"mark with a remark":      {small("A") + "--- # next\n" + small("B"), []string{"A", "B"}},
		"ruler":                   {small("A") + "----------\n" + small("B"), []string{"A", "B"}},
		"windows line ends":       {strings.ReplaceAll(small("A")+"---\n"+small("B"), "\n", "\r\n"), []string{"A", "B"}},
		"byte order mark":         {"\uFEFF" + small("A"), []string{"A"}},
		"mark after a byte order": {"\uFEFF---\n" + small("A"), []string{"A"}},
		"broken between good": {small("A") + "---\nsheet: 1\ntitle: [x\n---\n" + small("C"),
			[]string{"A", "f:7:8: the bracket [ is not closed, expected a closing ]", "C"}},
		"open quote hides nothing": {"title: \"A\n---\n" + small("B"),
			[]string{`f:1:8: the quote " is not closed, expected a closing quote`, "B"}},
		"not UTF-8 hides nothing": {"title: \xff\n---\n" + small("B"),
			[]string{"f:1:8: the byte 0xff is not UTF-8, expected UTF-8 text (save it as UTF-8)", "B"}},
		"missing, with its line": {small("A") + "---\n\n\ntitle: B\n",
			[]string{"A", `f:8:1: the key "sheet" is missing, expected sheet: 1 (for example sheet: 1)`}},
		"a later version": {small("A") + "---\nsheet: 2\npaths: 3\n",
			[]string{"A", "f:6:8: sheet: a test sheet of version 2, which this release can't read, expected version 1 (a newer release reads it)"}},
		"empty":   {"", []string{"f:1:1: no sheet stands here, expected a test sheet, which begins with sheet: 1"}},
		"remarks": {"# nothing\n---\n", []string{"f:1:1: no sheet stands here, expected a test sheet, which begins with sheet: 1"}},
		"no map":  {"hello\n", []string{`f:1:1: "hello" stands here, expected a test sheet, which begins with sheet: 1`}},

		"JSON":                  {smallJSON("A"), []string{"A"}},
		"JSON lines":            {smallJSON("A") + "\n" + smallJSON("B") + "\n\n", []string{"A", "B"}},
		"JSON on one line":      {smallJSON("A") + " " + smallJSON("B"), []string{"A", "B"}},
		"JSON over many lines":  {strings.ReplaceAll(smallJSON("A"), ", ", ",\n") + "\n" + strings.ReplaceAll(smallJSON("B"), ": ", ":\n"), []string{"A", "B"}},
		"JSON with a byte mark": {"\uFEFF \n" + smallJSON("A"), []string{"A"}},
		"JSON place on a shared line": {smallJSON("A") + ` {"sheet": 3}`,
			[]string{"A", "f:1:127: sheet: a test sheet of version 3, which this release can't read, expected version 1 (a newer release reads it)"}},
		"JSON bracket missing": {smallJSON("A") + "\n" + strings.TrimSuffix(smallJSON("B"), "}") + "\n" + smallJSON("C") + "\n" + smallJSON("D"),
			[]string{"A", "f:3:1: unexpected '{', expected a comma or the } that closes the { on line 2", "C", "D"}},
		"JSON quote missing": {strings.Replace(smallJSON("A"), `"A"`, `"A`, 1) + "\n" + smallJSON("B"),
			[]string{`f:1:28: unexpected 'c', expected a comma or the } that closes the { on line 1`, "B"}},
		"JSON rest":                  {smallJSON("A") + " x\n" + smallJSON("B"), []string{"A", "f:1:117: 'x' where a sheet should begin, expected { or the end of the file", "B"}},
		"JSON cut":                   {smallJSON("A") + "\n" + `{"sheet": 1,`, []string{"A", "f:2:13: the text ends in the middle, expected a key in double quotes"}},
		"JSON cut off in many lines": {strings.Repeat("{\"sheet\": 1,\n", 12) + smallJSON("B"), append(cutOff(12), "B")},
		"JSON with the version in a line of its own": {strings.Repeat("{\n \"sheet\": 1,\n", 2) + "{\n" + smallJSON("B")[1:],
			[]string{"f:3:1: unexpected '{', expected a key in double quotes", "f:5:1: unexpected '{', expected a key in double quotes", "B"}},
		"JSON broken inside, written over lines": {"{\n\"sheet\": 1,,\n\"path\": [\n{\"name\": 1},\n{\"name\": 2}\n]\n}\n{\n" + smallJSON("B")[1:],
			[]string{"f:2:12: unexpected ',', expected a key in double quotes", "B"}},
	} {
		t.Run(name, func(t *testing.T) {
			got := told(strings.NewReader(c.src))
			if strings.Join(got, "\n") != strings.Join(c.want, "\n") {
				t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(c.want, "\n"))
			}
			if slow := told(iotest.OneByteReader(strings.NewReader(c.src))); strings.Join(slow, "\n") != strings.Join(got, "\n") {
				t.Errorf("byte by byte it reads\n%s\nat once\n%s", strings.Join(slow, "\n"), strings.Join(got, "\n"))
			}
		})
	}
}

// A sheet that is too large is refused and passed over, in either form, also
// where it is one endless line.
func TestReadAllPassesOverTheHuge(t *testing.T) {
	huge := "title: A\n" + strings.Repeat("# remark\n", 250_000)
	got := told(strings.NewReader(small("A") + "---\n" + huge + "---\n" + small("C")))
	want := []string{"A", "f:5:1: the sheet that begins here is too large, expected at most 1024 KiB", "C"}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got %q, want %q", got, want)
	}
	line := `{"sheet": 1, "title": "` + strings.Repeat("x", 3<<20) + "\"}\n"
	got = told(strings.NewReader(line + smallJSON("B")))
	want = []string{"f:1:1: the sheet that begins here is too large, expected at most 1024 KiB", "B"}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got %q, want %q", got, want)
	}
}

// The work on what is broken grows with its length only: no line is gathered
// for more than mostLooks objects, however the brackets stand, and what is told
// stays in bounds. A good sheet behind all that is found.
func TestReadAllWorksInProportion(t *testing.T) {
	const lines = 4_000
	for name, src := range map[string]string{
		"open brackets":         strings.Repeat("{\n", lines),
		"open keys":             strings.Repeat("{\"a\":\n", lines),
		"open versions":         strings.Repeat("{\"sheet\":\n", lines),
		"open lists":            strings.Repeat("{\n", mostLooks+2) + strings.Repeat("[1],\n", lines),
		"one open, many closed": "{\n" + strings.Repeat("{\n}\n", lines/2),
		"open and closed":       strings.Repeat("{\n{\n}\n", lines/3),
		"other objects":         strings.Repeat("{\"time\": 1}\n", lines),
		"other objects in rows": strings.Repeat(strings.Repeat("{\"time\": 1}", 5)+"\n", lines/5),
	} {
		t.Run(name, func(t *testing.T) {
			src += strings.Repeat("#\n", strictyaml.MaxBytes/2) + smallJSON("Z") + "\n"
			in := &lineReader{r: bufio.NewReader(strings.NewReader(src))}
			j := &jsonParts{file: "f", in: in}
			parts, last := 0, ""
			for p, ok := j.next(); ok; p, ok = j.next() {
				if parts++; p.root != nil {
					last = p.root.Get("title").Str()
				}
			}
			if j.looks > mostLooks*in.number {
				t.Errorf("%d lines were gathered for a stream of %d, want at most %d times as many", j.looks, in.number, mostLooks)
			}
			most := mostBroken + lines/20
			if name == "open versions" {
				most = lines + 1
			}
			if parts > most {
				t.Errorf("%d parts are told of, want at most %d", parts, most)
			}
			if last != "Z" {
				t.Errorf("the last sheet is %q, want Z", last)
			}
		})
	}
}

// Memory stays flat: after 400 sheets of 20 KiB, 8 MiB of text, no more
// lives than after 100, give or take 2 MiB for the runtime's own tables.
func TestReadAllHoldsOneSheet(t *testing.T) {
	doc := []byte("---\n" + small("A") + "#" + strings.Repeat(" long remark", 20<<10/12) + "\n")
	parts := make([]io.Reader, 400)
	for i := range parts {
		parts[i] = bytes.NewReader(doc)
	}
	alive := func() int64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	read, early := 0, int64(0)
	ReadAll("f", io.MultiReader(parts...), func(s *Sheet, faults strictyaml.Faults) bool {
		if s == nil {
			t.Fatal(faults)
		}
		if read++; read == 100 {
			early = alive()
		}
		return true
	})
	if late := alive(); read != 400 || late-early > 2<<20 {
		t.Errorf("%d sheets were read and %d bytes more are alive, want 400 and at most 2 MiB", read, late-early)
	}
}

// A reader that fails in the middle is a fault, not an end.
func TestReadAllTellsOfABrokenReader(t *testing.T) {
	got := told(io.MultiReader(strings.NewReader(small("A")+"---\n"), iotest.ErrReader(errors.New("the disk is gone"))))
	want := []string{"A", "f:6:1: reading broke off: the disk is gone, expected the rest of the file"}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestReadAllStopsWhenAsked(t *testing.T) {
	calls := 0
	ReadAll("f", strings.NewReader(strings.Repeat("---\n"+small("A"), 5)), func(*Sheet, strictyaml.Faults) bool {
		calls++
		return calls < 2
	})
	if calls != 2 {
		t.Errorf("got %d calls, want 2", calls)
	}
}

// JSON and YAML are two ways of writing one sheet.
func TestJSONIsTheSameSheet(t *testing.T) {
	s, src := example(t)
	root, faults := strictyaml.ParseYAML("f", src, 1)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(asJSON(root))
	if err != nil {
		t.Fatal(err)
	}
	got, faults := Read("f", b)
	if err := faults.Err(); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(Write(got), Write(s)) {
		t.Errorf("read from JSON:\n%s\nfrom YAML:\n%s", Write(got), Write(s))
	}
}

// asJSON makes of a tree what encoding/json writes.
func asJSON(n *strictyaml.Node) any {
	switch n.Kind {
	case strictyaml.Map:
		m := map[string]any{}
		for _, p := range n.Pairs {
			m[p.Key] = asJSON(p.Value)
		}
		return m
	case strictyaml.List:
		list := []any{}
		for _, item := range n.Items {
			list = append(list, asJSON(item))
		}
		return list
	}
	switch n.Type {
	case strictyaml.Int, strictyaml.Float:
		return json.Number(n.Text)
	case strictyaml.Bool:
		return n.Text == "true"
	}
	return n.Text
}

// A thousand sheets in one stream. Reported beside the time: sheets a second.
func BenchmarkReadAll(b *testing.B) {
	_, src := example(b)
	stream := bytes.Repeat(append([]byte("---\n"), src...), 1000)
	b.ReportAllocs()
	for b.Loop() {
		read := 0
		ReadAll("f", bytes.NewReader(stream), func(s *Sheet, _ strictyaml.Faults) bool {
			if s != nil {
				read++
			}
			return true
		})
		if read != 1000 {
			b.Fatalf("got %d sheets, want 1000", read)
		}
	}
	b.ReportMetric(1000*float64(b.N)/b.Elapsed().Seconds(), "sheets/s")
}
