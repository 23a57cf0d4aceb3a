package classroom

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"dropwalk/engine/record"
)

// Ext is how the name of a file ends that is handed in.
const Ext = ".handin"

// Head is what such a file says of itself, at its beginning and once more at its end.
type Head struct {
	Version int       `json:"hand_in"`
	Class   string    `json:"class"`
	Group   string    `json:"group"`
	Code    string    `json:"code"` // of class, group and record
	Record  RecordRef `json:"record"`
	Made    time.Time `json:"made"`
	Program string    `json:"program"`
	Sum     string    `json:"sum"` // SHA-256 of the head without it: the checksum of all, since that of the record is in it
}

// RecordRef is a record as it was handed in.
type RecordRef struct {
	Name   string `json:"name"`
	ID     string `json:"id"`
	Lines  int    `json:"lines"`
	Bytes  int    `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// How lines of a head begin.
const (
	headMark = `{"hand_in":`
	endMark  = `{"end_of":{"hand_in":`
)

// ending is the last line of a file.
type ending struct {
	Head Head `json:"end_of"`
}

// Pack makes the file that a group hands in of a record, and what it says of itself.
// Of a damaged record the proved lines are handed in. Program and time are those of now.
func Pack(class, group, name string, data []byte, program string, now time.Time) ([]byte, Head, error) {
	c, err := record.Read(name, data)
	switch {
	case err != nil:
		return nil, Head{}, err
	case c.Header.Format == 0:
		return nil, Head{}, fmt.Errorf("%s: %w", name, record.ErrNoHeader)
	case c.Newer > 0:
		return nil, Head{}, fmt.Errorf("%s: %w: a later release went on with it", name, record.ErrReadOnly)
	}
	data = record.Sound(name, data)
	sum := sha256.Sum256(data)
	h := Head{Version: Version, Class: class, Group: group, Program: program, Made: now.Truncate(time.Second),
		Record: RecordRef{name, c.Header.ID, len(c.Lines) + 1, len(data), hex.EncodeToString(sum[:])}}
	h.Code = h.code()
	h.Sum = h.sum() // last: the code is in it
	first, err := json.Marshal(h)
	if err != nil {
		return nil, h, err
	}
	last, err := json.Marshal(ending{h})
	if err != nil {
		return nil, h, err
	}
	out := append(append(append([]byte{}, first...), '\n'), data...)
	return append(append(out, last...), '\n'), h, nil
}

// code says what was handed in, by whom: a record that goes on has another one.
func (h Head) code() string { return Code(h.Class, h.Group, h.Record.SHA256) }

func (h Head) sum() string {
	h.Sum = ""
	text, _ := json.Marshal(h) // texts, numbers and a time always can be
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// File is the name under which it is handed in.
func (h Head) File() string {
	return fmt.Sprintf("%s-%s-%s%s", h.Group, h.Record.Name, h.Code, Ext)
}

// Opened is a file that was handed in, taken apart.
type Opened struct {
	Head     *Head // nil where neither copy of it can be read
	Data     []byte
	Content  *record.Content // nil where there is no record in it
	Whole    bool            // every byte is as it was when it was packed
	Reshaped bool            // line ends were changed on the way, nothing else
	Later    int             // version of a later release; 0 for none
	Bare     bool            // a record that wasn't packed
	Nothing  bool            // neither a head nor a record
}

// Unpack takes a file apart. It never fails: what can't be read is told in what it
// gives.
func Unpack(file string, data []byte) *Opened {
	o := &Opened{}
	text := bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	first, rest, _ := bytes.Cut(text, []byte("\n"))
	isHead := bytes.HasPrefix(first, []byte(headMark))
	if !isHead && (recordLine(first) || !recordLine(rest)) {
		rest = text // else the first line is a head that was damaged
	}
	body, last := splitEnd(rest)
	o.Head, o.Later = readHeads(first, last)
	exact := false
	if o.Head != nil {
		body, exact = o.Head.Record.in(rest, body)
	}
	o.Data = body
	if c, err := record.Read(file, body); err == nil && c.Header.Format > 0 {
		o.Content = c
	}
	if o.Head != nil {
		o.Whole = isHead && exact && sound(first, last)
		if !o.Whole && bytes.Contains(data, []byte("\r\n")) {
			plain := sha256.Sum256(record.Sound(file, body))
			o.Reshaped = hex.EncodeToString(plain[:]) == o.Head.Record.SHA256
		}
	}
	o.Bare = o.Content != nil && !isHead && last == nil && recordLine(first)
	o.Nothing = o.Content == nil && o.Head == nil && !isHead && last == nil && o.Later == 0 && !bytes.Contains(data, []byte(`{"crc":"`))
	return o
}

// in finds the record in a text by its length and its checksum: from the front, or from
// the back of what stands before the end; else it is that, and not exact.
func (r RecordRef) in(text, before []byte) (body []byte, exact bool) {
	n := max(0, r.Bytes) // a head may claim anything
	for _, at := range [][]byte{text[:min(n, len(text))], before[max(0, len(before)-n):]} {
		if sum := sha256.Sum256(at); hex.EncodeToString(sum[:]) == r.SHA256 {
			return at, true
		}
	}
	return before, false
}

func recordLine(line []byte) bool { return bytes.HasPrefix(line, []byte(`{"crc":"`)) }

// splitEnd parts the last line off where it is the end of a file that was handed in.
func splitEnd(text []byte) (body, last []byte) {
	at := bytes.LastIndex(text, []byte("\n"+endMark))
	switch {
	case at >= 0:
		return text[:at+1], bytes.TrimRight(text[at+1:], "\r\n")
	case bytes.HasPrefix(text, []byte(endMark)):
		return nil, bytes.TrimRight(text, "\r\n")
	}
	return text, nil
}

// readHeads reads both copies of the head and gives the one that is sound. Later is the
// version of one that this release doesn't know.
func readHeads(first, last []byte) (h *Head, later int) {
	for i, line := range [][]byte{first, last} {
		var head Head
		if i == 0 {
			if json.Unmarshal(line, &head) != nil {
				continue
			}
		} else {
			var e ending
			if json.Unmarshal(line, &e) != nil {
				continue
			}
			head = e.Head
		}
		switch {
		case head.Version > Version:
			later = max(later, head.Version)
		case head.Version == Version && head.Sum == head.sum() && h == nil:
			h = &head
		}
	}
	return h, later
}

// sound tells whether both copies of the head are, byte for byte, as they were made.
func sound(first, last []byte) bool {
	var h Head
	var e ending
	if json.Unmarshal(first, &h) != nil || json.Unmarshal(last, &e) != nil || h.Sum != h.sum() {
		return false
	}
	a, errA := json.Marshal(h)
	b, errB := json.Marshal(ending{h})
	return errA == nil && errB == nil && bytes.Equal(a, first) && bytes.Equal(b, last)
}

// Put writes a file that is handed in into a folder. One that is there already, of the
// same record by the same group, is left as it is, and before is then true.
func Put(dir string, text []byte, h Head, env record.Env) (path string, before bool, err error) {
	path = filepath.Join(dir, h.File())
	if old, err := readSome(path, record.MaxFile); err == nil {
		if o := Unpack(path, old); o.Whole && o.Head.Code == h.Code && o.Head.Record == h.Record {
			return path, true, nil
		}
	}
	return path, false, record.ReplaceFile(path, text, 0o644, env)
}

// put brings a file called base from a stick into the folder of what was handed in. It
// gives the name that it has there, "" where the same bytes are there already.
func put(base string, data []byte, dir string, env record.Env) (string, error) {
	stem := strings.TrimSuffix(base, Ext)
	for n := 1; n < 1000; n++ {
		name := base
		if n > 1 {
			name = fmt.Sprintf("%s-%d%s", stem, n, Ext)
		}
		path := filepath.Join(dir, name)
		// Whoever makes the file has the name: somebody else may be collecting too.
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if err == nil {
			f.Close()
			if err := record.ReplaceFile(path, data, 0o644, env); err != nil {
				os.Remove(path)
				return "", err
			}
			return name, nil
		}
		if !os.IsExist(err) {
			return "", err
		}
		if there, err := readSome(path, record.MaxFile); err == nil && bytes.Equal(there, data) {
			return "", nil
		}
	}
	return "", fmt.Errorf("%s: no free name for it in %s%w", base, dir, quiet{fs.ErrExist})
}
