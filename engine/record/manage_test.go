package record

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

func TestListShowsEveryRecord(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 3)
	writeBytes(t, Path(dir, "cut"), data[:len(data)-10])
	writeBytes(t, Path(dir, "broken"), bytes.Replace(data, []byte("step-3"), []byte("step-9"), 1))
	writeBytes(t, Path(dir, "empty"), nil)
	writeBytes(t, Path(dir, "other"), []byte("hello\n"))
	if err := os.Mkdir(Path(dir, "folder"), 0o700); err != nil {
		t.Fatal(err)
	}
	writeBytes(t, filepath.Join(dir, "notes.txt"), []byte("x"))
	writeBytes(t, stem(path)+tornExt+"x", []byte("x"))
	got, err := List(dir)
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, s := range got {
		worst := "sound"
		if s.Worst != nil {
			worst = s.Worst.Level.String()
		}
		lines = append(lines, fmt.Sprint(s.Name, " ", s.Lines, " ", s.LastKind, " ", worst, " ", s.Header.Car, " ", s.Err != nil, " ", s.Modified.IsZero()))
	}
	want := []string{
		"broken 2 answered damage yellow-estate false false",
		"cut 3 answered damage yellow-estate false false",
		"empty 0  damage  false false",
		"other 0  sound  true true",
		"yellow 4 answered sound yellow-estate false false",
	}
	if d := diff(lines, want); d != "" {
		t.Errorf("list (-want +got):\n%s", d)
	}
	if last := got[4].LastTime; last.IsZero() || got[4].Size != int64(len(data)) {
		t.Errorf("last time %v, size %d, want a time and %d", last, got[4].Size, len(data))
	}
	if none, err := List(filepath.Join(dir, "none")); err != nil || len(none) != 0 {
		t.Errorf("a folder that isn't there: got %v, %v", none, err)
	}
	if _, err := List(path); err == nil {
		t.Error("a file in place of the folder: no error")
	}
}

func TestRenameTakesTheSideFilesAlong(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 2)
	for _, side := range []string{"yellow.torn-x", "yellow.kept-y", "yellow-2.torn-z", "yellow.txt"} {
		writeBytes(t, filepath.Join(dir, side), []byte("x"))
	}
	to, err := Rename(path, "green", testEnv())
	if err != nil || to != Path(dir, "green") || !bytes.Equal(readBytes(t, to), data) {
		t.Fatalf("got %q, %v", to, err)
	}
	if d := diff(dirNames(t, dir), []string{"green.jsonl", "green.kept-y", "green.torn-x", "yellow-2.torn-z", "yellow.txt"}); d != "" {
		t.Errorf("files (-want +got):\n%s", d)
	}
	if _, err := Rename(to, "Green", testEnv()); err != nil {
		t.Errorf("another case of the same name: %v", err)
	}
	if same, err := Rename(Path(dir, "Green"), "Green", testEnv()); err != nil || same != Path(dir, "Green") {
		t.Errorf("the same name: got %q, %v", same, err)
	}
	if _, err := Rename(Path(dir, "none"), "blue", testEnv()); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no such record: got %v", err)
	}
}

func TestRenameNeverOverwrites(t *testing.T) {
	dir := t.TempDir()
	path, data := makeRecord(t, dir, 2)
	writeBytes(t, Path(dir, "Green"), []byte("x"))
	for _, name := range []string{"green", "Green"} {
		if _, err := Rename(path, name, testEnv()); !errors.Is(err, ErrExists) {
			t.Errorf("to %s: got %v, want ErrExists", name, err)
		}
	}
	if !bytes.Equal(readBytes(t, path), data) || string(readBytes(t, Path(dir, "Green"))) != "x" {
		t.Error("a file was changed")
	}
	if got := dirNames(t, dir); len(got) != 2 {
		t.Errorf("left behind: %v", got)
	}
}

func TestRemoveTakesOnlyTheRecordAndItsSideFiles(t *testing.T) {
	dir := t.TempDir()
	path, _ := makeRecord(t, dir, 2)
	for _, side := range []string{"yellow.torn-x", "yellow.kept-y", "yellow.new-w", "yellow.lock", "yellow-2.torn-z", "yellow.txt", "yellow2.jsonl"} {
		writeBytes(t, filepath.Join(dir, side), []byte("x"))
	}
	if err := os.Mkdir(filepath.Join(dir, "yellow.torn-folder"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := Remove(path, testEnv()); err != nil {
		t.Fatal(err)
	}
	if d := diff(dirNames(t, dir), []string{"yellow-2.torn-z", "yellow.torn-folder", "yellow.txt", "yellow2.jsonl"}); d != "" {
		t.Errorf("files (-want +got):\n%s", d)
	}
	for path, want := range map[string]error{
		path:                             os.ErrNotExist,
		filepath.Join(dir, "yellow.txt"): ErrNotRecord,
		Path(dir, "yellow2"):             ErrNotRecord,
	} {
		if err := Remove(path, testEnv()); !errors.Is(err, want) {
			t.Errorf("Remove %s: got %v, want %v", path, err, want)
		}
	}
	if got := dirNames(t, dir); len(got) != 4 {
		t.Errorf("removed too much: %v", got)
	}
}
