package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"dropwalk/advice"
	"dropwalk/advice/sheet"
	"dropwalk/engine"
	"dropwalk/engine/record"
)

func (a *app) gaugesTake() *cobra.Command {
	var replace, asJSON bool
	cmd := &cobra.Command{
		Use:   "take RECORD",
		Short: "put what a check of a gauge found on the gauge's card",
		Long: "RECORD is one of dropwalk start gauge-check. The card gets the day of the check, and the correction table where the gauge needs one; " +
			"what else stands on it stays. A card that was checked later than that is left as it is, unless --replace says otherwise.",
		Example: `dropwalk gauges take gauge-check-2026-11-25
dropwalk gauges take gauge-check --json`,
		Args: arguments(1, 1, "RECORD"),
		RunE: func(_ *cobra.Command, args []string) error {
			path, err := a.findRecord(args[0])
			if err != nil {
				return err
			}
			_, r, err := a.opened(path)
			if err != nil {
				return err
			}
			card, _, why := advice.TakenCard(r.run.Entries(), a.cards())
			if card == nil {
				return input(fmt.Errorf("%s gives no card anything: %s", record.Name(path), why), a.command("report", quoted(record.Name(path)))+" tells what it found")
			}
			if err := a.newerCheck(card, replace); err != nil {
				return err
			}
			if err := a.takeCard(card); err != nil || !asJSON {
				return err
			}
			_, err = a.Out.Write(append(nodeJSON(card.Tree()), '\n'))
			return err
		},
	}
	cmd.Flags().BoolVar(&replace, "replace", false, "also in place of a later check")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the card as one JSON object")
	return cmd
}

// newerCheck refuses to put an old check in the place of a later one.
func (a *app) newerCheck(card *sheet.Card, replace bool) error {
	for _, old := range a.cards() {
		if old.Name == card.Name && old.Checked > card.Checked && !replace {
			return input(fmt.Errorf("the card of %s was checked on %s, after this test of %s", old.Name, old.Checked, card.Checked), "add --replace to have the older check all the same")
		}
	}
	return nil
}

// takeCard writes a card and says what is on it now.
func (a *app) takeCard(card *sheet.Card) error {
	if err := cardName(card.Name); err != nil {
		return err
	}
	if err := a.keepCard(card); err != nil {
		return err
	}
	what := "checked " + card.Checked
	if n := len(card.Correction); n > 0 {
		what += fmt.Sprintf(", with a correction table of %d rows", n)
	}
	fmt.Fprintf(a.Err, "the card of %s: %s\n", card.Name, what)
	return nil
}

// takeAsked writes the card that the tester wanted at the end of a check. Where that
// fails the record still has it.
func (a *app) takeAsked(run *engine.Run, name string) {
	card, asked, why := advice.TakenCard(run.Entries(), a.cards())
	if !asked || run.Aborted() {
		return
	}
	if card == nil {
		fmt.Fprintf(a.Err, "No card was written: %s.\n", why)
		return
	}
	if err := a.takeCard(card); err != nil {
		a.complain(err)
		fmt.Fprintf(a.Err, "The record has it all the same: %s\n", a.command("gauges take", quoted(name)))
	}
}
