package record

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"
)

// Side files of a record stand beside it. No name of a record holds a dot, so
// they can't be taken for another record or its side files.
const (
	lockExt = ".lock"
	heldExt = ".held" // the lock where the file system has none
	newExt  = ".new-" // a rewrite in progress; never the only copy of anything
	tornExt = ".torn-"
	keptExt = ".kept-" // the old file after a rewrite
)

// maxName leaves room for the side files on every file system.
const maxName = 64

// CheckName says what is wrong with a name for a record, or nil. A name has
// letters and digits of ASCII, - and _, begins with a letter or digit, is up to
// 64 long, and is none of the names that Windows keeps for devices.
func CheckName(name string) error {
	const letters = "abcdefghijklmnopqrstuvwxyz0123456789"
	lower := strings.ToLower(name)
	switch {
	case name == "":
		return fmt.Errorf("%w: it is empty", ErrName)
	case len(name) > maxName:
		return fmt.Errorf("%w: %q is longer than %d characters", ErrName, name[:maxName]+"...", maxName)
	case strings.Trim(lower, letters+"-_") != "" || strings.ContainsFunc(lower, outside(letters+"-_")):
		return fmt.Errorf("%w: %q, expected letters a-z, digits, - and _", ErrName, name)
	case !strings.ContainsRune(letters, rune(lower[0])):
		return fmt.Errorf("%w: %q, expected a letter or digit first", ErrName, name)
	case isDevice(lower):
		return fmt.Errorf("%w: %q is the name of a device on Windows", ErrName, name)
	}
	return nil
}

func outside(set string) func(rune) bool {
	return func(r rune) bool { return !strings.ContainsRune(set, r) }
}

// isDevice knows the reserved names of "Naming Files, Paths, and Namespaces" in
// the Windows documentation.
func isDevice(lower string) bool {
	switch lower {
	case "con", "prn", "aux", "nul":
		return true
	}
	digit, port := strings.CutPrefix(lower, "com")
	if !port {
		digit, port = strings.CutPrefix(lower, "lpt")
	}
	return port && len(digit) == 1 && digit[0] >= '0' && digit[0] <= '9'
}

// spelled writes letters of Latin alphabets with those of a name, as is usual
// where they can't be typed.
var spelled = strings.NewReplacer(
	"ä", "ae", "ö", "oe", "ü", "ue", "ß", "ss", "å", "aa", "æ", "ae", "ø", "oe", "œ", "oe", "þ", "th", "ð", "d", "ł", "l", "đ", "d", "ı", "i",
	"à", "a", "á", "a", "â", "a", "ã", "a", "ą", "a", "ă", "a", "ç", "c", "ć", "c", "č", "c", "ď", "d",
	"è", "e", "é", "e", "ê", "e", "ë", "e", "ę", "e", "ě", "e", "ğ", "g", "ì", "i", "í", "i", "î", "i", "ï", "i",
	"ñ", "n", "ń", "n", "ň", "n", "ò", "o", "ó", "o", "ô", "o", "õ", "o", "ő", "o", "ř", "r", "ś", "s", "š", "s", "ş", "s", "ș", "s",
	"ť", "t", "ț", "t", "ù", "u", "ú", "u", "û", "u", "ů", "u", "ű", "u", "ý", "y", "ÿ", "y", "ź", "z", "ż", "z", "ž", "z",
	"\u0308", "e", // a mark of its own over the letter before: two dots
)

// NameFrom makes a name out of any text: "Grüner Kombi, 2nd visit" becomes
// "gruener-kombi-2nd-visit". Where nothing is left it is "record".
func NameFrom(text string) string {
	words := strings.FieldsFunc(spelled.Replace(strings.ToLower(text)), outside("abcdefghijklmnopqrstuvwxyz0123456789"))
	name := strings.Join(words, "-")
	if len(name) > maxName {
		name = strings.TrimRight(name[:maxName], "-")
	}
	if name == "" {
		return "record"
	}
	if isDevice(name) {
		return name + "-record"
	}
	return name
}

// FreeName returns base, or base-2, base-3 and so on: the first name that no
// record in dir has. Create is what decides; between the two calls another
// program may take the name.
func FreeName(dir, base string, env Env) (string, error) {
	if err := CheckName(base); err != nil {
		return "", err
	}
	taken, err := takenNames(env.filled().FS, dir)
	if err != nil {
		return "", err
	}
	for n, name := 2, base; ; n++ {
		if !taken[strings.ToLower(name)] {
			return name, nil
		}
		tail := fmt.Sprintf("-%d", n)
		name = base[:min(len(base), maxName-len(tail))] + tail
	}
}

// Path returns where the record of a name stands in dir. The name is not
// checked.
func Path(dir, name string) string { return filepath.Join(dir, name+Ext) }

// Name returns the name of the record at a path.
func Name(path string) string { return strings.TrimSuffix(filepath.Base(path), Ext) }

func stem(path string) string { return strings.TrimSuffix(path, Ext) }

// sidePath names a new side file by its time, which has no colon because Windows
// refuses it, and by part of a random id.
func sidePath(path, ext string, now time.Time, id string) string {
	return stem(path) + ext + now.UTC().Format("20060102T150405Z-") + id[:8]
}
