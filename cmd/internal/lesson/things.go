package lesson

import (
	_ "embed"
	"slices"
	"strings"
	"sync"

	"dropwalk/engine/strictyaml"
)

//go:embed things.yaml
var thingsFile []byte

// thing is one that isn't as a line of a hold says.
type thing struct {
	at, line   string // the step, and words of its line
	seen, then string
	only       string // "open": not on rollers; "" anywhere
}

// things is what is seen at holds.
type things struct {
	calm  map[string]string // by step
	amiss []thing
}

var thingsShape = strictyaml.Keys(
	strictyaml.Key{Name: "calm", Shape: strictyaml.MapOf(strictyaml.Prose(400)), Required: true},
	strictyaml.Key{Name: "amiss", Required: true, Shape: strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Key{Name: "at", Shape: strictyaml.Text(40), Required: true},
		strictyaml.Key{Name: "line", Shape: strictyaml.Text(80), Required: true},
		strictyaml.Key{Name: "seen", Shape: strictyaml.Prose(400), Required: true},
		strictyaml.Key{Name: "then", Shape: strictyaml.Prose(400), Required: true},
		strictyaml.Key{Name: "only", Shape: strictyaml.Words("open")},
	), 1)},
)

var theThings = sync.OnceValue(func() *things {
	t, err := readThings("things.yaml", thingsFile)
	if err != nil {
		panic(err) // the file is part of the program and its tests read it
	}
	return t
})

func readThings(file string, src []byte) (*things, error) {
	root, faults := strictyaml.ParseYAML(file, src, 1)
	if err := faults.Err(); err != nil {
		return nil, err
	}
	if err := thingsShape.Check(file, root).Err(); err != nil {
		return nil, err
	}
	t := &things{calm: map[string]string{}}
	for _, p := range root.Get("calm").Pairs {
		t.calm[p.Key] = strings.TrimSpace(p.Value.Str())
	}
	for _, n := range root.Get("amiss").Items {
		text := func(key string) string { return strings.TrimSpace(n.Get(key).Str()) }
		t.amiss = append(t.amiss, thing{text("at"), text("line"), text("seen"), text("then"), text("only")})
	}
	return t, nil
}

// draw picks the things that are amiss on one visit: n of them, at different
// steps. The dice are a number from the seed of the visit.
func (t *things) draw(dice func(int) int, n int, rollers bool) map[string]thing {
	list := slices.DeleteFunc(slices.Clone(t.amiss), func(x thing) bool {
		return rollers && (x.only == "open" || x.at == "place-hold") || !rollers && x.at == "roller-hold"
	})
	out := map[string]thing{}
	for len(out) < n && len(list) > 0 {
		x := list[dice(len(list))]
		out[x.at] = x
		list = slices.DeleteFunc(list, func(y thing) bool { return y.at == x.at })
	}
	return out
}

// lineOf is the number of the line of a hold that x says isn't true, from 1; 0
// where the hold has no such line.
func (x thing) lineOf(lines []string) int {
	for i, line := range lines {
		if strings.Contains(strings.ToLower(line), strings.ToLower(x.line)) {
			return i + 1
		}
	}
	return 0
}
