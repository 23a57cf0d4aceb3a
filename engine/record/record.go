package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
)

// Format is the version of the format that this release writes.
const Format = 1

// Ext is how the name of a record file ends.
const Ext = ".jsonl"

const (
	// MaxBody is the largest encoded body in bytes: a text of 1 MiB with the
	// JSON around it.
	MaxBody = 1<<20 + 4096
	// MaxFile is the largest record in bytes that is read or written. No hand
	// can type so much; a larger file is something else.
	MaxFile = 256 << 20
	// maxUnverified bounds what a file of rubbish takes in memory.
	maxUnverified = 10_000
)

// HeaderKind is the kind of the first line. Append refuses it.
const HeaderKind = "header"

// Faults that a caller may want to tell apart. The errors that are returned
// wrap one of these and say more.
var (
	ErrExists    = errors.New("a record of this name is there already")
	ErrLocked    = errors.New("the record is open in another program")
	ErrReadOnly  = errors.New("the record can be read but not continued")
	ErrNotRecord = errors.New("this is no record")
	ErrNoHeader  = errors.New("the file has no record header")
	ErrClosed    = errors.New("the record is closed")
	ErrChanged   = errors.New("the record file was changed or moved by something else")
	ErrFull      = errors.New("the disk is full")
	ErrNoSync    = errors.New("the disk did not confirm the write")
	ErrBody      = errors.New("the text can't be saved")
	ErrName      = errors.New("not a name for a record")
)

// Header is the body of the first line. Create fills in Format, and ID, Created
// and Zone where they are empty.
type Header struct {
	Format          int       `json:"format"`
	Program         string    `json:"program"`                   // name and version
	Procedure       string    `json:"procedure,omitzero"`        // its name
	ProcedureSHA256 string    `json:"procedure_sha256,omitzero"` // lower-case hex, see Hash
	Car             string    `json:"car,omitzero"`              // ties the visits of one car together
	Simulated       string    `json:"simulated,omitzero"`        // what stood in for a real car, "" where one was tested
	ID              string    `json:"id"`                        // random; two records never share it
	Created         time.Time `json:"created"`                   // with the offset of the place
	Zone            string    `json:"zone,omitzero"`             // the short name of the time zone, such as CET
}

// Line is one line of a record behind the header.
type Line struct {
	Seq     int             // number of the line in the file; the header is 1
	Time    time.Time       // wall clock, milliseconds, with offset; no guide to the order
	Mono    int64           // milliseconds since the record was opened; starts again with each sitting
	Kind    string          // a word of a-z, 0-9 and -, up to 32 long
	Body    json.RawMessage // any JSON value, as written
	ID      string          // random
	Version int             // format version of the line
}

// Level says how bad a finding is.
type Level int

// Levels of findings.
const (
	Note    Level = iota // worth knowing; nothing to do
	Warning              // the record reads as it was written, but something needs care
	Damage               // something that was written is missing or altered
)

// String names the level in lower case.
func (l Level) String() string {
	return [...]string{"note", "warning", "damage"}[l]
}

// Finding is one thing that was noticed about a record.
type Finding struct {
	Line  int // number of the line, 0 where it concerns the whole file
	Level Level
	What  string
	Do    string // what the user can do; "" where there is nothing to do
}

// String is one line: "line 7: damage: what; what to do".
func (f Finding) String() string {
	var b strings.Builder
	if f.Line > 0 {
		fmt.Fprintf(&b, "line %d: ", f.Line)
	}
	fmt.Fprintf(&b, "%s: %s", f.Level, f.What)
	if f.Do != "" {
		b.WriteString("; " + f.Do)
	}
	return b.String()
}

// Unverified is a line behind the first bad place, or the bad line itself.
type Unverified struct {
	Number int    // line of the file, from 1
	Line   *Line  // nil where the line can't be read
	Intact bool   // its own checksum holds; only its place in the chain isn't proved
	Raw    string // the text of the line, cut to 200 bytes; not cleaned for a terminal
}

// Torn is a tail that was cut off while it was written.
type Torn struct {
	Number  int    // line of the file, from 1
	Bytes   int    // its length
	MovedTo string // the file that holds it now; "" from View, which moves nothing
}

// Content is a record as it was read.
type Content struct {
	Path       string
	Header     Header       // zero where Bad is line 1
	Lines      []Line       // proved by checksum and chain, the header left out
	Unverified []Unverified // the first 10,000
	Unshown    int          // unverified lines beyond those
	Bad        *Finding     // the first bad place; nil in a sound record
	Torn       *Torn        // nil where the file ends properly
	Newer      int          // the highest format version above Format that was met; 0 if none
	Converted  bool         // byte order mark, carriage returns or empty lines by an editor or mail
	Unended    bool         // the last line is sound but lacks its line feed
	Findings   []Finding
	Size       int64
	Modified   time.Time
}

// Recovery is what Open found and what it did about it. Torn.MovedTo names the
// file that holds a torn tail now.
type Recovery struct {
	*Content
	Did []Finding // what was repaired; empty in the usual case
}

// ReadOnlyError says why Open refuses a record that View can show. It wraps
// ErrReadOnly.
type ReadOnlyError struct {
	Path    string
	Why     Finding
	Content *Content
}

// Error implements error.
func (e *ReadOnlyError) Error() string {
	return fmt.Sprintf("%s: %v: %s", e.Path, ErrReadOnly, e.Why)
}

// Unwrap returns ErrReadOnly.
func (e *ReadOnlyError) Unwrap() error { return ErrReadOnly }
