package terminal

import (
	"context"
	"errors"
	"io"
	"slices"
	"strings"

	"dropwalk/cmd/internal/session"
)

// Menu is a choice that is no part of a test.
type Menu struct {
	Title string
	Items []Item
	First bool // Enter alone takes the first row
}

// Item is one row of a menu: the word that chooses it, and what it does.
type Item struct{ Word, Text string }

// leaving are words that leave a menu where it has no row of that word.
var leaving = []string{"leave", "pause", "stop", "quit", "exit"}

// Choose shows m and waits for one of its rows, by number, by word or by the
// beginning of a word. It returns the index of the row, session.ErrPause where
// the person leaves or input ends, and the cause of ctx where ctx is done.
func (l *Lines) Choose(ctx context.Context, m Menu) (int, error) {
	l.print("\n" + menuPage(m, l.width))
	words := make([]string, 0, len(m.Items))
	for _, item := range m.Items {
		words = append(words, item.Word)
	}
	for {
		text, err := l.typed.Line(ctx, words)
		switch {
		case errors.Is(err, errTooLong):
			text = ""
		case errors.Is(err, io.EOF):
			return 0, session.ErrPause
		case err != nil:
			return 0, err
		}
		text = strings.ToLower(strings.TrimSpace(text))
		if text == "" && err == nil && m.First {
			return 0, nil
		}
		if n, ok := row(words, text); ok {
			return n, nil
		}
		if slices.Contains(leaving, text) {
			return 0, session.ErrPause
		}
		l.print(Wrap("type a number or one of: "+strings.Join(words, ", ")+meant(text, words), l.width, "? ", "  "))
	}
}

// row finds the row that text calls.
func row(words []string, text string) (int, bool) {
	if n, ok := number(text, len(words)); ok {
		return n - 1, true
	}
	if n := slices.IndexFunc(words, func(word string) bool { return strings.EqualFold(word, text) }); n >= 0 {
		return n, true
	}
	found, many := -1, false
	for n, word := range words {
		if text != "" && strings.HasPrefix(strings.ToLower(word), text) {
			found, many = n, found >= 0
		}
	}
	return found, found >= 0 && !many
}

// menuPage lays a menu out. On a narrow terminal, and where a word is long, what
// a row does stands below its word.
func menuPage(m Menu, width int) string {
	var b strings.Builder
	b.WriteString(Wrap(CleanLine(m.Title), width, "", ""))
	column := 0
	for _, item := range m.Items {
		column = max(column, columns(CleanLine(item.Word))+2)
	}
	for n, it := range m.Items {
		word, text := CleanLine(it.Word), CleanLine(it.Text)
		if column > width/3 {
			b.WriteString(item(n+1, word, width) + Wrap(text, width, "       ", "       "))
			continue
		}
		b.WriteString(Wrap(text, width, "  "+numeral(n+1)+pad(word, column), strings.Repeat(" ", column+5)))
	}
	ask := "Type a number or its word."
	if m.First {
		ask += " Enter takes the first."
	}
	b.WriteString(Wrap(ask, width, "", ""))
	return b.String()
}

func numeral(n int) string { return pad(strings.TrimSpace(item(n, "", 8)), 3) }
