package cli

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine"
	"dropwalk/engine/record"
)

// onPaper is what the command line says of a paper that is typed in.
type onPaper struct {
	set  bool
	date string // of the work; "" for today
}

func (o *onPaper) flags(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&o.set, "from-paper", false, "type in a worksheet that was filled in, each number twice")
	cmd.Flags().StringVar(&o.date, "date", "", "`day` of the work on the paper, such as 2026-11-25 (usually today)")
}

// typeIn begins a test that was done on paper.
func (a *app) typeIn(word string, from origin, paper onPaper) error {
	if paper.date != "" {
		if _, err := time.Parse(time.DateOnly, paper.date); err != nil {
			return &usageError{fmt.Sprintf("--date %q is no day", paper.date), "year, month and day, such as 2026-11-25"}
		}
	}
	b, err := a.prepare(word, from)
	if err != nil {
		return err
	}
	for i, e := range b.given {
		if e.Path == "date" && paper.date != "" {
			b.given[i].Text = paper.date
		}
	}
	defer b.store.close()
	asker, _ := a.asker()
	s := &session.Session{Run: engine.NewRun(b.procedure, b.matter), Store: b.store, Asker: asker}
	a.ofPaper(s, nil)
	s.Asker.Say(session.Message{Title: "Typing in: " + b.procedure.Title, Lines: []string{
		"Go by the numbers on the paper. What is ticked there comes in lists. Each number is typed twice: a part at a time, then once more.",
		"A word: back, note, pause, stop; help lists them. Everything that is typed is kept at once.",
	}})
	if err := s.Begin(b.given); err != nil {
		return err
	}
	return a.drive(s, func() *record.Log { return b.store.log })
}

// ofPaper has a sitting type in a paper, with what waits of it.
func (a *app) ofPaper(s *session.Session, waiting []session.Typed) {
	s.Paper, s.Earlier, s.By = true, waiting, session.OnPaper
	view(briefView).set(s.Asker)
}
