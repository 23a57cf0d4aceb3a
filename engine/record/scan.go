package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// scanner walks over the bytes of a record and sorts its lines into proved,
// unverified and torn.
type scanner struct {
	*Content
	decoder
	sums     []uint32 // of the proved lines, the header first
	last     time.Time
	good     int64 // end of the last proved line in the file as it is, line feed included
	keep     bool  // collect Lines; List only counts
	lastKind string
}

func scan(path string, data []byte, keep bool) *scanner {
	s := &scanner{Content: &Content{Path: path, Size: int64(len(data))}, keep: keep}
	if keep {
		// No line is shorter, so a file of line feeds takes no memory.
		s.Lines = make([]Line, 0, min(bytes.Count(data, []byte("\n")), len(data)/100))
	}
	at := s.mark(data)
	for number := 1; at < len(data) && !s.foreign(); number++ {
		text, next := nextLine(data, at)
		s.line(number, text, next == len(data), at+len(text) == next)
		if s.Bad == nil && s.Torn == nil {
			s.good = int64(next)
		}
		at = next
	}
	s.finish()
	return s
}

// nextLine returns the line that begins at a place, without its line feed, and
// where the next one begins.
func nextLine(data []byte, at int) (text []byte, next int) {
	if i := bytes.IndexByte(data[at:], '\n'); i >= 0 {
		return data[at : at+i], at + i + 1
	}
	return data[at:], len(data)
}

// mark skips a byte order mark and returns where the lines begin.
func (s *scanner) mark(data []byte) int {
	if bytes.HasPrefix(data, []byte("\xef\xbb\xbf")) {
		s.converted(1, "a byte order mark was put before the first line, as some editors do")
		return 3
	}
	if bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")) {
		s.bad(Finding{Line: 1, Level: Damage, What: "the file was saved as UTF-16, as some editors do",
			Do: "save it as UTF-8 again, or take the record from where it was made"})
	}
	return 0
}

// foreign reports whether mark has seen another encoding: line by line there is
// nothing to be read in it.
func (s *scanner) foreign() bool { return s.Bad != nil && len(s.Unverified) == 0 }

// line takes the next line without its line feed.
func (s *scanner) line(number int, text []byte, last, unended bool) {
	if t, ok := bytes.CutSuffix(text, []byte("\r")); ok {
		s.converted(number, "carriage returns were added at line ends, as editors and mail programs do")
		text = t
	}
	if len(text) == 0 {
		s.converted(number, "an empty line was added, as editors do")
		return
	}
	e, err := s.decode(text)
	if e.Version > Format {
		s.Newer = max(s.Newer, e.Version)
	}
	switch {
	case s.Bad != nil:
		s.unverified(number, text, &e, err)
	case err == nil:
		s.link(number, text, &e, unended)
	case last && cutOff(err):
		s.Torn = &Torn{Number: number, Bytes: len(text)}
	default:
		s.unverified(number, text, &e, err)
		f := damaged(number, err.Error())
		if _, newer := err.(newerError); newer {
			f.Level = Warning
		}
		s.bad(f)
	}
}

// cutOff reports whether a line with this fault may be one that was cut off
// while it was written. A line whose checksum holds was not.
func cutOff(err error) bool { return errors.Is(err, errFrame) || errors.Is(err, errSum) }

// link proves that e follows the line before, or finds out what is wrong.
func (s *scanner) link(number int, text []byte, e *entry, unended bool) {
	want := len(s.sums) + 1
	var before uint32
	if want > 1 {
		before = s.sums[want-2]
	}
	if e.Seq != want || e.prev != before {
		s.unverified(number, text, e, nil)
		s.bad(damaged(number, s.misplaced(e, want)))
		return
	}
	if want == 1 {
		if fault := s.header(e); fault != "" {
			s.unverified(number, text, e, nil)
			s.bad(damaged(number, fault))
			return
		}
	} else if s.keep {
		s.Lines = append(s.Lines, e.Line)
	}
	s.clock(number, e.Time)
	s.sums, s.lastKind = append(s.sums, e.sum), e.Kind
	s.Unended = unended
}

func (s *scanner) misplaced(e *entry, want int) string {
	switch {
	case e.Seq < want && e.Seq > 0 && s.sums[e.Seq-1] == e.sum:
		return fmt.Sprintf("this is line %d a second time", e.Seq)
	case e.Seq < want:
		return fmt.Sprintf("line %d is expected here, but this says it is line %d", want, e.Seq)
	case e.Seq > want:
		return fmt.Sprintf("line %d is expected here, but this is line %d: lines are missing or in another order", want, e.Seq)
	}
	return fmt.Sprintf("this line was not written after the line %d that stands before it: one of the two was exchanged", want-1)
}

// header reads the body of the first line and returns what is wrong with it.
func (s *scanner) header(e *entry) string {
	if e.Kind != HeaderKind {
		return fmt.Sprintf("the first line must be the header, not %q", e.Kind)
	}
	if err := json.Unmarshal(e.Body, &s.Header); err != nil {
		s.Header = Header{}
		return fmt.Sprintf("the header can't be read: %v", err)
	}
	if s.Header.Format < 1 {
		s.Header = Header{}
		return "the header says no format version"
	}
	s.Header.Created = stored(s.Header.Created)
	if s.Header.Format > Format {
		s.Newer = max(s.Newer, s.Header.Format)
	}
	return ""
}

// clock notes what the wall clock can't have done by itself.
func (s *scanner) clock(number int, t time.Time) {
	if back := s.last.Sub(t); back > 0 && !s.last.IsZero() {
		s.note(number, fmt.Sprintf("the clock was set back by %v; the order of the lines is kept by their numbers", back.Round(time.Second)))
	}
	// A time before the format was made comes from a clock that was never set.
	const made = 2026
	if t.Year() < made && (s.last.IsZero() || s.last.Year() >= made) {
		s.note(number, "the clock of the computer was not set: dates from here on can't be relied on")
	}
	s.last = t
}

func (s *scanner) note(number int, what string) {
	s.Findings = append(s.Findings, Finding{Line: number, Level: Note, What: what})
}

func damaged(number int, what string) Finding {
	return Finding{Line: number, Level: Damage, What: what,
		Do: "lines from here on are not verified; the part before is sound"}
}

func (s *scanner) bad(f Finding) {
	s.Bad = &f
	s.Findings = append(s.Findings, f)
}

// converted notes the first change of form; one finding a record is enough for
// each sort.
func (s *scanner) converted(number int, what string) {
	s.Converted = true
	for _, f := range s.Findings {
		if f.What == what {
			return
		}
	}
	s.Findings = append(s.Findings, Finding{Line: number, Level: Warning, What: what,
		Do: "the checksums still hold; put the plain form back before you go on with it"})
}

func (s *scanner) unverified(number int, text []byte, e *entry, err error) {
	if len(s.Content.Unverified) >= maxUnverified {
		s.Unshown++
		return
	}
	u := Unverified{Number: number, Raw: string(text[:min(len(text), 200)])}
	if err == nil {
		u.Line, u.Intact = &e.Line, true
	}
	if _, newer := err.(newerError); newer {
		u.Intact = true
	}
	s.Content.Unverified = append(s.Content.Unverified, u)
}

// piece is a sound line of the present format, wherever it stands.
type piece struct {
	seq  int
	sum  uint32
	text []byte
}

// pick returns the sound lines in the order of the file, and the number of the
// first other line that is no torn tail, or 0.
func pick(data []byte) (pieces []piece, broken int) {
	var d decoder
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	for number, at := 1, 0; at < len(data); number++ {
		text, next := nextLine(data, at)
		text = bytes.TrimSuffix(text, []byte("\r"))
		e, err := d.decode(text)
		switch {
		case err == nil && e.Version <= Format:
			pieces = append(pieces, piece{e.Seq, e.sum, text})
		case len(text) > 0 && (next < len(data) || !cutOff(err)):
			return pieces, number
		}
		at = next
	}
	return pieces, 0
}

// finish adds the findings that concern the end or the whole.
func (s *scanner) finish() {
	add := func(f Finding) { s.Findings = append(s.Findings, f) }
	if s.Torn != nil && len(s.sums) > 0 {
		add(Finding{Line: s.Torn.Number, Level: Damage, What: "the last line is not whole: it was cut off while it was being saved, or altered later",
			Do: "go on with the record: the rest is set aside, and that answer is to be entered again"})
	}
	if s.Unended {
		add(Finding{Line: len(s.sums), Level: Note, What: "the line feed at the end is missing; the line itself is whole"})
	}
	if s.Newer > 0 {
		add(s.newer())
	}
	if len(s.sums) == 0 && s.Bad == nil {
		add(Finding{Line: 1, Level: Damage, What: "there is no header: the record was cut off while it was being created, before anything was saved in it",
			Do: "remove it"})
	}
}

func (c *Content) newer() Finding {
	return Finding{Level: Warning,
		What: fmt.Sprintf("the record was continued by a later release (format %d; this release writes %d)", c.Newer, Format),
		Do:   "it can be read here; update the program to go on with it"}
}

// refusal returns why nothing may be appended, or nil. A torn tail and a
// missing line feed are no reasons: Open repairs them.
func (c *Content) refusal() *Finding {
	switch {
	case c.Newer > 0:
		return new(c.newer())
	case c.Bad != nil:
		return c.Bad
	}
	for _, f := range c.Findings {
		if c.Converted && f.Level == Warning {
			return &f
		}
	}
	return nil
}

// alien reports whether the file has nothing in common with a record, as when
// another file is named by mistake.
func (s *scanner) alien(data []byte) bool {
	if len(s.sums) > 0 || s.Newer > 0 || s.foreign() || bytes.HasPrefix([]byte(framePrefix), data) {
		return false
	}
	for _, u := range s.Content.Unverified {
		if u.Intact {
			return false
		}
	}
	start := data[:min(len(data), 4096)]
	return !bytes.Contains(start, []byte(`"crc":"`)) && !bytes.Contains(start, []byte(`"r":{"v":`))
}
