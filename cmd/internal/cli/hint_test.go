package cli

import (
	"path/filepath"
	"strings"
	"testing"
)

// Whatever goes wrong, a line says what to do about it. Faults of a file say on
// their own line what was expected.
func TestEveryErrorHasAHint(t *testing.T) {
	dir, data := pausedTest(t)
	put(t, dir, "twin", data)
	none := filepath.Join(dir, "none", "x")
	for _, line := range []string{
		"strat", "records shwo", "calc ari", "--unit metric", "-x", "assess", "assess a b --jsn", "assess none.yaml", "assess " + dir, "assess nothing",
		"convert 12.5 kPa", "convert 1,250inH2O kPa", "convert 12inH2O kg", "convert x", "convert a b c", "--units mertic records",
		"records show", "records show none", "records show a b", "records rename grey twin", "records rename grey a/b", "records remove none",
		"records remove grey", "records salvage grey", "records check none", "records where x", "report", "report none", "report " + none + ".yaml",
		"report grey --out " + none, "sheet none", "sheet grey --out " + none, "resume none", "start none", "start none.yaml", "start --sheet none.yaml",
		"procedures show", "procedures show none", "procedures check none.yaml", "procedures check --format xml", "help none", "help --man x",
		"completion", "completion tcsh", "demo x", "study --hand x", "study --cars -1", "calc air --temperature 12furlongs --pressure 1bar",
		"calc loss --kind none", "calc air", "resume",
	} {
		code, _, errs := tried(t, "", append(words(line), "--dir", dir)...)
		if code == exitDone || !strings.Contains(errs, "hint: ") || strings.Contains(errs, "hint: \n") {
			t.Errorf("%s ends with %d and says\n%s", line, code, errs)
		}
	}
}
