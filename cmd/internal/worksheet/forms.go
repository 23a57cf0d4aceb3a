package worksheet

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"

	"dropwalk/cmd/internal/html"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine"
)

//go:embed worksheet.css
var style string

// marks turn what is filled in into something that a pencil fits.
var marks = map[string]string{
	"[ ]":  `<span class="box" role="img" aria-label="box to tick"></span>`,
	"HOLD": `<strong class="hold">HOLD</strong>`,
}

func init() {
	for text, class := range map[string]string{short: "short", medium: "medium", long: "long", line: "line"} {
		marks[strings.Trim(text, "`")] = `<span class="blank ` + class + `" role="img" aria-label="blank to fill in"></span>`
	}
}

// HTML is the paper of p as one page for a browser, which prints it on A4 or
// Letter. Each sheet bears the procedure and its number.
func HTML(p *engine.Procedure, o Options) ([]byte, error) {
	css := strings.ReplaceAll(style, "NAME", fmt.Sprintf("%s, file %s", p.Name, p.SHA256()[:8]))
	return html.Page(terminal.Clean(Markdown(p, o)), html.Options{Marks: marks, Style: css})
}

// Sheets of plain text: A4 and Letter hold so much at 10 characters an inch and 6
// lines an inch.
const (
	columns = 76
	rows    = 58
)

// Text is the paper of p as plain text, sheet by sheet, a form feed between them.
func Text(p *engine.Procedure, o Options) string {
	lines := strings.Split(strings.TrimRight(terminal.Plain(Markdown(p, o), columns), "\n"), "\n")
	var sheets [][]string
	for len(lines) > 0 {
		n := breakAt(lines, rows-2)
		sheets = append(sheets, lines[:n])
		for lines = lines[n:]; len(lines) > 0 && strings.TrimSpace(lines[0]) == ""; {
			lines = lines[1:]
		}
	}
	var b strings.Builder
	for i, sheet := range sheets {
		if i > 0 {
			b.WriteString("\f")
		}
		b.WriteString(strings.Join(sheet, "\n"))
		b.WriteString(strings.Repeat("\n", rows-len(sheet)))
		fmt.Fprintf(&b, "%s, file %s   Car ________________   page %d of %d\n", p.Name, p.SHA256()[:8], i+1, len(sheets))
	}
	return b.String()
}

// leadsOn tells whether a line belongs to the step below it.
func leadsOn(line string) bool {
	return slices.ContainsFunc([]string{"Only if ", "Ahead of ", "Behind "}, func(s string) bool { return strings.HasPrefix(line, s) })
}

// breakAt is how many of the lines go on a sheet of at most so many: a step stays
// in one piece, and behind a caution or a heading no sheet ends.
func breakAt(lines []string, most int) int {
	if len(lines) <= most {
		return len(lines)
	}
	for n := most; n > most/2; n-- {
		before := lines[n-1]
		if strings.TrimSpace(before) == "" {
			before = lines[n-2]
		}
		starts := lines[n] != "" && lines[n][0] != ' '
		heading := strings.HasPrefix(before, "---") || strings.HasPrefix(before, "===") || strings.HasPrefix(lines[n], "---")
		if starts && !heading && !strings.HasPrefix(before, "  | ") && !leadsOn(before) {
			return n
		}
	}
	return most
}
