package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"dropwalk/advice/practice"
	"dropwalk/advice/study"
	"dropwalk/cmd/internal/classroom"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/spell"
)

// writers write the script of each shell.
var writers = []struct {
	shell string
	write func(root *cobra.Command, out io.Writer) error
}{
	{"bash", func(root *cobra.Command, out io.Writer) error {
		if _, err := io.WriteString(out, bashWords); err != nil {
			return err
		}
		return root.GenBashCompletionV2(out, true)
	}},
	{"fish", func(root *cobra.Command, out io.Writer) error { return root.GenFishCompletion(out, true) }},
	{"powershell", (*cobra.Command).GenPowerShellCompletionWithDesc},
	{"zsh", (*cobra.Command).GenZshCompletion},
}

// bashWords finds the words of the line where bash has no bash-completion
// package, on which the script rests otherwise. Bash parts words at = and :,
// which stand inside words here.
const bashWords = `if ! declare -F _get_comp_words_by_ref >/dev/null 2>&1; then
    _get_comp_words_by_ref()
    {
        local i joined=
        words=() cword=0
        for ((i = 0; i <= COMP_CWORD; i++)); do
            if ((i > 0)) && [[ ${COMP_WORDS[i]} == [=:] || $joined ]]; then
                words[cword]+=${COMP_WORDS[i]}
            else
                if ((i > 0)); then ((++cword)); fi
                words[cword]=${COMP_WORDS[i]}
            fi
            joined=
            if [[ ${COMP_WORDS[i]} == [=:] ]]; then joined=1; fi
        done
        cur=${words[cword]}
        prev=
        if ((cword > 0)); then prev=${words[cword-1]}; fi
    }
fi
`

func shells() []string {
	var list []string
	for _, w := range writers {
		list = append(list, w.shell)
	}
	return list
}

func (a *app) completion() *cobra.Command {
	return &cobra.Command{
		Use:   "completion SHELL",
		Short: "print a script by which a shell completes commands, names and words",
		Long: "SHELL is bash, zsh, fish or powershell. With the script, Tab completes commands and options, and the names of procedures and " +
			"records. To have it in every new shell:\n\n" +
			"- bash: `dropwalk completion bash > ~/.local/share/bash-completion/completions/dropwalk`, " +
			"or, without the package bash-completion, put `source <(dropwalk completion bash)` into ~/.bashrc\n" +
			"- zsh: `dropwalk completion zsh > \"${fpath[1]}/_dropwalk\"`, with `autoload -U compinit; compinit` in ~/.zshrc\n" +
			"- fish: `dropwalk completion fish > ~/.config/fish/completions/dropwalk.fish`\n" +
			"- PowerShell: put `dropwalk completion powershell | Out-String | Invoke-Expression` into the file that $PROFILE names",
		Example: `source <(dropwalk completion bash)   in this bash
dropwalk completion fish | source    in this fish`,
		Args: arguments(1, 1, strings.Join(shells(), "|")),
		RunE: func(cmd *cobra.Command, args []string) error {
			for _, w := range writers {
				if w.shell == args[0] {
					return w.write(cmd.Root(), a.Out)
				}
			}
			hint := "one of: " + strings.Join(shells(), ", ")
			if near, ok := spell.Nearest(args[0], shells()); ok {
				hint = fmt.Sprintf("did you mean %q?", near)
			}
			return &usageError{fmt.Sprintf("there is no script for %q", args[0]), hint}
		},
	}
}

// Extensions of the files that commands take.
var (
	sheetFiles     = []string{".yaml", ".yml", ".json", record.Ext}
	procedureFiles = []string{".yaml", ".yml"}
	logFiles       = []string{".csv", ".txt", ".tsv", ".log"}
)

// words of an option, by its name, where only some will do.
var optionWords = map[string]func() []string{
	"units":         func() []string { return []string{"metric", "imperial", "as-typed"} },
	"format":        func() []string { return []string{"text", "json", "github"} },
	"hand":          func() []string { return handNames() },
	"walk":          func() []string { return []string{string(study.Full), string(study.Advice)} },
	"kind":          lossKinds,
	"edge":          func() []string { return []string{"protruding", "flush", "rounded", "bellmouth"} },
	"surface":       func() []string { return []string{"smooth", "ribbed"} },
	"fuel":          func() []string { return []string{"petrol", "diesel"} },
	"induction":     func() []string { return []string{"natural", "turbo", "supercharged"} },
	"boost-control": func() []string { return []string{"absolute", "ratio", "unknown"} },
	"rotate":        func() []string { return []string{classroom.ByRun, classroom.ByRound} },
	"strokes":       func() []string { return []string{"4", "2"} },
	"position":      func() []string { return []string{"upright", "flat"} },
	"view":          func() []string { return views },
	"for":           func() []string { return []string{"tester", "customer"} },

	"car":              carNames,
	"level":            func() []string { return coachLevels },
	"procedure":        func() []string { return []string{usualProcedure} },
	"answers-template": func() []string { return []string{yamlForm, schemaForm} },
}

func handNames() []string {
	list := []string{"all"}
	for _, h := range practice.Hands() {
		list = append(list, h.String())
	}
	return list
}

// offer lists what an argument can be completed to, args being those before it.
type offer func(a *app, cmd *cobra.Command, args []string, typed string) []string

// offers are those of the arguments of each command; none stands for no offer.
// What isn't here takes no arguments.
var offers = map[string]offer{
	"start":             first(either(procedureNames, files(procedureFiles))),
	"resume":            first(recordNames),
	"report":            first(either(recordNames, files(sheetFiles))),
	"assess":            either(recordNames, files(sheetFiles)),
	"compare":           either(recordNames, files(sheetFiles)),
	"history":           either(recordNames, files(sheetFiles)),
	"learn":             either(recordNames, files(sheetFiles)),
	"sheet":             first(recordNames),
	"pulls":             files(logFiles),
	"class new":         first(files(nil)),
	"class hand-in":     recordNames,
	"class collect":     first(files(nil)),
	"class summary":     first(files(nil)),
	"records show":      first(recordNames),
	"records check":     recordNames,
	"records salvage":   first(recordNames),
	"records rename":    first(recordNames),
	"records remove":    first(recordNames),
	"procedures show":   first(either(procedureNames, files(procedureFiles))),
	"procedures print":  first(either(procedureNames, files(procedureFiles))),
	"procedures check":  either(procedureNames, files(procedureFiles)),
	"procedures try":    either(procedureNames, files(procedureFiles)),
	"procedures blocks": first(blockNames),
	"gauges show":       first(gaugeNames),
	"gauges add":        first(files(sheetFiles[:3])),
	"gauges take":       first(recordNames),
	"gauges remove":     first(gaugeNames),
	"convert":           unitsOf,
	"completion":        first(func(*app, *cobra.Command, []string, string) []string { return shells() }),
	"help":              first(helpNames),
}

// completes gives every command below cmd its offers. An option takes files
// where its help says so, else the words that it knows, else nothing.
func (a *app) completes(cmd *cobra.Command) {
	take := offers[strings.TrimPrefix(cmd.CommandPath(), program+" ")]
	if !cmd.HasSubCommands() {
		cmd.ValidArgsFunction = func(cmd *cobra.Command, args []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
			if take == nil {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return fitting(take(a, cmd, args, typed), typed)
		}
	}
	option := func(f *pflag.Flag) {
		if f.Value.Type() == "bool" {
			return
		}
		// The only fault would be to do it twice.
		_ = cmd.RegisterFlagCompletionFunc(f.Name, func(_ *cobra.Command, _ []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
			if f.Name == gaugeOption {
				return fitting(gaugeNames(a, nil, nil, typed), typed)
			}
			return optionOffer(f, typed)
		})
	}
	cmd.LocalNonPersistentFlags().VisitAll(option)
	cmd.PersistentFlags().VisitAll(option)
	for _, sub := range cmd.Commands() {
		a.completes(sub)
	}
}

func optionOffer(f *pflag.Flag, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
	if words, ok := optionWords[f.Name]; ok {
		return fitting(words(), typed)
	}
	switch word, _ := pflag.UnquoteUsage(f); word {
	case "file":
		return nil, cobra.ShellCompDirectiveDefault
	case "folder":
		return nil, cobra.ShellCompDirectiveFilterDirs
	}
	return nil, cobra.ShellCompDirectiveNoFileComp
}

// fitting keeps what begins as it was typed. Behind a lone folder no blank is
// set, so that typing can go on.
func fitting(list []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
	list = slices.DeleteFunc(list, func(s string) bool { return !strings.HasPrefix(s, typed) })
	if len(list) == 1 && strings.HasSuffix(list[0], string(filepath.Separator)) {
		return list, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
	}
	return list, cobra.ShellCompDirectiveNoFileComp
}

// first offers for the first argument only.
func first(o offer) offer {
	return func(a *app, cmd *cobra.Command, args []string, typed string) []string {
		if len(args) > 0 {
			return nil
		}
		return o(a, cmd, args, typed)
	}
}

func either(all ...offer) offer {
	return func(a *app, cmd *cobra.Command, args []string, typed string) []string {
		var list []string
		for _, o := range all {
			list = append(list, o(a, cmd, args, typed)...)
		}
		return list
	}
}

// recordNames are those that aren't named yet. A folder that can't be read
// has none.
func recordNames(a *app, _ *cobra.Command, args []string, _ string) []string {
	dir, err := a.folder()
	if err != nil {
		return nil
	}
	names, _ := record.Names(dir)
	return slices.DeleteFunc(names, func(name string) bool { return slices.Contains(args, name) })
}

func procedureNames(a *app, _ *cobra.Command, _ []string, _ string) []string {
	return a.procedureNames()
}

// files offers the files with one of exts, and folders, beside what is typed.
func files(exts []string) offer {
	return func(_ *app, _ *cobra.Command, _ []string, typed string) []string {
		dir, base := filepath.Split(typed)
		there := dir
		if there == "" {
			there = "."
		}
		entries, _ := os.ReadDir(there) // what can't be read offers nothing
		var list []string
		for _, e := range entries {
			switch {
			case strings.HasPrefix(e.Name(), ".") && base == "":
			case e.IsDir():
				list = append(list, dir+e.Name()+string(filepath.Separator))
			case slices.Contains(exts, filepath.Ext(e.Name())):
				list = append(list, dir+e.Name())
			}
		}
		return list
	}
}

// unitsOf offers the units into which the quantity before can be converted.
func unitsOf(_ *app, _ *cobra.Command, args []string, _ string) []string {
	if len(args) != 1 {
		return nil
	}
	var list []string
	for _, kind := range measured {
		for _, unit := range quantity.UnitsOf(kind) {
			if _, _, err := quantity.Convert(args[0], unit); err == nil {
				list = append(list, unit)
			}
		}
	}
	return list
}

func helpNames(_ *app, cmd *cobra.Command, _ []string, _ string) []string {
	list := topicNames()
	for _, c := range cmd.Root().Commands() {
		if c.IsAvailableCommand() && c.Name() != "help" {
			list = append(list, c.Name())
		}
	}
	return list
}
