package cli

import (
	"fmt"
	"io"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
	"dropwalk/engine/insert"
	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
	"dropwalk/engine/strictyaml"
	"dropwalk/procedures"
)

// sharedFolder is where the shared blocks stand beside the procedures.
const sharedFolder = "shared"

// sharedBlocks are the blocks that come with the program, read once.
var sharedBlocks = sync.OnceValue(func() insert.Blocks {
	entries, _ := procedures.FS.ReadDir(sharedFolder) // embedded: it is there
	blocks := insert.Blocks{}
	for _, e := range entries {
		path := sharedFolder + "/" + e.Name()
		src, _ := procedures.FS.ReadFile(path)
		blocks[strings.TrimSuffix(e.Name(), procedureExt)] = insert.Block{File: "procedures/" + path, Src: src}
	}
	return blocks
})

// procedureFile is the text of a procedure that nobody has checked yet, with the
// shared blocks in it.
type procedureFile struct {
	file   string
	text   *insert.Text
	faults strictyaml.Faults // of its inserts
	comes  bool              // it comes with the program
}

func newProcedureFile(file string, src []byte) *procedureFile {
	text, faults := insert.Expand(file, src, sharedBlocks())
	return &procedureFile{file: file, text: text, faults: faults}
}

// check holds the text against every rule of writing. Faults have the places
// in the files that people wrote.
func (w *procedureFile) check(units quantity.System) (*engine.Procedure, strictyaml.Faults) {
	if len(w.faults) > 0 {
		return nil, w.faults
	}
	p, faults := engine.Check(w.file, w.text.Src, &advice.Matter{Units: units})
	return p, w.text.Placed(faults)
}

func (a *app) proceduresBlocks() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "blocks [NAME]",
		Short: "list the shared blocks of steps, or print one",
		Long: "A block is a stretch of steps that several procedures share: the questions about the car, the cautions of the place, closing up. " +
			"A line - insert: NAME in a list stands for it, in your own files too. dropwalk procedures show PROCEDURE --source prints a file with its blocks in it.",
		Example: `dropwalk procedures blocks
dropwalk procedures blocks leak-check`,
		Args: arguments(0, 1, "[NAME]"),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.listBlocks(asJSON)
			}
			block, ok := sharedBlocks()[args[0]]
			if !ok {
				return noBlock(args[0])
			}
			if asJSON {
				return a.writeVersioned("procedures_blocks", listedBlocks{[]listedBlock{newListedBlock(args[0], block, true)}})
			}
			_, err := a.Out.Write(block.Src)
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON object with the blocks")
	return cmd
}

func noBlock(word string) error {
	hint := program + " procedures blocks lists them"
	if near, ok := spell.Nearest(word, sharedBlocks().Names()); ok {
		hint = fmt.Sprintf("did you mean %q?", near)
	}
	return &usageError{fmt.Sprintf("there is no shared block %q", word), hint}
}

// listedBlock is one shared block, for machines.
type listedBlock struct {
	Name  string `json:"name"`
	About string `json:"about"`
	Text  string `json:"text,omitzero"` // as it stands in its file; only where one is asked for
}

type listedBlocks struct {
	List []listedBlock `json:"list"`
}

func newListedBlock(name string, b insert.Block, whole bool) listedBlock {
	l := listedBlock{Name: name, About: b.About()}
	if whole {
		l.Text = string(b.Src)
	}
	return l
}

func (a *app) listBlocks(asJSON bool) error {
	var all listedBlocks
	longest := 0
	for _, name := range sharedBlocks().Names() {
		all.List = append(all.List, newListedBlock(name, sharedBlocks()[name], false))
		longest = max(longest, len(name))
	}
	if asJSON {
		return a.writeVersioned("procedures_blocks", all)
	}
	const narrow = 60 // columns below which a name stands ahead of its line instead of beside it
	for _, l := range all.List {
		first, rest := fmt.Sprintf("%-*s  ", longest, l.Name), strings.Repeat(" ", longest+2)
		if a.Width < narrow {
			first, rest = l.Name+": ", "  "
		}
		if _, err := io.WriteString(a.Out, terminal.Wrap(l.About, a.Width, first, rest)); err != nil {
			return err
		}
	}
	return nil
}

func blockNames(*app, *cobra.Command, []string, string) []string { return sharedBlocks().Names() }
