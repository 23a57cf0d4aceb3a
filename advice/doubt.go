package advice

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"dropwalk/advice/assessment"
	"dropwalk/advice/model"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

const (
	readingPath  = "readings[].value"
	readingGauge = "readings[].gauge"
	rpmPath      = "readings[].rpm"
	doubtfulPath = "readings[].doubtful"
)

// doubtfulMark stands before the reason in the answer to a reading, so that the
// answer as it is kept reads back to the same.
const doubtfulMark = "doubtful: "

// Behind an answer that is to be taken although it is far from what was
// expected: "31 inH2O at 6000, keep", "31 at 6000, doubtful: the needle stuck".
var (
	keepBehind     = regexp.MustCompile(`(?i)^(\S.*?)\s*[,;]?\s+keep$`)
	doubtfulBehind = regexp.MustCompile(`(?i)^(\S.*?)\s*[,;]?\s+doubtful\b[:,]?\s*(.*)$`)
)

// insisted splits what stands behind an answer off: whether it is to be taken
// in any case, and why it is doubtful.
func insisted(paths []string, raw string) (answer, why string, sure bool, err error) {
	if doubtfulAt(paths[0]) != "" {
		if m := doubtfulBehind.FindStringSubmatch(raw); m != nil {
			if strings.TrimSpace(m[2]) == "" {
				return "", "", false, &subject.Refusal{What: "a doubtful reading needs a reason", Expected: "such as: " + m[1] + ", doubtful: the needle stuck"}
			}
			why, err = readText(m[2])
			return m[1], why, true, err
		}
	}
	if m := keepBehind.FindStringSubmatch(raw); m != nil && doubtOf(paths[0]) != nil {
		return m[1], "", true, nil
	}
	return raw, "", false, nil
}

// doubts tell, by the first field of an answer, why it is far from what was
// expected; nil where it isn't.
var doubts map[string]doubter

// The table is filled here because what is in it looks back at it.
func init() {
	doubts = map[string]doubter{
		readingPath: (*view).strangeReading,
		beforePath:  (*view).strangeZero,
		afterPath:   (*view).strangeZero,
		piecesPath:  (*view).strangePath,
	}
	for path := range usual {
		doubts[path] = (*view).unusual
	}
}

// doubtfulAt is the place of the reason for which a reading is doubtful whose answer
// begins at a path; "" where none is kept.
func doubtfulAt(path string) string {
	if path == readingPath {
		return doubtfulPath
	}
	if list, _, ok := strings.Cut(path, "[]."); ok && ownList(path) {
		return list + "[]" + doubtfulKey
	}
	return ""
}

// doubtfulKey is the key of that place in a list.
const doubtfulKey = ".doubtful"

// doubter tells why an answer is far from what was expected, nil where it isn't.
type doubter = func(*view, []subject.Part, subject.Round) *strange

// doubtOf is what doubts answers whose first field is at a path; nil for none.
func doubtOf(path string) doubter {
	if find := doubts[path]; find != nil {
		return find
	}
	for _, t := range tests {
		if find := t.doubts[path]; find != nil {
			return find
		}
	}
	return nil
}

// strange is an answer far from what was expected.
type strange struct {
	what  []string // sentences on what is far from what
	short string   // the same in a few words: a reason to be kept
	meant string   // what was probably meant by one field's share, "" unknown
	path  string   // that field; "" the first one
}

// typedLine is an answer as it was typed, with the share of each field.
type typedLine struct {
	paths, texts []string
	line         string
}

// with is the whole answer with one share replaced, the others in full.
func (l typedLine) with(path, text string, parts []subject.Part) string {
	texts := slices.Clone(l.texts)
	for i := range texts {
		for _, p := range parts {
			if p.Path == l.paths[i] {
				texts[i] = p.Text
			}
		}
		if l.paths[i] == path {
			texts[i] = text
		}
	}
	return strings.Join(texts, ", ")
}

// inDoubt asks back where an answer lies far outside what was expected.
func (v *view) inDoubt(typed typedLine, parts []subject.Part, at subject.Round) error {
	find := doubtOf(typed.paths[0])
	if find == nil || len(parts) == 0 {
		return nil
	}
	s := find(v, parts, at)
	if s == nil {
		return nil
	}
	r := &subject.Refusal{What: strings.Join(s.what, "; "), Doubt: &subject.Doubt{Keep: typed.line + ", keep"}}
	if doubtfulAt(typed.paths[0]) != "" {
		if s.short == "" {
			s.short = "far from what was expected"
		}
		r.Doubt.Doubtful, r.Doubt.Reason = typed.line+", "+doubtfulMark, s.short
	}
	if s.meant != "" {
		r.What += fmt.Sprintf("; did you mean %s?", s.meant)
		path := s.path
		if path == "" {
			path = typed.paths[0]
		}
		r.Choices = []string{typed.with(path, s.meant, parts)}
	}
	return r
}

// usual spans what cars, gauges and weather have, in SI. What lies outside is
// rare or a slip of the unit (common practice, no source).
var usual = map[string]struct {
	low, high float64
	text      string
}{
	"car.engine.displacement": {0.3e-3, 9e-3, "0.3 L to 9 L"},
	"car.engine.boost":        {10e3, 250e3, "10 kPa to 250 kPa"},
	"car.engine.mass_flow":    {0.01, 0.8, "10 g/s to 800 g/s"},
	"car.engine.peak_power":   {15e3, 800e3, "15 kW to 800 kW"},
	"reference.rpm":           {2000, 10000, "2000 rpm to 10000 rpm"},
	gaugeRange:                {500, 30e3, "2 inH2O to 120 inH2O, and one that is far too coarse tells nothing"},
	"air.temperature":         {243, 321, "-30 C to 48 C"},
	"air.pressure":            {60e3, 107.5e3, "600 hPa to 1075 hPa"},
	per1000Path:               {0.8, 20, "3 km/h to 72 km/h"},
	limitPath:                 {4, 45, "15 km/h to 160 km/h"},
}

// unusual doubts a figure that hardly any car has.
func (v *view) unusual(parts []subject.Part, _ subject.Round) *strange {
	s := &strange{}
	for _, p := range parts {
		u, ok := usual[p.Path]
		f, _ := v.matter.Field(p.Path)
		a, err := quantity.Read(p.Text, quantity.Want{Kind: f.Kind, Unit: f.Unit})
		if !ok || err != nil || a.SI >= u.low && a.SI <= u.high {
			continue
		}
		s.what = append(s.what, fmt.Sprintf("%s is unusual; usual is %s", a.Text(), u.text))
		if s.meant == "" && p.Path != gaugeRange { // the unit stands on the dial
			s.meant, s.path = slipOf(a, u.low, u.high), p.Path
		}
	}
	if len(s.what) == 0 {
		return nil
	}
	return s
}

// strangeReading compares a reading with the runs before it, else with what the
// assessment or the handbook allows there, and its engine speed with the one
// that is wanted.
func (v *view) strangeReading(parts []subject.Part, at subject.Round) *strange {
	value, err := quantity.Read(parts[0].Text, quantity.Want{Kind: quantity.PressureDiff, Swing: true, Bounds: true, Unreadable: true})
	if err != nil {
		return nil
	}
	wanted, share := v.wantedSpeed(at)
	rpm := wanted
	for _, p := range parts[1:] {
		if a, err := quantity.Read(p.Text, quantity.Want{Kind: quantity.Rotation, Unit: "rpm"}); err == nil && p.Path == rpmPath {
			rpm = a.SI
		}
	}
	s := &strange{}
	far := math.Abs(rpm-wanted) > share*wanted && !v.keptSpeed(at, rpm)
	if value.Known() || value.Form == quantity.Above {
		v.strangeValue(s, run{value: value, rpm: rpm}, at)
		if far && len(s.what) > 0 { // the speed may be the slip: then the value is judged without it
			*s = strange{}
			v.strangeValue(s, run{value: value, rpm: wanted}, at)
		}
	}
	if far {
		s.what = append(s.what, fmt.Sprintf("%.0f rpm is far from the %.0f rpm at which this run is read", rpm, wanted))
		if s.short == "" {
			s.short = "engine speed far from the one that was wanted"
		}
	}
	if len(s.what) == 0 {
		return nil
	}
	return s
}

// How far an engine speed may be from the one that is wanted: losses go with its
// square, and further off they bring little (common practice, no source). Where
// nobody stated a speed the usual one is only a guess.
const (
	rpmShare      = 0.2
	rpmGuessShare = 0.4
)

// speedValue is the value of a round that says at which engine speed it is read.
const speedValue = "speed"

// wantedSpeed is the engine speed in rpm at which a run of a round is read, that of
// the reference point where the round has none of its own, and by which share of it a
// run may miss it.
func (v *view) wantedSpeed(at subject.Round) (rpm, share float64) {
	if a, err := quantity.Read(at.Values[speedValue], quantity.Want{Kind: quantity.Rotation, Unit: "rpm"}); err == nil && a.Known() && a.SI > 0 {
		return a.SI, rpmShare
	}
	if v.entry("reference.rpm", "") == "" {
		return v.rpm().Number, rpmGuessShare
	}
	return v.rpm().Number, rpmShare
}

// keptSpeed tells whether a run before in the same rounds was kept at about an engine
// speed: then it was meant, and is not asked again.
func (v *view) keptSpeed(at subject.Round, rpm float64) bool {
	return slices.ContainsFunc(v.runsOf(at.Slot), func(q run) bool {
		return !q.doubtful && q.value.Known() && q.rpm > 0 && math.Abs(q.rpm-rpm) <= agreeShare*rpm
	})
}

func (v *view) strangeValue(s *strange, r run, at subject.Round) {
	all := v.runsOf(at.Slot)
	if v.againstBounds(s, r, all) || !r.value.Known() {
		return
	}
	before := slices.DeleteFunc(all, func(q run) bool { return !q.value.Known() || q.doubtful })
	if len(before) > 0 {
		v.besideRuns(s, r, before)
		return
	}
	b, ok := v.expected(at.Values["from"], at.Values["to"], r.rpm)
	if !ok {
		return
	}
	value, where := r.value, at.Values["from"]+" to "+at.Values["to"]
	switch x := value.SI; {
	case x < -b.below:
		s.what = append(s.what, fmt.Sprintf("%s is below nought, and the pressure falls on the way from %s: perhaps the hoses are on the wrong ports", value.Text(), where))
		s.short, s.meant = "below nought", strings.TrimLeft(value.Text(), "-\u2212")
	case x > b.high:
		s.what = append(s.what, fmt.Sprintf("%s is far above what %s should show, %s", value.Text(), where, b.text(value)))
		s.short = "far above what was expected"
	case x < b.low:
		s.what = append(s.what, fmt.Sprintf("%s is far below what %s should show, %s", value.Text(), where, b.text(value)))
		s.short = "far below what was expected"
	default:
		return
	}
	if s.meant == "" {
		s.meant = slipOf(value, max(b.low, b.high/slipDepth), b.high)
	}
}

const (
	// slipRoom is how far outside a range package quantity begins to doubt the unit.
	slipRoom = 2.001
	// slipDepth is how far below the most that can be expected a unit is looked
	// for: nearly nought fits everywhere and says nothing.
	slipDepth = 10
)

// slipOf is the amount in the unit that was probably meant, which brings it
// between low and high; "" where there is none.
func slipOf(a quantity.Amount, low, high float64) string {
	switch {
	case a.Kind == quantity.Temperature: // it has no natural nought
	case a.SI > high:
		high = min(high, a.SI/slipRoom)
	default:
		low = max(low, a.SI*slipRoom)
	}
	if a.SI <= 0 || low >= high {
		return ""
	}
	meant, _ := quantity.Suspect(a, low, high)
	return meant
}

// Runs of the same stretch lie together; one that is half as much again, or two
// thirds, and more than an inch and a half of water off is a slip or an event
// (common practice, no source).
const (
	besideFactor = 1.5
	besideLeast  = 1.5 * 249.08891 // Pa
)

// besideRuns compares a run with those before it, all brought to its engine speed.
func (v *view) besideRuns(s *strange, r run, before []run) {
	value := r.value
	nearest, gap, shown, typed := 0.0, math.Inf(1), value.Text(), ""
	for _, q := range before {
		x := q.value.SI
		if q.rpm > 0 && r.rpm > 0 {
			x *= r.rpm / q.rpm * r.rpm / q.rpm
		}
		if d := math.Abs(x - value.SI); d < gap {
			nearest, gap, shown, typed = x, d, value.Text(), q.value.Text()
			if q.rpm > 0 && r.rpm > 0 && q.rpm != r.rpm {
				shown += fmt.Sprintf(" at %.0f rpm", r.rpm)
				typed += fmt.Sprintf(" at %.0f rpm", q.rpm)
			}
		}
	}
	low, high := min(nearest, value.SI), max(nearest, value.SI)
	if gap < besideLeast || high < besideFactor*low {
		return
	}
	s.what = append(s.what, fmt.Sprintf("%s is far from the runs before it, of which the nearest showed %s", shown, typed))
	s.short = "far from the runs before it"
	s.meant = slipOf(value, nearest/besideFactor, nearest*besideFactor)
}

// boundSlack is how far below the end of the scale the other runs of a stretch
// may lie while a needle at its stop is no surprise (common practice, no source).
const boundSlack = 0.9

// againstBounds doubts a value and a needle against its stop among the runs of
// one stretch: they can't both be right.
func (v *view) againstBounds(s *strange, r run, before []run) bool {
	for _, q := range before {
		known, bound := r, q
		if r.value.Form == quantity.Above {
			known, bound = q, r
		}
		if q.doubtful || !known.value.Known() || bound.value.Form != quantity.Above || known.value.SI >= boundSlack*bound.value.Low {
			continue
		}
		s.what = append(s.what, fmt.Sprintf("%s contradicts the run before it, which showed %s", r.value.Text(), q.value.Text()))
		s.short = "contradicts the run before it"
		return true
	}
	return false
}

// airOrder is the order in which air can pass pieces of these kinds.
var airOrder = []string{"mouth", "box-entry", "filter", "box-exit", "throttle"}

// strangePath doubts an order of pieces that air can't take.
func (v *view) strangePath(parts []subject.Part, _ subject.Round) *strange {
	list := named(strings.Split(parts[0].Text, ", "))
	last := -1
	for n, p := range list {
		rank := slices.Index(airOrder, p.kind)
		if rank < 0 {
			continue
		}
		switch {
		case p.kind == "mouth" && n > 0:
			return &strange{what: []string{"the mouth is where the air comes in, and it doesn't stand first"}}
		case rank < last:
			return &strange{what: []string{fmt.Sprintf("air passes %s before %s, and here it is the other way round", airOrder[rank], airOrder[last])}}
		}
		last = rank
	}
	return nil
}

// band is what a gauge may show between two stations, in Pa.
type band struct {
	low, high float64 // outside this an answer is doubted
	below     float64 // how far below nought it may go
}

func (b band) text(like quantity.Amount) string {
	round := func(pa float64) string {
		x, err := quantity.In(pa, quantity.PressureDiff, like.Unit)
		if err != nil {
			return "?" // the unit is that of an amount which was read: it is known
		}
		return quantity.Format(x, 2)
	}
	return "about " + round(max(b.low, 0)) + " to " + round(b.high) + " " + like.Unit
}

// Widths of a band (common practice, no source): the handbook misses a stretch
// by a factor of four downwards where everything on it is large and well made,
// and a spoilt piece goes a quarter beyond what is seldom exceeded. Less than
// two inches of water under the middle nothing is too low.
const (
	bandBelow = 4.0
	bandAbove = 1.25
	bandFloor = 500.0 // Pa
	belowRoom = 125.0 // Pa, half an inch of water
)

// expected is what a gauge may show from one station to another at the given
// engine speed: by the readings of other stretches where there are any, else by
// the handbook. It reports false where nothing can be said.
func (v *view) expected(from, to string, rpm float64) (band, bool) {
	if v.doc() == nil {
		return band{}, false
	}
	c := model.NewWith(v.sheet, v.matter.Options.Priors)
	i, k := c.Index(from), c.Index(to)
	if i < 0 || k <= i {
		return band{}, false
	}
	middle, most := c.Expect(i, k)
	low, high := min(middle/bandBelow, middle-bandFloor), bandAbove*most
	if len(c.Readings) > 0 {
		if a := v.assess(); a.Verdict != assessment.Recheck {
			low, high = judgedBand(a, c, i, k)
		}
	}
	factor := 1.0
	if c.RPM > 0 {
		factor = rpm / c.RPM * rpm / c.RPM
	}
	below := belowRoom + max(0, 1.5*c.Stations[i].Head-0.5*c.Stations[k].Head)
	return band{low * factor, high * factor, below * factor}, true
}

// judgedBand is the band that an assessment leaves, at the reference point. Ends
// of the pieces add up to more than the end of the sum: that is room on the safe
// side.
func judgedBand(a *assessment.Assessment, c *model.Car, i, k int) (low, high float64) {
	for _, p := range a.Components[i:k] {
		low, high = low+p.Loss.Low, high+p.Loss.High
	}
	if total := a.TotalLoss.High; high > total {
		high = total
	}
	head := func(n int) assessment.Estimate { return a.VelocityHead[c.Stations[n].Name] }
	low += head(k).Low - head(i).High
	high += head(k).High - head(i).Low
	return min(low/2, low-bandFloor/2), max(bandAbove*high, high+bandFloor/2)
}

// zeroShare of its full scale is how far a gauge may stand off at rest before
// that looks like a reading (common practice, no source).
const zeroShare = 0.1

// strangeZero doubts a zero that looks like a reading.
func (v *view) strangeZero(parts []subject.Part, _ subject.Round) *strange {
	a, err := quantity.Read(parts[0].Text, quantity.Want{Kind: quantity.PressureDiff})
	full := v.gaugeRange()
	if err != nil || !full.Known {
		return nil
	}
	if math.Abs(a.SI) <= zeroShare*full.Number {
		return nil
	}
	return &strange{what: []string{fmt.Sprintf("%s is far from nought for a gauge at rest", a.Text())}}
}
