// Package insert puts shared blocks into the text of a procedure before
// anything else reads it. A block is a YAML list in a file of its own; a list
// item "- insert: NAME" on a line of its own stands for the items of that
// block, at its indentation. What comes out is a complete file that needs no
// block any more. A block may insert blocks. The work is bounded: see the
// limits below.
package insert

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
)

// Code is the name of the rule that an insert keeps. Programs that read faults
// go by it.
const Code = "insert"

// Key is the word that makes a list item an insert.
const Key = "insert"

// Limits of what one file can insert. They stand far above what a person
// writes; the size of what comes out is bounded by strictyaml.MaxBytes.
const (
	deepest     = 8
	mostInserts = 1000
)

// Block is one shared block.
type Block struct {
	File string // where it is said to stand, for faults
	Src  []byte
}

// Blocks are the blocks that there are, by name.
type Blocks map[string]Block

// Names lists the blocks in order.
func (b Blocks) Names() []string {
	names := make([]string, 0, len(b))
	for name := range b {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// Text is a file with its blocks put in.
type Text struct {
	Src     []byte // complete
	origins []origin
	files   map[string][]byte // what was read, by name of the file
}

// origin is where a line of the complete text comes from.
type origin struct {
	file  string
	line  int
	shift int    // columns that the insert has added
	via   string // how the line came in, "" for a line of the file itself
}

// Expand puts the blocks into src. Where that can't be done the faults say why,
// and the text is src itself. A text that is no YAML is left as it is, without
// a fault: whoever reads it next says what is wrong with it.
func Expand(file string, src []byte, blocks Blocks) (*Text, strictyaml.Faults) {
	asIs := &Text{Src: src, files: map[string][]byte{file: src}}
	if !bytes.Contains(src, []byte(Key)) {
		return asIs, nil
	}
	e := &expander{blocks: blocks, read: map[string]*piece{}, files: map[string][]byte{file: src}}
	own, faults := readPiece(file, src)
	if len(faults.Errors()) > 0 {
		return asIs, nil
	}
	if len(own.inserts) == 0 && len(own.faults) == 0 {
		return asIs, nil
	}
	e.put(own, 0, "", nil)
	if len(e.faults) > 0 {
		return asIs, e.faults.Sorted()
	}
	return &Text{Src: []byte(e.out.String()), origins: e.origins, files: e.files}, nil
}

// Placed gives faults of the complete text their places in the files that it
// was put together from. One inside a block names the insert that brought it
// in. Paths are taken out: they count the items of the complete text.
func (t *Text) Placed(faults strictyaml.Faults) strictyaml.Faults {
	if t.origins == nil {
		return faults
	}
	placed := slices.Clone(faults)
	for i := range placed {
		f := &placed[i]
		f.Path = ""
		if f.Line < 1 || f.Line > len(t.origins) {
			continue
		}
		from := t.origins[f.Line-1]
		f.File, f.Line, f.Col = from.file, from.line, max(1, f.Col-from.shift)
		switch {
		case from.via == "":
		case f.Hint == "":
			f.Hint = from.via
		default:
			f.Hint += "; " + from.via
		}
	}
	return placed
}

// Original is the text of one of the files that went in, nil for any other: a
// fault quotes its line from it.
func (t *Text) Original(file string) []byte { return t.files[file] }

// Whole tells whether nothing was put in.
func (t *Text) Whole() bool { return t.origins == nil }

// piece is a file or a block with the places of its inserts.
type piece struct {
	file    string
	lines   []string
	first   int            // index of the first line that counts
	inserts map[int]insert // by index of their line
	faults  strictyaml.Faults
}

type insert struct {
	name string
	node *strictyaml.Node // of the name
}

// item is an insert as it has to be written.
var item = regexp.MustCompile(`^( *)- +` + Key + `: +[^ ]+ *(?: #.*)?$`)

func readPiece(file string, src []byte) (*piece, strictyaml.Faults) {
	root, faults := strictyaml.ParseYAML(file, src, 1)
	if root == nil || len(faults.Errors()) > 0 {
		return nil, faults
	}
	text := strings.TrimPrefix(string(src), "\uFEFF")
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	p := &piece{file: file, lines: strings.Split(strings.TrimRight(text, "\n"), "\n"), inserts: map[int]insert{}}
	p.find(root, false)
	return p, nil
}

// find gathers the inserts at n and below.
func (p *piece) find(n *strictyaml.Node, inList bool) {
	if n == nil {
		return
	}
	for _, pair := range n.Pairs {
		switch {
		case pair.Key != Key:
			p.find(pair.Value, false)
		case !inList || len(n.Pairs) > 1 || pair.Value.Kind != strictyaml.Scalar || !item.MatchString(p.line(pair.KeyLine)):
			p.faults = append(p.faults, strictyaml.Fault{Code: Code, File: p.file, Line: pair.KeyLine, Col: pair.KeyCol,
				What: "an insert that stands for no item of a list", Expected: "a line of its own in a list: - insert: NAME"})
		default:
			p.inserts[pair.KeyLine-1] = insert{pair.Value.Str(), pair.Value}
		}
	}
	for _, child := range n.Items {
		p.find(child, true)
	}
}

func (p *piece) line(number int) string {
	if number < 1 || number > len(p.lines) {
		return ""
	}
	return p.lines[number-1]
}

// expander puts one text together.
type expander struct {
	blocks  Blocks
	read    map[string]*piece // blocks that were read
	files   map[string][]byte
	out     strings.Builder
	origins []origin
	inserts int
	full    bool // a limit was reached
	faults  strictyaml.Faults
}

// put writes the lines of p, each with its blocks in its place. Via says how p
// came in; chain holds the blocks that are open.
func (e *expander) put(p *piece, indent int, via string, chain []string) {
	e.faults = append(e.faults, p.faults...)
	for i := p.first; i < len(p.lines) && !e.full; i++ {
		if in, ok := p.inserts[i]; ok {
			e.block(p, in, indent+leading(p.lines[i]), via, chain)
			continue
		}
		e.write(p.lines[i], indent, origin{p.file, i + 1, indent, via})
	}
}

func leading(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }

func (e *expander) write(line string, indent int, from origin) {
	if line != "" {
		e.out.WriteString(strings.Repeat(" ", indent))
	}
	e.out.WriteString(line + "\n")
	e.origins = append(e.origins, from)
}

// block writes one block in the place of the insert in, which stands in p.
func (e *expander) block(p *piece, in insert, indent int, via string, chain []string) {
	if fault := e.refused(p, in, via, chain); fault != nil {
		e.faults = append(e.faults, *fault)
		return
	}
	b := e.open(in.name)
	if b == nil {
		return
	}
	how := fmt.Sprintf("inserted at %s:%d", p.file, in.node.Line)
	if via != "" {
		how += ", " + via
	}
	e.write("# The shared block "+in.name+".", indent, origin{p.file, in.node.Line, 0, via})
	e.put(b, indent, how, append(slices.Clone(chain), in.name))
}

// refused tells what speaks against an insert, nil if nothing.
func (e *expander) refused(p *piece, in insert, via string, chain []string) *strictyaml.Fault {
	f := &strictyaml.Fault{Code: Code, File: p.file, Line: in.node.Line, Col: in.node.Col, Hint: via}
	e.inserts++
	block, known := e.blocks[in.name]
	switch {
	case !known:
		f.What, f.Expected = fmt.Sprintf("there is no shared block %q", in.name), "one that dropwalk procedures blocks lists"
		if near, ok := spell.Nearest(in.name, e.blocks.Names()); ok {
			f.Hint = fmt.Sprintf("did you mean %q?", near)
		}
	case slices.Contains(chain, in.name):
		f.What, f.Expected = fmt.Sprintf("the block %s inserts itself: %s", in.name, strings.Join(append(slices.Clone(chain), in.name), ", ")), "blocks that end"
	case len(chain) >= deepest:
		f.What, f.Expected = "blocks inside blocks too deep", fmt.Sprintf("at most %d levels", deepest)
	case e.inserts > mostInserts:
		f.What, f.Expected = "too many inserts", fmt.Sprintf("at most %d in all", mostInserts)
		e.full = true
	case e.out.Len()+len(block.Src)+indentation(block.Src, in) > strictyaml.MaxBytes:
		f.What, f.Expected = "the file grows too large with its blocks", fmt.Sprintf("at most %d KiB", strictyaml.MaxBytes/1024)
		e.full = true
	default:
		return nil
	}
	return f
}

// indentation is how many bytes the indentation of a block takes.
func indentation(src []byte, in insert) int {
	return (bytes.Count(src, []byte("\n")) + 1) * in.node.Col
}

// open reads a block, once. A block that can't be read is told where it stands.
func (e *expander) open(name string) *piece {
	if b, ok := e.read[name]; ok {
		return b
	}
	block := e.blocks[name]
	e.read[name] = nil
	e.files[block.File] = block.Src
	b, faults := readBlock(block)
	if len(faults) > 0 {
		e.faults = append(e.faults, faults.Coded(Code)...)
		return nil
	}
	e.read[name] = b
	return b
}

// readBlock reads a block: a list at the margin. What stands ahead of its first
// item says what the block is for and is left behind.
func readBlock(block Block) (*piece, strictyaml.Faults) {
	p, faults := readPiece(block.File, block.Src)
	if len(faults) > 0 {
		return nil, faults
	}
	p.first = slices.IndexFunc(p.lines, func(line string) bool { return line != "" && !strings.HasPrefix(line, "#") })
	if p.first < 0 || !strings.HasPrefix(p.lines[p.first], "- ") {
		at := max(p.first, 0) + 1
		return nil, strictyaml.Faults{{File: block.File, Line: at, Col: 1, What: "a shared block is no list", Expected: "a list at the margin, - and a blank ahead of each item"}}
	}
	return p, nil
}

// About is what a block says of itself: the remark at its head, in one line.
func (b Block) About() string {
	var words []string
	for line := range strings.Lines(string(b.Src)) {
		text, remark := strings.CutPrefix(strings.TrimSpace(line), "#")
		if !remark {
			break
		}
		words = append(words, strings.Fields(text)...)
	}
	return strings.Join(words, " ")
}
