package cli

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"
)

func TestMinusSigns(t *testing.T) {
	tests := []struct{ args, want []string }{
		{[]string{"convert", "-12.5 inH2O", "kPa"}, []string{"convert", "−12.5 inH2O", "kPa"}},
		{[]string{"convert", "-.5 mbar", "kPa", "--json"}, []string{"convert", "−.5 mbar", "kPa", "--json"}},
		{[]string{"report", "x", "--out", "-1"}, []string{"report", "x", "--out", "-1"}},
		{[]string{"convert", "-h"}, []string{"convert", "-h"}},
	}
	for _, tt := range tests {
		if diff := cmp.Diff(tt.want, minusSigns((&app{}).root(), tt.args)); diff != "" {
			t.Errorf("minusSigns(%q) differs (-want +got):\n%s", tt.args, diff)
		}
	}
}

// Every command says what it does, shows how, and gives its options a
// meaning.
func TestEveryCommandHasHelp(t *testing.T) {
	var check func(*cobra.Command)
	check = func(cmd *cobra.Command) {
		if cmd.Short == "" || cmd.Example == "" {
			t.Errorf("%s lacks a sentence or an example", cmd.CommandPath())
		}
		for _, sub := range cmd.Commands() {
			check(sub)
		}
	}
	check((&app{}).root())
}
