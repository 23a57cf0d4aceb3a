package sheet

import (
	"fmt"

	"dropwalk/engine/strictyaml"
	"dropwalk/engine/subject"
)

// sheetShape serves Read and Schema.
var sheetShape = sheetKeys.shape().Called("a test sheet, which begins with sheet: 1")

// Read reads one sheet, YAML or, where it begins with {, JSON. The sheet is nil
// where there is any fault; warnings leave it whole. Faults come in the order
// of their places.
func Read(file string, src []byte) (*Sheet, strictyaml.Faults) {
	return fromTree(file, parse(file, src))
}

// parsed is a tree with what was wrong with its text.
type parsed struct {
	root   *strictyaml.Node
	faults strictyaml.Faults
}

func one(n *strictyaml.Node, fs strictyaml.Faults) parsed { return parsed{n, fs} }

func fromTree(file string, p parsed) (*Sheet, strictyaml.Faults) {
	if p.root == nil {
		return nil, p.faults
	}
	if f, bad := otherVersion(file, p.root, "sheet", "a test sheet", Version); bad {
		return nil, append(p.faults, f)
	}
	s, faults := build(file, p.root)
	faults = append(p.faults, faults...).Sorted()
	if faults.Err() != nil {
		return nil, faults
	}
	return s, faults
}

// otherVersion recognises a document of a version to come, by the number at key.
// Nothing else about it can be judged, so this is its only fault.
func otherVersion(file string, root *strictyaml.Node, key, what string, known int) (strictyaml.Fault, bool) {
	n := root.Get(key)
	if n.Int() <= known || n.Type != strictyaml.Int {
		return strictyaml.Fault{}, false
	}
	return strictyaml.Fault{File: file, Line: n.Line, Col: n.Col, Path: n.Path(),
		What:     fmt.Sprintf("%s of version %d, which this release can't read", what, n.Int()),
		Expected: fmt.Sprintf("version %d", known), Hint: "a newer release reads it"}, true
}

// build makes a sheet of a tree and finds everything that is wrong with it.
func build(file string, root *strictyaml.Node) (*Sheet, strictyaml.Faults) {
	faults := sheetShape.Check(file, root)
	s := new(Sheet)
	if root.Kind != strictyaml.Map {
		return s, faults
	}
	sheetKeys.readInto(s, root)
	c := newChecker(file, root, s)
	c.all()
	return s, append(faults, c.Faults...).Sorted()
}

// Write prints s as YAML that reads back equal.
func Write(s *Sheet) []byte { return strictyaml.Write(sheetKeys.node(s)) }

// Schema is the JSON Schema of a sheet, draft 7, for editors. It holds the
// keys, the words and the plain numbers; units and what one part says about
// another only the reader knows.
func Schema() []byte {
	return sheetShape.Schema("sheet-1.schema.json", "Test sheet of an intake path, version 1")
}

// Fields lists every place of a sheet that an answer can fill, in the order of
// the sheet. Paths through lists hold "[]".
func Fields() []subject.Field {
	var out []subject.Field
	sheetKeys.leaves("", func(path string, l *leaf) { out = append(out, l.field(path)) })
	return out
}
