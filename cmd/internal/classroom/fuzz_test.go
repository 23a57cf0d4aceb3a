package classroom_test

import (
	"os"
	"path/filepath"
	"testing"

	"dropwalk/cmd/internal/classroom"
	"dropwalk/engine/record"
)

// FuzzHandIn holds that no file that is handed in, by accident or by design, breaks
// collecting: neither one of any bytes nor one with a sound head that says anything.
// Whatever doesn't count says why, and what counts is of a group of the class.
func FuzzHandIn(f *testing.F) {
	dir := f.TempDir()
	log, err := record.Create(dir, "test", record.Header{Procedure: "intake", ProcedureSHA256: record.Hash([]byte(procedureText))}, record.Env{})
	if err != nil {
		f.Fatal(err)
	}
	if _, err := log.Append("answered", map[string]any{"text": "12 inH2O"}); err != nil {
		f.Fatal(err)
	}
	log.Close()
	body, err := os.ReadFile(log.Path())
	if err != nil {
		f.Fatal(err)
	}
	c := &classroom.Class{ID: classroom.Code("autumn"), Until: monday, Rotate: classroom.ByRun, Groups: []classroom.Group{{Name: "A"}}, Procedures: []classroom.Pinned{{Name: "intake"}}}
	text, h, err := classroom.Pack(c.ID, "A", "test", body, "dropwalk", monday)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text, c.ID, h.Group, h.Code, h.Record.Name, h.Record.ID, h.Record.SHA256, h.Record.Lines, h.Record.Bytes, false)
	f.Add(body, c.ID, h.Group, h.Code, h.Record.Name, h.Record.ID, h.Record.SHA256, h.Record.Lines, h.Record.Bytes, true)
	f.Add(body[:len(body)-9], c.ID, "../B", "", "../x", "", "", -1, -1, true)
	path := filepath.Join(dir, "x"+classroom.Ext)
	f.Fuzz(func(t *testing.T, data []byte, class, group, code, name, id, sum string, lines, bytes int, sealed bool) {
		if sealed {
			data = classroom.Sealed(classroom.Head{Version: classroom.Version, Class: class, Group: group, Code: code, Made: monday,
				Record: classroom.RecordRef{Name: name, ID: id, Lines: lines, Bytes: bytes, SHA256: sum}}, data)
		}
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		switch i := classroom.Look(c, path, "x"+classroom.Ext); {
		case !i.Counts && len(i.Remarks) == 0:
			t.Errorf("it doesn't count, and nobody says why: %+v", i)
		case i.Counts && (i.Group != "A" || i.Lines < 1):
			t.Errorf("it counts: %+v", i)
		}
	})
}
