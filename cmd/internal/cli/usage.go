package cli

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"dropwalk/engine/spell"
)

// unknownCommand names the command that was probably meant.
func unknownCommand(cmd *cobra.Command, word string) error {
	var known []string
	for _, sub := range cmd.Commands() {
		if sub.IsAvailableCommand() || sub.Name() == "help" {
			known = append(known, sub.Name())
		}
	}
	hint := fmt.Sprintf("%s help lists the commands", program)
	if near, ok := spell.Nearest(word, known); ok {
		hint = fmt.Sprintf("did you mean %q?", strings.TrimPrefix(cmd.CommandPath()+" "+near, program+" "))
	} else if cmd.HasParent() {
		hint = fmt.Sprintf("one of: %s", strings.Join(known, ", "))
	}
	return &usageError{fmt.Sprintf("there is no command %q", strings.TrimPrefix(cmd.CommandPath()+" "+word, program+" ")), hint}
}

// flagError says what is wrong with an option, and which one was probably
// meant.
func flagError(cmd *cobra.Command, err error) error {
	help := fmt.Sprintf("%s --help lists the options", cmd.CommandPath())
	missing, ok := errors.AsType[*pflag.NotExistError](err)
	if !ok {
		return &usageError{err.Error(), help}
	}
	if missing.GetSpecifiedShortnames() != "" {
		return &usageError{fmt.Sprintf("there is no option %q", "-"+missing.GetSpecifiedName()), help}
	}
	name := missing.GetSpecifiedName()
	var known []string
	visit := func(f *pflag.Flag) { known = append(known, f.Name) }
	cmd.Flags().VisitAll(visit)
	cmd.InheritedFlags().VisitAll(visit)
	if near, ok := spell.Nearest(name, known); ok {
		help = fmt.Sprintf("did you mean --%s?", near)
	}
	return &usageError{fmt.Sprintf("there is no option %q", "--"+name), help}
}

// arguments checks how many arguments a command got; most < 0 is any number.
// Names says what they are, for the message.
func arguments(least, most int, names string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		form := fmt.Sprintf("it goes: %s %s", cmd.CommandPath(), names)
		switch {
		case len(args) < least:
			return &usageError{fmt.Sprintf("%s needs more than that", cmd.CommandPath()), form}
		case most >= 0 && len(args) > most:
			return &usageError{fmt.Sprintf("%s has no use for %q", cmd.CommandPath(), args[most]), form}
		}
		return nil
	}
}

var negative = regexp.MustCompile(`^-[0-9.,]`)

// minusSigns keeps a negative quantity for convert from being taken for an
// option: no option is a digit. The typographic minus says the same.
func minusSigns(root *cobra.Command, args []string) []string {
	cmd, _, err := root.Find(args)
	if err != nil || cmd.Name() != "convert" {
		return args
	}
	out := make([]string, len(args))
	for i, arg := range args {
		if negative.MatchString(arg) {
			arg = "−" + arg[1:]
		}
		out[i] = arg
	}
	return out
}
