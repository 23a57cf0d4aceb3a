package pulls

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"dropwalk/advice/pulls/table"
	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
)

// Choice is a column that a person named for a role.
type Choice struct {
	Role Role
	Name string // name of the column, its name with unit, or "column 3"
	Unit string // "" as the head has it
}

// ParseChoice reads ROLE=NAME, where NAME may end in a unit in brackets. The
// error says what is wrong; its second text is a hint.
func ParseChoice(text string) (c Choice, what, hint string) {
	word, name, found := strings.Cut(text, "=")
	var known []string
	for _, r := range Roles() {
		known = append(known, string(r))
	}
	word, name = strings.TrimSpace(word), strings.TrimSpace(name)
	switch {
	case !found || name == "":
		return c, fmt.Sprintf("%q names no column", text), "it goes: rpm=NAME, NAME as in the head of the table"
	case !slices.Contains(known, word):
		if near, ok := spell.Nearest(word, known); ok {
			return c, fmt.Sprintf("no column is for %q", word), fmt.Sprintf("did you mean %q?", near)
		}
		return c, fmt.Sprintf("no column is for %q", word), "one of: " + strings.Join(known, ", ")
	}
	return Choice{Role: Role(word), Name: name}, "", ""
}

// Options are what a person says of a log. The zero value says nothing.
type Options struct {
	Columns []Choice
	RPM     float64 // at which pressure is read; 0: the highest hundred that every pull reaches
}

// looked is how many rows are looked at to find roles by behaviour.
const looked = 3000

// open finds the roles. It returns the rows that it had to read for that.
func open(r *table.Reader, name string, o Options) (*scan, [][]float64, error) {
	s := &scan{options: o, reader: r, timeScale: 1, timeColumn: -1}
	s.some.most, s.off.most = keptRows, keptOff
	var rows [][]float64
	for row := r.Next(); row != nil; row = r.Next() {
		if rows = append(rows, slices.Clone(row)); len(rows) == looked {
			break
		}
	}
	chosen, faults := choices(r.Columns(), name, o.Columns)
	if len(faults) > 0 {
		return nil, nil, faults
	}
	if err := s.findTime(rows, chosen, name); err != nil {
		return nil, nil, err
	}
	for i, c := range r.Columns() {
		if i != s.timeColumn && c.Kind == table.Number {
			s.channels = append(s.channels, newChannel(i, c.Name, unitOf(c)))
		}
	}
	s.assign(rows, chosen)
	if s.rpm == nil && !(s.flow != nil && slices.ContainsFunc(s.watched, func(c *channel) bool { return c.role == Pressure })) {
		return nil, nil, strictyaml.Faults{{File: name, Line: r.HeadLine, Col: 1, What: "no column tells engine speed",
			Expected: "one named rpm, engine speed or the like", Hint: "name it: --column rpm=NAME; there are: " + columnList(r.Columns())}}
	}
	return s, rows, nil
}

// columnList names the columns for a hint.
func columnList(columns []table.Column) string {
	var names []string
	for _, c := range columns {
		if len(names) == 12 {
			names = append(names, "...")
			break
		}
		names = append(names, strconv.Quote(c.Name))
	}
	return strings.Join(names, ", ")
}

// choices finds the columns that were named, by column.
func choices(columns []table.Column, file string, list []Choice) (map[int]Choice, strictyaml.Faults) {
	chosen := map[int]Choice{}
	var faults strictyaml.Faults
	var names []string
	for _, c := range columns {
		names = append(names, c.Name)
	}
	for _, choice := range list {
		at, unit := findColumn(columns, choice.Name)
		if at < 0 {
			hint := "there are: " + columnList(columns)
			if near, ok := spell.Nearest(choice.Name, names); ok {
				hint = fmt.Sprintf("did you mean %q?", near)
			}
			faults = append(faults, strictyaml.Fault{File: file, What: fmt.Sprintf("it has no column %q", choice.Name), Expected: "a name of its head", Hint: hint})
			continue
		}
		choice.Unit = unit
		chosen[at] = choice
	}
	return chosen, faults
}

// findColumn finds a column by its name, its name with its unit, or its name
// with a unit in brackets that is to count instead.
func findColumn(columns []table.Column, name string) (at int, unit string) {
	same := func(want string) int {
		return slices.IndexFunc(columns, func(c table.Column) bool {
			return strings.EqualFold(c.Name, want) || strings.EqualFold(c.Full(), want)
		})
	}
	if at = same(name); at >= 0 {
		return at, ""
	}
	if open := strings.LastIndexByte(name, '['); open > 0 && strings.HasSuffix(name, "]") {
		return same(strings.TrimSpace(name[:open])), strings.TrimSpace(name[open+1 : len(name)-1])
	}
	return -1, ""
}

// findTime finds the column of time: the named one, else the first that looks
// like time and never falls. A log without one has its rows for seconds only
// where there is no engine speed either.
func (s *scan) findTime(rows [][]float64, chosen map[int]Choice, name string) error {
	columns := s.reader.Columns()
	best, bestRank := -1, 0
	for i, c := range columns {
		rank := 0
		switch choice, ok := chosen[i]; {
		case ok && choice.Role == Time:
			rank = 4
		case ok || c.Kind == table.Words || !rises(rows, i):
		case c.Kind == table.Clock:
			rank = 3
		case isTime(c):
			rank = 3
		case i == 0:
			rank = 1
		}
		if rank > bestRank {
			best, bestRank = i, rank
		}
	}
	if best < 0 {
		return strictyaml.Faults{{File: name, Line: s.reader.HeadLine, Col: 1, What: "no column tells the time", Expected: "one that rises from row to row",
			Hint: "name it: --column time=NAME; there are: " + columnList(columns)}}
	}
	s.timeColumn, s.timeName = best, columns[best].Name
	unit := unitOf(columns[best])
	if chosen[best].Unit != "" {
		unit = chosen[best].Unit
	}
	s.setTimeUnit(unit, columns[best].Kind, rows)
	return nil
}

// rises tells whether a column never falls, but for a few new beginnings, and
// moves.
func rises(rows [][]float64, column int) bool {
	last, falls, steps := math.NaN(), 0, 0
	for _, row := range rows {
		v := row[column]
		if v != v {
			continue
		}
		switch {
		case v < last:
			falls++
		case v > last:
			steps++
		}
		last = v
	}
	return steps > 0 && falls*100 <= steps
}

// setTimeUnit finds the seconds of one unit of time. Where the head doesn't
// say, a recorder's steps do: it hardly takes fewer than one row in 5 s, so
// that larger steps are thousandths or millionths.
func (s *scan) setTimeUnit(unit string, kind table.Kind, rows [][]float64) {
	s.timeUnit = unit
	if kind == table.Clock {
		s.timeUnit = "h:min:s"
		return
	}
	if scale, err := quantity.From(1, quantity.Duration, unit); err == nil && unit != "" {
		s.timeScale = scale
		return
	}
	switch strings.ToLower(unit) {
	case "us", "µs", "microseconds":
		s.timeScale = 1e-6
		return
	case "ns":
		s.timeScale = 1e-9
		return
	}
	var steps []float64
	last := math.NaN()
	for _, row := range rows {
		if v := row[s.timeColumn]; v == v {
			if v > last {
				steps = append(steps, v-last)
			}
			last = v
		}
	}
	switch step := median(steps); {
	case !(step >= 5): // none at all, too
		s.timeUnit = "s"
	case step < 5000:
		s.timeScale, s.timeUnit = 1e-3, "ms"
	default:
		s.timeScale, s.timeUnit = 1e-6, "us"
	}
	s.notes = append(s.notes, fmt.Sprintf("The head doesn't say in what time is told; by its steps it was taken for %s.", s.timeUnit))
}

// assign gives the channels their roles.
func (s *scan) assign(rows [][]float64, chosen map[int]Choice) {
	strength := map[*channel]int{}
	named := map[Role]bool{}
	for _, c := range s.channels {
		if choice, ok := chosen[c.column]; ok {
			c.role, c.by, strength[c] = choice.Role, ByUser, 1000
			named[choice.Role] = true
			c.unit = cmp.Or(choice.Unit, c.unit)
			continue
		}
		c.role, strength[c] = roleByName(s.reader.Columns()[c.column])
		if c.role != NoRole {
			c.by = ByName
		}
	}
	for _, c := range s.channels {
		if c.by == ByName && named[c.role] {
			s.reject(c, "another channel was named for it")
		}
	}
	if s.only(RPM, rows, strength) == nil && !named[RPM] {
		s.rpmByBehaviour(rows)
	}
	s.rpm, s.speed, s.flow = s.only(RPM, rows, strength), s.only(Speed, rows, strength), s.only(Flow, rows, strength)
	slices.SortStableFunc(s.channels, func(a, b *channel) int { return cmp.Compare(order(a), order(b)) })
	for _, c := range s.channels {
		if c.role == NoRole || len(s.watched) == mostWatched {
			continue
		}
		c.tail = &ring{}
		s.watched = append(s.watched, c)
		if c.role == Load || c.role == Pressure {
			c.byRPM = make([]mean, rpmBins)
			s.binned = append(s.binned, c)
		}
	}
}

// order puts engine speed first, so that what is fresh in its row is known to
// be no later than it.
func order(c *channel) int {
	if c.role == RPM {
		return 0
	}
	return 1
}

func (s *scan) reject(c *channel, why string) {
	s.rejected = append(s.rejected, Rejected{c.name, why})
	c.role, c.by = NoRole, ""
}

// only leaves one channel in a role that only one can have: that of the
// clearest name, of those alike that which moves more often.
func (s *scan) only(role Role, rows [][]float64, strength map[*channel]int) *channel {
	var best *channel
	moves := func(c *channel) int { return changes(rows, c.column) }
	for _, c := range s.channels {
		if c.role == role && (best == nil || cmp.Or(cmp.Compare(strength[c], strength[best]), cmp.Compare(moves(c), moves(best))) > 0) {
			best = c
		}
	}
	for _, c := range s.channels {
		if c.role == role && c != best {
			s.reject(c, fmt.Sprintf("%q tells the %s more clearly", best.name, roleWords[role]))
		}
	}
	return best
}

// roleWords are the roles in words.
var roleWords = map[Role]string{Time: "time", RPM: "engine speed", Load: "load", Pressure: "intake pressure", Speed: "road speed", Flow: "air flow"}

// changes counts how often a column changes.
func changes(rows [][]float64, column int) int {
	last, n := math.NaN(), 0
	for _, row := range rows {
		if v := row[column]; v == v && v != last {
			last = v
			n++
		}
	}
	return n
}

// rpmByBehaviour finds engine speed among channels without a role: it moves,
// stands at nought or between 400 and 12000, and goes above 1500.
func (s *scan) rpmByBehaviour(rows [][]float64) {
	var best *channel
	most := 0
	for _, c := range s.channels {
		if c.role != NoRole || !turnsLikeAnEngine(rows, c.column) {
			continue
		}
		if n := changes(rows, c.column); n > most {
			best, most = c, n
		}
	}
	if best != nil {
		best.role, best.by = RPM, ByBehaviour
	}
}

func turnsLikeAnEngine(rows [][]float64, column int) bool {
	in, all, top := 0, 0, 0.0
	for _, row := range rows {
		v := row[column]
		if v != v {
			continue
		}
		all++
		top = max(top, v)
		if v == 0 || v >= 400 && v <= 12000 {
			in++
		}
	}
	return all > 0 && in*100 >= all*98 && top >= 1500 && changes(rows, column) > 10
}
