package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"dropwalk/engine/record"
	"dropwalk/engine/spell"
)

// findRecord returns the path of the record that word calls: its path, its
// name, or the beginning of its name if no other begins like it.
func (a *app) findRecord(word string) (string, error) {
	if isPath(word) {
		if _, err := os.Stat(word); err != nil {
			return "", input(plainPath(err), "")
		}
		return word, nil
	}
	dir, err := a.folder()
	if err != nil {
		return "", err
	}
	names, err := record.Names(dir)
	if err != nil {
		return "", plainPath(err)
	}
	name, err := pick(word, names)
	if errors.Is(err, errNoName) {
		if path, found := a.practised(word); found {
			return path, nil
		}
		name, err = a.pickByCar(word, dir, names, err)
	}
	if err != nil {
		return "", err
	}
	return record.Path(dir, name), nil
}

// errNoName says that no name of a record is as somebody typed it.
var errNoName = errors.New("")

// pickByCar finds the one record whose car is called word now, or begins like
// it. Where there is none it returns the fault that names alone have given.
func (a *app) pickByCar(word, dir string, names []string, none error) (string, error) {
	typed := record.NameFrom(word)
	if strings.TrimSpace(word) == "" || typed == record.NameFrom("") {
		return "", none
	}
	var whole, begun []string
	for _, name := range names {
		c, err := record.View(record.Path(dir, name))
		if err != nil {
			continue
		}
		car := carNow(c)
		switch plain := record.NameFrom(car); {
		case car == "":
		case strings.EqualFold(car, word), plain == typed:
			whole = append(whole, name)
		case strings.HasPrefix(plain, typed):
			begun = append(begun, name)
		}
	}
	if len(whole) == 0 {
		whole = begun
	}
	switch len(whole) {
	case 0:
		return "", none
	case 1:
		return whole[0], nil
	}
	return "", input(fmt.Errorf("%q fits the cars of %d records", word, len(whole)), "one of: "+strings.Join(whole, ", "))
}

// pick finds the one name that word calls. A car's name does too, as the record
// was named after it.
func pick(word string, names []string) (string, error) {
	if slices.Contains(names, word) {
		return word, nil
	}
	var fits []string
	for _, name := range names {
		if word != "" && strings.HasPrefix(strings.ToLower(name), strings.ToLower(word)) {
			fits = append(fits, name)
		}
	}
	switch {
	case len(fits) == 1:
		return fits[0], nil
	case len(fits) > 1:
		return "", input(fmt.Errorf("%q begins the names of %d records", word, len(fits)), "one of: "+strings.Join(fits, ", "))
	}
	if plain := record.NameFrom(word); word != "" && plain != strings.ToLower(word) && plain != record.NameFrom("") {
		if name, err := pick(plain, names); err == nil {
			return name, nil
		}
	}
	hint := "dropwalk records lists them"
	if near, ok := spell.Nearest(word, names); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	return "", input(fmt.Errorf("there is no record %q%w", word, errNoName), hint)
}

// isPath tells whether word is written as a path rather than as a name.
func isPath(word string) bool {
	return strings.ContainsAny(word, `/\`) || filepath.Ext(word) != "" || word == "."
}

// source is something that can be assessed.
type source struct {
	name     string // as the messages call it
	path     string // "" for standard input
	isRecord bool
}

// findSource tells whether word is a record, a sheet file or standard input.
// A name that is both means the record; a path says which file is meant.
func (a *app) findSource(word string) (source, error) {
	if word == "-" {
		return source{name: "stdin"}, nil
	}
	if isPath(word) {
		isRecord, err := holdsRecord(word)
		return source{name: word, path: word, isRecord: isRecord}, err
	}
	path, err := a.findRecord(word)
	if err == nil {
		return source{name: record.Name(path), path: path, isRecord: true}, nil
	}
	if _, statErr := os.Stat(word); statErr == nil {
		return source{name: word, path: word}, nil
	}
	return source{}, err
}

// holdsRecord tells a record from a sheet by its content: both can be JSON.
func holdsRecord(path string) (bool, error) {
	info, err := os.Stat(path)
	if err != nil {
		return false, input(plainPath(err), "")
	}
	if info.IsDir() {
		return false, input(fmt.Errorf("%q is a folder", path), "name a file in it")
	}
	if filepath.Ext(path) != record.Ext {
		return false, nil
	}
	_, err = record.View(path)
	if errors.Is(err, record.ErrNotRecord) {
		return false, nil
	}
	return true, err
}

// plainPath says in plain words what is wrong with a path.
func plainPath(err error) error {
	p, ok := errors.AsType[*fs.PathError](err)
	if !ok {
		return err
	}
	switch {
	case errors.Is(err, syscall.ENOTDIR):
		return input(fmt.Errorf("%q is a file, or lies in one", p.Path), "name a folder there")
	case errors.Is(err, syscall.EISDIR):
		return input(fmt.Errorf("%q is a folder", p.Path), "name a file in it")
	case errors.Is(err, fs.ErrNotExist) && !isThere(filepath.Dir(p.Path)):
		return &hinted{fmt.Errorf("there is no folder %q%w", filepath.Dir(p.Path), silent{fs.ErrNotExist}), "look at the spelling, or make the folder first"}
	case errors.Is(err, fs.ErrNotExist):
		return &hinted{fmt.Errorf("there is no file %q%w", p.Path, silent{fs.ErrNotExist}), "look at the spelling; a path begins at the folder that you are in"}
	case errors.Is(err, fs.ErrPermission):
		return &hinted{fmt.Errorf("%q may not be used%w", p.Path, silent{fs.ErrPermission}), "look at the rights of the file and its folder"}
	}
	return err
}

func isThere(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// silent carries a class of error without adding to its text.
type silent struct{ error }

func (silent) Error() string   { return "" }
func (s silent) Unwrap() error { return s.error }
