package sheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// leafTable finds a leaf by its path.
var leafTable, leafPaths = func() (map[string]*leaf, []string) {
	table := map[string]*leaf{}
	var paths []string
	sheetKeys.leaves("", func(path string, l *leaf) {
		table[path] = l
		paths = append(paths, path)
	})
	return table, paths
}()

// Known tells whether path is a place of a sheet that an entry can fill.
func Known(path string) bool { return leafTable[path] != nil }

// Entries lists what s states as answers, in the order of the sheet. The rows
// of named things go by their name, all others by their number from 1.
func (s *Sheet) Entries() []subject.Entry {
	root := sheetKeys.node(s)
	var out []subject.Entry
	for _, path := range leafPaths {
		if n := walk(root, path); n != nil {
			out = append(out, subject.Entry{Path: path, Text: leafTable[path].text(n)})
		}
	}
	for _, list := range lists {
		out = append(out, rowEntries(list, root.Get(list))...)
	}
	return out
}

// lists are the keys of a sheet that hold rows, in order.
var lists = func() []string {
	var out []string
	for _, path := range leafPaths {
		if list, _, ok := strings.Cut(path, "[]."); ok && !slices.Contains(out, list) {
			out = append(out, list)
		}
	}
	return out
}()

func rowEntries(list string, rows *strictyaml.Node) []subject.Entry {
	if rows == nil {
		return nil
	}
	var out []subject.Entry
	for i, item := range rows.Items {
		row := item.Get("name").Str()
		if row == "" {
			row = strconv.Itoa(i + 1)
		}
		for _, path := range leafPaths {
			key, ok := strings.CutPrefix(path, list+"[].")
			if n := walk(item, key); ok && n != nil {
				out = append(out, subject.Entry{Path: path, Row: row, Text: leafTable[path].text(n)})
			}
		}
	}
	return out
}

func walk(n *strictyaml.Node, path string) *strictyaml.Node {
	for step := range strings.SplitSeq(path, ".") {
		n = n.Get(step)
	}
	return n
}

// FromEntries makes a sheet of answers. A later entry at a place replaces an
// earlier one, an empty text takes it away; rows stand in the order in which
// they first appear. The sheet is nil where there is any fault; faults have a
// path and no line.
func FromEntries(entries []subject.Entry) (*Sheet, strictyaml.Faults) {
	b := entryTree{root: strictyaml.NewMap(), rows: map[string]*strictyaml.Node{}}
	b.root.Set("sheet", strictyaml.NewWhole(Version))
	for _, e := range latest(entries) {
		b.add(e)
	}
	s, faults := build("", b.root)
	faults = append(b.faults, faults...).Sorted()
	if faults.Err() != nil {
		return nil, faults
	}
	return s, faults
}

// latest keeps the last entry of each place, where its first one stood.
func latest(entries []subject.Entry) []subject.Entry {
	type place struct{ path, row string }
	at := map[place]int{}
	var out []subject.Entry
	for _, e := range entries {
		p := place{e.Path, e.Row}
		if i, seen := at[p]; seen {
			out[i].Text = e.Text
			continue
		}
		at[p] = len(out)
		out = append(out, e)
	}
	return slices.DeleteFunc(out, func(e subject.Entry) bool { return e.Text == "" })
}

// entryTree grows the tree of a sheet from entries.
type entryTree struct {
	root   *strictyaml.Node
	rows   map[string]*strictyaml.Node // by list and row
	faults strictyaml.Faults
}

func (b *entryTree) add(e subject.Entry) {
	l := leafTable[e.Path]
	if l == nil {
		hint := ""
		if near, ok := spell.Nearest(e.Path, leafPaths); ok {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		b.faults = append(b.faults, strictyaml.Fault{Path: e.Path, What: "a test sheet has no such place", Hint: hint})
		return
	}
	at := b.root
	path := e.Path
	if list, key, ok := strings.Cut(e.Path, "[]."); ok {
		at, path = b.row(list, e.Row), key
	}
	steps := strings.Split(path, ".")
	for _, step := range steps[:len(steps)-1] {
		if !at.Has(step) {
			at.Set(step, strictyaml.NewMap())
		}
		at = at.Get(step)
	}
	at.Set(steps[len(steps)-1], l.node(e.Text))
}

func (b *entryTree) row(list, row string) *strictyaml.Node {
	key := list + "\n" + row
	if b.rows[key] == nil {
		b.rows[key] = strictyaml.NewMap()
		if !b.root.Has(list) {
			b.root.Set(list, strictyaml.NewList())
		}
		rows := b.root.Get(list)
		rows.Items = append(rows.Items, b.rows[key])
	}
	return b.rows[key]
}
