package terminal

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"dropwalk/engine"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Names of the person's own things stand at a prompt beside the example, in both
// views, and Tab has them all; a long list is cut short on the screen only. One that a
// terminal might obey is cleaned.
func TestOwnNamesAreOffered(t *testing.T) {
	var names []string
	for n := range 15 {
		names = append(names, fmt.Sprintf("g%d", n+1))
	}
	names[2] = "g\x1b[31m3"
	p := engine.Prompt{Kind: engine.Ask, Text: "Which gauge?", Like: "25 inH2O", Fields: []subject.Field{{Kind: quantity.PressureDiff, Offered: names}}}
	guided, brief := asked(p, 200), briefScreen(p, 200)
	for _, text := range []string{guided, brief} {
		if !strings.Contains(text, "g1, g2, ") || !strings.Contains(text, "g12, and 3 more") || strings.Contains(text, "\x1b") {
			t.Errorf("the prompt says %q", text)
		}
	}
	if list := completions(p, &subject.Refusal{}); !slices.Contains(list, "g15") {
		t.Errorf("Tab offers %v", list)
	}
	p.Fields[0].Offered = nil
	if text := asked(p, 200); strings.Contains(text, "yours") {
		t.Errorf("without any it says %q", text)
	}
}
