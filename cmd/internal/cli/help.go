package cli

import (
	"embed"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"dropwalk/advice"
	"dropwalk/cmd/internal/terminal"
	"dropwalk/engine/quantity"
	"dropwalk/engine/spell"
)

// topics are the pages behind "help TOPIC". The first line of each is its
// title.
//
//go:embed help/*.md
var topics embed.FS

func (a *app) help() *cobra.Command {
	man := false
	cmd := &cobra.Command{
		Use:   "help [COMMAND | TOPIC]",
		Short: "explain a command or a topic",
		Example: `dropwalk help start
dropwalk help words
dropwalk help --man > dropwalk.1       the manual page; man ./dropwalk.1 shows it`,
		RunE: func(cmd *cobra.Command, args []string) error {
			root := cmd.Root()
			switch {
			case man && len(args) > 0:
				return &usageError{"the manual page is one for all commands", "dropwalk help --man"}
			case man:
				return manPage(root, a.Out)
			case len(args) == 0:
				return a.showHelp(root)
			}
			if found, rest, err := root.Find(args); err == nil && found != root && len(rest) == 0 {
				return a.showHelp(found)
			}
			if len(args) == 1 && slices.Contains(topicNames(), args[0]) {
				return a.read("# " + topicTitle(args[0]) + "\n\n" + topicBody(args[0]))
			}
			return noHelp(root, args)
		},
	}
	cmd.Flags().BoolVar(&man, "man", false, "print the manual page, for man(1)")
	return cmd
}

func noHelp(root *cobra.Command, args []string) error {
	known := topicNames()
	for _, c := range root.Commands() {
		known = append(known, c.Name())
	}
	hint := "topics: " + strings.Join(topicNames(), ", ")
	if near, ok := spell.Nearest(args[0], known); ok {
		hint = fmt.Sprintf("did you mean %q?", "help "+near)
	}
	return &usageError{fmt.Sprintf("there is no help on %q", strings.Join(args, " ")), hint}
}

// measured are the kinds whose units a person may write, in the order of the
// list. The kinds of pressure share their units, as do those of temperature.
var measured = []quantity.Kind{
	quantity.PressureDiff, quantity.Length, quantity.Area, quantity.Volume, quantity.Temperature,
	quantity.MassFlow, quantity.VolumeFlow, quantity.Power, quantity.Speed, quantity.Angle,
	quantity.Density, quantity.Share, quantity.Duration, quantity.Rotation,
}

// unitList is a Markdown list of the units that can be read, from the table
// that reads them.
func unitList() string {
	var b strings.Builder
	for _, kind := range measured {
		name := string(kind)
		if kind == quantity.PressureDiff {
			name = "pressure"
		}
		fmt.Fprintf(&b, "- %s: %s\n", name, strings.Join(quantity.UnitsOf(kind), ", "))
	}
	return b.String()
}

func topicNames() []string {
	entries, _ := topics.ReadDir("help") // embedded: it is there
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), ".md"))
	}
	return names
}

func topicTitle(name string) string {
	page, _ := topics.ReadFile("help/" + name + ".md")
	first, _, _ := strings.Cut(string(page), "\n")
	return strings.TrimPrefix(first, "# ")
}

// topicBody is a topic without its title. What stands in braces is put in from
// the tables of the program.
func topicBody(name string) string {
	page, _ := topics.ReadFile("help/" + name + ".md")
	_, body, _ := strings.Cut(string(page), "\n")
	return strings.TrimSpace(strings.NewReplacer("{units}\n", unitList(), "{codes}\n", codeList(), "{rules}\n", ruleList(), "{example}\n", exampleBlock(),
		"{pages}", strings.Join((&advice.Matter{}).Names().Pages, ", "), "{sources}\n", sourceList(), "{fields}\n", fieldList(), "{facts}\n", factList()).Replace(body)) + "\n"
}

// codeList is a Markdown list of the exit codes.
func codeList() string {
	var b strings.Builder
	for _, m := range meanings {
		fmt.Fprintf(&b, "- %d: %s.\n", m.code, m.meaning)
	}
	return b.String()
}

// showHelp prints the help of cmd: examples first, because most people copy
// one and change it.
func (a *app) showHelp(cmd *cobra.Command) error {
	var b strings.Builder
	b.WriteString("Examples:\n")
	for line := range strings.SplitSeq(cmd.Example, "\n") {
		b.WriteString(exampleLine(line, a.Width))
	}
	b.WriteString("\n" + terminal.Wrap(usageLine(cmd), a.Width, "", "    "))
	b.WriteString(terminal.Wrap(sentence(cmd.Short), a.Width, "", ""))
	if cmd.Long != "" {
		b.WriteString("\n" + terminal.Plain(cmd.Long, a.Width))
	}
	a.commandList(&b, cmd)
	if !cmd.HasParent() {
		b.WriteString("\nTopics (dropwalk help TOPIC):\n")
		for _, name := range topicNames() {
			b.WriteString(row(name, topicTitle(name), a.Width))
		}
	}
	a.optionList(&b, "Options:", cmd.NonInheritedFlags())
	a.optionList(&b, "Options of every command:", cmd.InheritedFlags())
	_, err := io.WriteString(a.Out, b.String())
	return err
}

func usageLine(cmd *cobra.Command) string {
	if !cmd.HasParent() {
		return program + " COMMAND [OPTION...]"
	}
	return strings.TrimSuffix(cmd.CommandPath(), cmd.Name()) + cmd.Use + " [OPTION...]"
}

func sentence(s string) string { return strings.ToUpper(s[:1]) + s[1:] + "." }

// exampleLine sets one example. Its remark, three blanks behind it, goes below
// it where the line is too short for both.
func exampleLine(line string, width int) string {
	if len(line)+2 <= width {
		return "  " + line + "\n"
	}
	command, remark, _ := strings.Cut(line, "   ")
	text := terminal.Wrap(command, width, "  ", "      ")
	if remark = strings.TrimSpace(remark); remark != "" {
		text += terminal.Wrap(remark, width, "      ", "      ")
	}
	return text
}

func (a *app) commandList(b *strings.Builder, cmd *cobra.Command) {
	first := true
	for _, c := range cmd.Commands() {
		if !c.IsAvailableCommand() && c.Name() != "help" {
			continue
		}
		if first {
			b.WriteString("\nCommands:\n")
			first = false
		}
		b.WriteString(row(c.Name(), c.Short, a.Width))
	}
}

func (a *app) optionList(b *strings.Builder, title string, flags *pflag.FlagSet) {
	if !flags.HasAvailableFlags() {
		return
	}
	b.WriteString("\n" + title + "\n")
	flags.VisitAll(func(f *pflag.Flag) {
		name := "--" + f.Name
		if f.Shorthand != "" {
			name = "-" + f.Shorthand + ", " + name
		}
		switch word, _ := pflag.UnquoteUsage(f); {
		case word != "" && f.NoOptDefVal != "":
			name += "[=" + strings.ToUpper(word) + "]"
		case word != "":
			name += " " + strings.ToUpper(word)
		}
		_, usage := pflag.UnquoteUsage(f)
		b.WriteString(row(name, usage, a.Width))
	})
}

// nameColumn is the width of the left column of a list.
const nameColumn = 16

// row is a name with its explanation: beside it where there is room, else
// below.
func row(name, text string, width int) string {
	indent := strings.Repeat(" ", nameColumn)
	if width < 3*nameColumn {
		return terminal.Wrap(name, width, "  ", "  ") + terminal.Wrap(text, width, "      ", "      ")
	}
	if len(name)+2 >= nameColumn {
		return "  " + name + "\n" + terminal.Wrap(text, width, indent, indent)
	}
	return terminal.Wrap(text, width, "  "+name+strings.Repeat(" ", nameColumn-2-len(name)), indent)
}
