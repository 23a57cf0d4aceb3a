package cli

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"
)

// commands are all commands that do something, by their words.
func commands(cmd *cobra.Command) []*cobra.Command {
	var list []*cobra.Command
	for _, sub := range cmd.Commands() {
		if !sub.HasSubCommands() {
			list = append(list, sub)
		}
		list = append(list, commands(sub)...)
	}
	return list
}

func called(cmd *cobra.Command) string { return strings.TrimPrefix(cmd.CommandPath(), program+" ") }

// What Tab offers behind an option is what the option takes, and it takes
// nothing else.
func TestOfferedWordsAreTaken(t *testing.T) {
	tried := map[string]bool{}
	for _, cmd := range commands((&app{}).root()) {
		for name, words := range optionWords {
			if cmd.Flags().Lookup(name) == nil && cmd.InheritedFlags().Lookup(name) == nil {
				continue
			}
			if name == "units" && cmd.Name() != "convert" || name == "for" {
				continue // the same option everywhere; the other one needs a sheet
			}
			tried[name] = true
			for _, word := range append(words(), "zzz") {
				example, _, _ := strings.Cut(cmd.Example, "\n")
				line := fmt.Sprintf("%s --%s=%s", strings.TrimPrefix(example, program+" "), name, word)
				if cmd.Name() == "study" {
					line += " --cars 0"
				}
				if cmd.Name() == "check" {
					line = fmt.Sprintf("procedures check --%s %s", name, word)
				}
				r := runLine(line)
				refused := strings.Contains(r.err, "--"+name+": ")
				if refused != (word == "zzz") {
					t.Errorf("%s: refused is %v: %s", line, refused, r.err)
				}
			}
		}
	}
	for name := range optionWords {
		if !tried[name] && name != "for" {
			t.Errorf("no command has the option --%s", name)
		}
	}
}

// Each command has offers, or takes no arguments. None is there for a command
// that is gone.
func TestOffersAreForCommands(t *testing.T) {
	var all []string
	for _, cmd := range commands((&app{}).root()) {
		all = append(all, called(cmd))
		takes := strings.Contains(cmd.Use, "FILE") || strings.Contains(cmd.Use, "RECORD") || strings.Contains(cmd.Use, "PROCEDURE")
		if takes && offers[called(cmd)] == nil {
			t.Errorf("%q takes arguments, and Tab offers nothing", cmd.Use)
		}
	}
	for name := range offers {
		if !slices.Contains(all, name) {
			t.Errorf("there is no command %q", name)
		}
	}
}

func TestCompletes(t *testing.T) {
	dir, data := pausedTest(t)
	put(t, dir, "yellow", data)
	for line, want := range map[string]string{
		"resume ":                                "grey-van-2026-12-01 yellow :4",
		"records show y":                         "yellow :4",
		"records check yellow ":                  "grey-van-2026-12-01 :4",
		"records show yellow ":                   ":4",
		"start bef":                              "before-after :4",
		"procedures show ../../../procedures/be": "../../../procedures/before-after.yaml :4",
		"procedures check ../../../proced":       "../../../procedures/ :6",
		`convert "1 kW" `:                        "W kW hp PS :4",
		"calc runs --units im":                   "imperial :4",
		"report yellow --out ":                   ":0",
		"help exi":                               "exit-codes :4",
		"completion z":                           "zsh :4",
		"demo ":                                  ":4",
	} {
		args := append([]string{"__complete"}, words(line)...)
		if strings.HasSuffix(line, " ") {
			args = append(args, "")
		}
		args = slices.Insert(args, len(args)-1, "--dir", dir)
		if strings.HasPrefix(line, "help") || strings.Contains(line, "--out") || strings.Contains(line, "--units") {
			args = slices.Delete(args, len(args)-3, len(args)-1)
		}
		code, out, errs := tried(t, "", args...)
		if got := strings.Join(strings.Fields(out), " "); code != exitDone || !cmp.Equal(got, want) && want != "W kW hp PS :4" {
			t.Errorf("%s ends with %d and offers %q, want %q: %s", line, code, got, want, errs)
		}
		if want == "W kW hp PS :4" && (!strings.Contains(out, "\nW\n") && !strings.HasPrefix(out, "W\n") || strings.Contains(out, "kPa")) {
			t.Errorf("%s offers %q, want units of power only", line, out)
		}
	}
}
