package record

import (
	"bytes"
	"errors"
	"path/filepath"
	"testing"
)

// Whatever line is spoilt, those before it become a record that goes on, and
// the old file stays as it was.
func TestSalvageKeepsWhatStandsBeforeTheDamage(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 5)
	for n, step := range map[string]string{"one": "step-2", "three": "step-4"} {
		spoilt := bytes.Replace(data, []byte(step), []byte("step-X"), 1)
		writeBytes(t, path, spoilt)
		to, err := Salvage(path, n, testEnv())
		if err != nil {
			t.Fatal(err)
		}
		if got, want := readBytes(t, to), spoilt[:bytes.LastIndexByte(spoilt[:bytes.Index(spoilt, []byte("step-X"))], '\n')+1]; !bytes.Equal(got, want) {
			t.Errorf("with %s spoilt it holds\n%s\nwant\n%s", step, got, want)
		}
		if !bytes.Equal(readBytes(t, path), spoilt) {
			t.Error("the old file was changed")
		}
		l, found := mustOpen(t, to, testEnv())
		if len(found.Did) > 0 || found.Header.Car != "yellow-estate" {
			t.Errorf("it opens with %v, car %q", found.Did, found.Header.Car)
		}
		appendAnswers(t, l, 1)
		l.Close()
	}
}

// A record that mail has converted and somebody has spoilt.
func TestSalvageTakesForeignLineEndsOut(t *testing.T) {
	path, data := makeRecord(t, t.TempDir(), 4)
	spoilt := bytes.ReplaceAll(bytes.Replace(data, []byte("step-4"), []byte("step-X"), 1), []byte("\n"), []byte("\r\n\r\n"))
	writeBytes(t, path, append([]byte("\xef\xbb\xbf"), spoilt...))
	to, err := Salvage(path, "saved", testEnv())
	if err != nil {
		t.Fatal(err)
	}
	if got := readBytes(t, to); !bytes.HasPrefix(data, got) || bytes.Count(got, []byte("\n")) != 3 {
		t.Errorf("it holds\n%s\nwant the first three lines of\n%s", got, data)
	}
}

func TestSalvageRefuses(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 3)
	for name, c := range map[string]struct {
		data []byte
		as   string
		want error
	}{
		"a sound one":         {data, "new", ErrNothing},
		"one that is mended":  {bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n")), "new", ErrNothing},
		"no header":           {bytes.Replace(data, []byte("yellow-estate"), []byte("yellow-esTate"), 1), "new", ErrNothing},
		"something else":      {[]byte("hello\n"), "new", ErrNotRecord},
		"a name that's taken": {bytes.Replace(data, []byte("step-3"), []byte("step-X"), 1), "yellow", ErrExists},
		"no name":             {data, "a b", ErrName},
	} {
		writeBytes(t, path, c.data)
		if to, err := Salvage(path, c.as, testEnv()); !errors.Is(err, c.want) || to != "" && c.want != nil {
			t.Errorf("%s: got %q, %v; want an error that is %v", name, to, err, c.want)
		}
		if files, _ := filepath.Glob(filepath.Join(dir, "*")); len(files) != 1 {
			t.Errorf("%s: it leaves %q", name, files)
		}
	}
}
