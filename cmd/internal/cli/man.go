package cli

import (
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// manPage writes the manual page of root, section 1, in the macros of man(7).
// It holds no date, so that the same release gives the same bytes.
func manPage(root *cobra.Command, out io.Writer) error {
	m := &manual{}
	m.macro("TH", strings.ToUpper(program), "1", "", program+" "+release(), "User Commands")
	m.macro("SH", "NAME")
	m.line(program + " - " + root.Short)
	m.macro("SH", "SYNOPSIS")
	m.line("**" + program + "** *COMMAND* [*OPTION*...]")
	m.macro("SH", "DESCRIPTION")
	m.markdown(manDescription)
	m.macro("SH", "COMMANDS")
	m.commands(root)
	m.macro("SH", "OPTIONS OF EVERY COMMAND")
	m.options(root.PersistentFlags())
	m.macro("SH", "OPTIONS WITHOUT A COMMAND")
	m.options(root.LocalNonPersistentFlags())
	m.macro("SH", "TOPICS")
	for _, name := range topicNames() {
		if name != exitTopic && name != environmentTopic {
			m.macro("SS", topicTitle(name)+" (help "+name+")")
			m.markdown(topicBody(name))
		}
	}
	m.macro("SH", "EXIT STATUS")
	m.markdown(topicBody(exitTopic))
	m.macro("SH", "ENVIRONMENT")
	m.markdown(topicBody(environmentTopic))
	m.macro("SH", "FILES")
	m.markdown(manFiles)
	m.macro("SH", "EXAMPLES")
	m.examples(root.Example)
	_, err := io.WriteString(out, m.b.String())
	return err
}

// The two topics that have sections of their own in a manual page.
const (
	exitTopic        = "exit-codes"
	environmentTopic = "environment"
)

const manDescription = `On a terminal and without a command it shows a short menu; elsewhere its help.

It leads a person through the test of a car's intake path: measure at full load, split the path where that pays, and name the part to change first. It works out the loss of each piece with its uncertainty, says where to tap next and when to stop, and keeps every answer safe.

It knows no law and sees no road. Local law, the maker's instructions and licensed practice come first: see the topic on cautions.`

const manFiles = `- *FOLDER*/*NAME*.jsonl: a record, one test. It only grows.
- *FOLDER*/*NAME*.lock: there while a program has the record open.
- *FOLDER*/*NAME*.torn-..., *NAME*.kept-...: what a repair set aside. Nothing of it is needed once the record reads as you expect.

*FOLDER* is what **dropwalk records where** prints. There is no file of settings and no cache.`

// manual is a page in the making.
type manual struct{ b strings.Builder }

// macro writes a request with its arguments.
func (m *manual) macro(name string, args ...string) {
	m.b.WriteString("." + name)
	for _, arg := range args {
		m.b.WriteString(` "` + strings.ReplaceAll(inRoff(arg), `"`, `\(dq`) + `"`)
	}
	m.b.WriteByte('\n')
}

// line writes one line of text, in which Markdown marks what is set off.
func (m *manual) line(text string) {
	m.b.WriteString(guardedLine(setOff(text)) + "\n")
}

// guardedLine keeps a line from being taken for a request.
func guardedLine(roff string) string {
	if strings.HasPrefix(roff, ".") {
		return `\&` + roff
	}
	return roff
}

// roffNames are characters that roff would take for its own, or for another
// one. The minus is what is typed; a hyphen could not be pasted.
var roffNames = map[rune]string{
	'\\': `\e`, '-': `\-`, '\'': `\(aq`, '`': `\(ga`, '^': `\(ha`, '~': `\(ti`,
}

// inRoff writes text so that it shows as it is.
func inRoff(text string) string {
	var b strings.Builder
	for _, r := range text {
		switch name, ok := roffNames[r]; {
		case ok:
			b.WriteString(name)
		case r > 0x7e:
			fmt.Fprintf(&b, `\[u%04X]`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// markup finds code, strong and emphasised text.
var markup = regexp.MustCompile("`([^`]+)`|\\*\\*([^*]+)\\*\\*|\\*([^*]+)\\*")

// setOff turns Markdown inside a line into fonts.
func setOff(text string) string {
	var b strings.Builder
	for {
		at := markup.FindStringSubmatchIndex(text)
		if at == nil {
			return b.String() + inRoff(text)
		}
		b.WriteString(inRoff(text[:at[0]]))
		for group, font := range []string{`\fB`, `\fB`, `\fI`} {
			if from := at[2+2*group]; from >= 0 {
				b.WriteString(font + inRoff(text[from:at[3+2*group]]) + `\fR`)
			}
		}
		text = text[at[1]:]
	}
}

// markdown sets what the pages of the help hold: headings, lists and
// paragraphs.
func (m *manual) markdown(text string) {
	fresh := true // a paragraph begins with the next line of text
	for line := range strings.SplitSeq(text, "\n") {
		title, isTitle := strings.CutPrefix(line, "## ")
		item, isItem := strings.CutPrefix(line, "- ")
		switch {
		case strings.TrimSpace(line) == "":
			fresh = true
		case isTitle:
			m.macro("PP")
			m.line("**" + title + "**")
			fresh = true
		case isItem:
			m.macro("IP", "*", "2")
			m.line(item)
			fresh = false
		default:
			if fresh {
				m.macro("PP")
			}
			m.line(line)
			fresh = false
		}
	}
}

// commands writes all below cmd, in their order.
func (m *manual) commands(cmd *cobra.Command) {
	for _, c := range cmd.Commands() {
		m.macro("SS", strings.TrimPrefix(usageLine(c), program+" "))
		m.line(sentence(c.Short))
		if c.Long != "" {
			m.markdown("\n" + c.Long)
		}
		m.options(c.LocalNonPersistentFlags())
		m.examples(c.Example)
		m.commands(c)
	}
}

func (m *manual) options(flags *pflag.FlagSet) {
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Name == "help" && f.Shorthand == "" {
			return
		}
		name := "**--" + f.Name + "**"
		if f.Shorthand != "" {
			name = "**-" + f.Shorthand + "**, " + name
		}
		word, usage := pflag.UnquoteUsage(f)
		if word != "" {
			name += " *" + strings.ToUpper(word) + "*"
		}
		m.macro("TP")
		m.line(name)
		m.line(sentence(usage))
	})
}

// examples are command lines, each with its remark where it has one.
func (m *manual) examples(text string) {
	for line := range strings.SplitSeq(text, "\n") {
		command, remark, _ := strings.Cut(line, "   ")
		m.macro("PP")
		m.macro("nf")
		m.b.WriteString(guardedLine(`\fB`+inRoff(command)+`\fR`) + "\n")
		m.macro("fi")
		if remark = strings.TrimSpace(remark); remark != "" {
			m.macro("RS", "4")
			m.line(sentence(remark))
			m.macro("RE")
		}
	}
}
