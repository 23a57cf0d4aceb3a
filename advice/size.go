package advice

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
	"dropwalk/engine/subject"
)

// sizeExamples show one line on the size of a piece, by kind.
var sizeExamples = map[string]string{
	"mouth":     "60 mm, protruding",
	"duct":      "60 mm, 450 mm long, smooth, 90 deg/90 mm",
	"box-entry": "60 mm",
	"filter":    "200 x 200 mm",
	"box-exit":  "65 mm, flush",
	"meter":     "65 mm",
	"resonator": "60 mm, 150 mm long",
	"screen":    "60 mm, 50 %",
	"throttle":  "60 mm",
	"other":     "60 mm",
}

// words that stand for themselves in a line on size.
var sizeWords = map[string]string{
	"protruding": "path[].edge", "flush": "path[].edge", "rounded": "path[].edge", "bellmouth": "path[].edge",
	"smooth": "path[].surface", "ribbed": "path[].surface",
}

var (
	sizeItem  = regexp.MustCompile(`\s*[,;]\s+|\s*;\s*`)
	crossSize = regexp.MustCompile(`^(.+?)\s*(?:x|\x{00D7}|by)\s*(\d.*)$`)
	bendSize  = regexp.MustCompile(`^(?:(\d)\s*x\s*|(\d)\s+bends?\s+(?:of\s+)?|bend\s+)?(\d+(?:[.,]\d+)?\s*(?:deg|degrees|\x{00B0})?)\s*(?:/\s*(.+))?$`)
)

// sizeReader reads one line on the size of a piece.
type sizeReader struct {
	kind  string
	parts []subject.Part
	bends []string
	echo  []string
	units quantity.System
}

// readSize reads a line such as "60 mm, 450 mm long, smooth, 90 deg/90 mm".
// The canonical text reads back to the same sizes.
func readSize(text, kind string, units quantity.System) (canonical, echo string, err error) {
	r, err := sizeOf(text, kind, units)
	if err != nil {
		return "", "", err
	}
	items := make([]string, 0, len(r.parts)+len(r.bends))
	for _, p := range r.parts {
		items = append(items, sizeLabels[p.Path]+p.Text)
	}
	return strings.Join(append(items, r.bends...), ", "), strings.Join(r.echo, ", "), nil
}

// sizeLabels mark what a bare number could be mistaken for.
var sizeLabels = map[string]string{
	"path[].length": "length ", "path[].radius": "radius ", "path[].face": "face ",
	"path[].width": "width ", "path[].height": "height ",
}

// sizeParts is what a canonical line fills in, with its bends.
func sizeParts(canonical string) []subject.Part {
	r, err := sizeOf(canonical, "", quantity.AsTyped)
	if err != nil {
		return nil
	}
	parts := r.parts
	if len(r.bends) > 0 {
		bends := strings.ReplaceAll(strings.Join(r.bends, ", "), "/", " radius ")
		parts = append(parts, subject.Part{Path: "path[].bends", Text: bends})
	}
	return parts
}

func sizeOf(text, kind string, units quantity.System) (*sizeReader, error) {
	r := &sizeReader{kind: kind, units: units}
	for _, item := range sizeItem.Split(strings.Trim(text, " ,;"), -1) {
		if err := r.item(strings.TrimSpace(item)); err != nil {
			return nil, err
		}
	}
	return r, nil
}

func (r *sizeReader) has(path string) bool {
	return slices.ContainsFunc(r.parts, func(p subject.Part) bool { return p.Path == path })
}

func (r *sizeReader) item(item string) error {
	lower := strings.ToLower(item)
	if path, ok := sizeWords[lower]; ok {
		r.parts = append(r.parts, subject.Part{Path: path, Text: lower})
		return nil
	}
	for path, label := range sizeLabels {
		if rest, ok := strings.CutPrefix(lower, label); ok {
			return r.labelled(path, rest)
		}
	}
	switch {
	case strings.HasSuffix(lower, "%"):
		return r.amount(r.sharePath(), quantity.Share, item)
	case strings.Contains(lower, "deg"), strings.Contains(lower, "\u00b0"), strings.Contains(lower, "bend"):
		return r.bend(lower)
	case strings.HasSuffix(lower, "m2"), strings.HasSuffix(lower, "in2"), strings.HasSuffix(lower, "ft2"):
		return r.amount("path[].face", quantity.Area, item)
	}
	if m := crossSize.FindStringSubmatch(lower); m != nil {
		return r.cross(m[1], m[2])
	}
	if near, ok := spell.Nearest(lower, slices.Sorted(maps.Keys(sizeWords))); ok && !strings.ContainsAny(lower, "0123456789") {
		return &subject.Refusal{What: fmt.Sprintf("%q is no size (did you mean %q?)", item, near), Expected: "sizes, and words such as smooth, ribbed, protruding, flush, rounded or bellmouth"}
	}
	item = strings.TrimSuffix(strings.TrimSuffix(lower, " bore"), " wide")
	if strings.HasSuffix(item, " long") || r.has("path[].diameter") || r.has("path[].width") {
		return r.amount("path[].length", quantity.Length, strings.TrimSuffix(item, " long"))
	}
	return r.amount("path[].diameter", quantity.Length, item)
}

func (r *sizeReader) labelled(path, rest string) error {
	if path == "path[].face" {
		return r.amount(path, quantity.Area, rest)
	}
	return r.amount(path, quantity.Length, rest)
}

// sharePath is what a percentage means: the open area of a screen, otherwise
// the share of the flow of one of two parallel pieces.
func (r *sizeReader) sharePath() string {
	if r.kind == "screen" {
		return "path[].open_area"
	}
	return "path[].share"
}

// amount reads one size and keeps its canonical text.
func (r *sizeReader) amount(path string, kind quantity.Kind, text string) error {
	if r.has(path) {
		return &subject.Refusal{What: fmt.Sprintf("%q says a second time what %s is", text, strings.TrimPrefix(path, "path[].")), Expected: "each size once"}
	}
	a, err := quantity.Read(text, quantity.Want{Kind: kind})
	if err != nil {
		return refusal(err, subject.Field{Path: path, Kind: kind}, text)
	}
	if a.SI <= 0 || kind == quantity.Length && a.SI > 10 || kind == quantity.Share && a.SI > 1 {
		return &subject.Refusal{What: fmt.Sprintf("%s can't be right", a.Text()), Expected: "a size above nought, as a tape shows it"}
	}
	r.parts = append(r.parts, subject.Part{Path: path, Text: a.Text()})
	r.echo = append(r.echo, quantity.Echo(a, r.units))
	return nil
}

// cross reads a rectangle. Of a filter it is the face of the element.
func (r *sizeReader) cross(first, second string) error {
	b, err := quantity.Read(second, quantity.Want{Kind: quantity.Length})
	if err != nil {
		return refusal(err, subject.Field{Kind: quantity.Length}, second)
	}
	a, err := quantity.Read(first, quantity.Want{Kind: quantity.Length, Unit: b.Unit})
	if err != nil {
		return refusal(err, subject.Field{Kind: quantity.Length}, first)
	}
	if r.kind == "filter" {
		area := quantity.Format(a.SI*b.SI, 6) + " m2"
		return r.amount("path[].face", quantity.Area, area)
	}
	if err := r.amount("path[].width", quantity.Length, a.Text()); err != nil {
		return err
	}
	return r.amount("path[].height", quantity.Length, b.Text())
}

// bend reads one bend, or several alike: "90 deg/90 mm", "2 bends 45 deg".
func (r *sizeReader) bend(text string) error {
	m := bendSize.FindStringSubmatch(text)
	if m == nil {
		return &subject.Refusal{What: fmt.Sprintf("%q is no bend", text), Expected: "an angle and a radius, such as 90 deg/90 mm, or the angle alone"}
	}
	angle, err := quantity.Read(m[3], quantity.Want{Kind: quantity.Angle, Unit: "deg"})
	if err != nil {
		return refusal(err, subject.Field{Kind: quantity.Angle}, m[3])
	}
	bend := angle.Text()
	if m[4] != "" {
		radius, err := quantity.Read(m[4], quantity.Want{Kind: quantity.Length})
		if err != nil {
			return refusal(err, subject.Field{Kind: quantity.Length}, m[4])
		}
		bend += "/" + radius.Text()
	}
	count := 1
	if n := m[1] + m[2]; n != "" {
		count = int(n[0] - '0')
	}
	for range count {
		r.bends = append(r.bends, bend)
	}
	return nil
}
