package report

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"text/template"
	"unicode"
	"unicode/utf8"

	"dropwalk/advice/assessment"
	"dropwalk/engine/quantity"
	"dropwalk/engine/strictyaml"
)

// words are what the templates can do with a text or a list.
var words = template.FuncMap{
	"esc":      esc,
	"sentence": sentence,
	"list":     list,
	"runs":     runs,
	"chance":   chance,
	"effort":   effort,
	"hours":    hours,
	"joined":   joined,
	"list1":    func(name string) []string { return []string{name} },
	"upper":    strings.ToUpper,
	"upFirst":  upFirst,
	"number":   func(v float64) string { return quantity.Format(v, 4) },
	"trim":     func(s string) string { return strings.TrimSuffix(s, ".") },
}

var (
	marks    = strings.NewReplacer(`\`, `\\`, "`", "\\`", `*`, `\*`, `_`, `\_`, `[`, `\[`, `]`, `\]`, `|`, `\|`, `~`, `\~`, `#`, `\#`, `!`, `\!`, `$`, `\$`, `@`, `\@`, "://", `:\/\/`, "<", "&lt;", ">", "&gt;", "&", "&amp;")
	bareLink = regexp.MustCompile(`(?i)\bwww\.`)
	leading  = regexp.MustCompile(`^(?:[-+=](?:\D|$)|\d+[.)](?:\s|$))`)
)

// UpFirst begins a text with a capital.
func UpFirst(text string) string { return upFirst(text) }

// esc makes text that somebody typed safe to stand anywhere in Markdown: no
// control character, no mark, no tag, no link, no list or heading. A sign ahead of a
// figure begins none of these and stands as it is.
func esc(text string) string { return Escape(text) }

// Escape makes a text of somebody else's one that is text in Markdown too.
func Escape(text string) string {
	text = strings.TrimSpace(clean(text))
	text = bareLink.ReplaceAllStringFunc(marks.Replace(text), func(m string) string { return m[:3] + `\.` })
	return leading.ReplaceAllStringFunc(text, func(m string) string {
		i := strings.IndexAny(m, "-+=.)")
		return m[:i] + `\` + m[i:]
	})
}

// clean takes control characters out of a text.
func clean(text string) string { return strictyaml.Clean(strings.ToValidUTF8(text, "\uFFFD")) }

// sentence makes a whole sentence of a clause that another package wrote, with
// the user's own names in it.
func sentence(clause string) string {
	text := esc(clause)
	if text == "" {
		return ""
	}
	if text = upFirst(text); !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}

// upFirst begins a text with a capital.
func upFirst(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

// list names several things: a, b and c. The names are escaped.
func list(names []string) string {
	safe := make([]string, len(names))
	for i, n := range names {
		safe[i] = esc(n)
	}
	return joined(safe)
}

func joined(items []string) string {
	if len(items) < 2 {
		return strings.Join(items, "")
	}
	return strings.Join(items[:len(items)-1], ", ") + " and " + items[len(items)-1]
}

// runs names the runs that a remark is about: Run 1; Runs 1, 2 and 5; Runs 1 to
// 6 and 8.
func runs(numbers []int) string {
	var texts []string
	for i := 0; i < len(numbers); {
		j := i
		for j+1 < len(numbers) && numbers[j+1] == numbers[j]+1 {
			j++
		}
		if j-i >= 2 {
			texts = append(texts, fmt.Sprintf("%d to %d", numbers[i], numbers[j]))
			i = j + 1
			continue
		}
		texts = append(texts, strconv.Itoa(numbers[i]))
		i++
	}
	if len(numbers) == 1 {
		return "Run " + texts[0]
	}
	return "Runs " + joined(texts)
}

// chance writes a probability in whole per cent, never as certain.
func chance(p float64) string {
	switch percent := math.Round(100 * p); {
	case math.IsNaN(p):
		return "unknown"
	case percent < 1:
		return "below 1 %"
	case percent > 99:
		return "above 99 %"
	default:
		return fmt.Sprintf("%.0f %%", percent)
	}
}

var efforts = []string{1: "1 of 5, easy", 2: "2 of 5, an hour or so", 3: "3 of 5, half a day", 4: "4 of 5, a day with new parts", 5: "5 of 5, fabrication"}

func effort(n int) string {
	if n < 1 || n >= len(efforts) {
		return "not stated"
	}
	return efforts[n]
}

// shown prints an SI value without its unit, in a unit of its kind, to so many
// decimals; fewer than none rounds to tens.
type shown struct {
	kind quantity.Kind
	unit string
	step int // power of ten
}

// steps are so fine that a fifth of the interval still shows: finer ones would
// claim what nobody knows.
func step(width float64) int {
	return int(math.Floor(math.Log10(width / 5)))
}

func (s shown) bare(si float64) (text string, nought bool) {
	v, err := quantity.In(si, s.kind, s.unit)
	if err != nil {
		return "?", false
	}
	unit := math.Pow(10, float64(s.step))
	v = math.Round(v/unit) * unit
	return strconv.FormatFloat(v+0, 'f', max(0, -s.step), 64), math.Abs(v) < unit/2
}

// interval writes an estimate in words: "3.1 kPa, most likely between 2.8 and
// 3.4". Where nought can't be told from the middle it gives a bound only.
func interval(e assessment.Estimate, k quantity.Kind, unit string) string {
	low, err := quantity.In(e.Low, k, unit)
	high, err2 := quantity.In(e.High, k, unit)
	if err != nil || err2 != nil || math.IsNaN(e.Median) || math.IsInf(e.Median, 0) {
		return "unknown"
	}
	if high-low < 1e-9*max(math.Abs(high), 1e-9) {
		return quantity.ShowIn(e.Median, k, unit)
	}
	s := shown{k, unit, step(high - low)}
	middle, nought := s.bare(e.Median)
	from, fromNought := s.bare(e.Low)
	to, _ := s.bare(e.High)
	if nought && fromNought {
		return "below " + to + " " + unit
	}
	return middle + " " + unit + ", most likely between " + from + " and " + to
}

// short is the same for a table: "3.1 (2.8 to 3.4) kPa".
func short(e assessment.Estimate, k quantity.Kind, unit string) string {
	text := interval(e, k, unit)
	middle, rest, ok := strings.Cut(text, ", most likely between ")
	if !ok {
		return text
	}
	return middle + " (" + strings.Replace(rest, " and ", " to ", 1) + ")"
}
