package record

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestCheckName(t *testing.T) {
	for _, name := range []string{"a", "yellow-estate", "Yellow_2", "2026-11-25", "com", "com10", "console", "lpt", strings.Repeat("n", 64)} {
		if err := CheckName(name); err != nil {
			t.Errorf("%q: %v", name, err)
		}
	}
	for _, name := range []string{
		"", ".", "..", "a/b", `a\b`, "../a", "/etc/passwd", "a.b", "a b", "a\x00b", "a\nb", "\x1b[2J", "-a", "_a", "a:b", "a*", "ü", "a\u202eb", "\xff",
		"con", "CON", "prn", "Aux", "nul", "com0", "com1", "LPT9", "c\u00b9", strings.Repeat("n", 65),
	} {
		if err := CheckName(name); !errors.Is(err, ErrName) {
			t.Errorf("%q: got %v, want ErrName", name, err)
		}
	}
}

func TestCreateAndRenameRefuseBadNames(t *testing.T) {
	outer := t.TempDir()
	dir := filepath.Join(outer, "records")
	path, _ := makeRecord(t, dir, 1)
	for _, name := range []string{"../evil", "con", "a/b", ""} {
		if _, err := Create(dir, name, testHeader, testEnv()); !errors.Is(err, ErrName) {
			t.Errorf("Create %q: got %v, want ErrName", name, err)
		}
		if _, err := Rename(path, name, testEnv()); !errors.Is(err, ErrName) {
			t.Errorf("Rename to %q: got %v, want ErrName", name, err)
		}
	}
	if got := len(dirNames(t, outer)) + len(dirNames(t, dir)); got != 2 {
		t.Errorf("something was made: %v, %v", dirNames(t, outer), dirNames(t, dir))
	}
}

func TestNameFrom(t *testing.T) {
	for text, want := range map[string]string{
		"Yellow estate, 2nd visit": "yellow-estate-2nd-visit",
		"  --A/B..  ":              "a-b",
		"con":                      "con-record",
		"COM1":                     "com1-record",
		"":                         "record",
		"../..":                    "record",
		"Größe 4":                  "groesse-4",
		"Gru\u0308ner Šafrán-Å":    "gruener-safran-aa",
		"車 7":                      "7",
		"\x1b[31mred":              "31mred",
		strings.Repeat("ab-", 40):  strings.Repeat("ab-", 21) + "a",
	} {
		got := NameFrom(text)
		if got != want || CheckName(got) != nil {
			t.Errorf("NameFrom(%q): got %q, want %q, a good name", text, got, want)
		}
	}
}

func TestFreeName(t *testing.T) {
	dir := t.TempDir()
	long := strings.Repeat("n", 64)
	for _, name := range []string{"yellow", "Yellow-2", "green", long} {
		writeBytes(t, Path(dir, name), nil)
	}
	for base, want := range map[string]string{"yellow": "yellow-3", "blue": "blue", "green": "green-2", long: long[:62] + "-2"} {
		got, err := FreeName(dir, base, Env{})
		if err != nil || got != want {
			t.Errorf("FreeName(%q): got %q, %v, want %q", base, got, err, want)
		}
	}
	if got, err := FreeName(filepath.Join(dir, "none"), "yellow", Env{}); err != nil || got != "yellow" {
		t.Errorf("in a folder that isn't there: got %q, %v", got, err)
	}
	if _, err := FreeName(dir, "a/b", Env{}); !errors.Is(err, ErrName) {
		t.Errorf("a bad base: got %v, want ErrName", err)
	}
}

func TestPlace(t *testing.T) {
	home := func() (string, error) { return "/home/tester", nil }
	windowsHome := func() (string, error) { return `C:\Users\tester`, nil }
	none := func() (string, error) { return "", os.ErrNotExist }
	for _, c := range []struct {
		name, goos string
		env        map[string]string
		home       func() (string, error)
		want       string
	}{
		{"Linux", "linux", nil, home, "/home/tester/.local/share/dropwalk/records"},
		{"Linux with XDG", "linux", map[string]string{"XDG_DATA_HOME": "/data/"}, none, "/data/dropwalk/records"},
		{"Linux, XDG not absolute", "linux", map[string]string{"XDG_DATA_HOME": "data"}, home, "/home/tester/.local/share/dropwalk/records"},
		{"FreeBSD", "freebsd", nil, home, "/home/tester/.local/share/dropwalk/records"},
		{"macOS", "darwin", map[string]string{"XDG_DATA_HOME": "/data"}, home, "/home/tester/Library/Application Support/dropwalk/records"},
		{"Windows", "windows", map[string]string{"LocalAppData": `D:\Local\`}, none, `D:\Local\dropwalk\records`},
		{"Windows without LocalAppData", "windows", nil, windowsHome, `C:\Users\tester\AppData\Local\dropwalk\records`},
	} {
		got, err := Place(c.goos, func(k string) string { return c.env[k] }, c.home)
		if err != nil || got != c.want {
			t.Errorf("%s: got %q, %v, want %q", c.name, got, err, c.want)
		}
	}
	for _, goos := range []string{"linux", "darwin", "windows"} {
		for _, home := range []func() (string, error){none, func() (string, error) { return "", nil }} {
			if _, err := Place(goos, func(string) string { return "" }, home); err == nil || !strings.Contains(err.Error(), "--dir") {
				t.Errorf("%s without a home: got %v, want what to do", goos, err)
			}
		}
	}
}
