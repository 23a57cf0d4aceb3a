package quantity

import "fmt"

// Convert reads a quantity and converts it to a unit; the kind follows from
// the unit. It returns the number, rounded once, and the unit's canonical
// name. The error is a *Ambiguous where text or unit can mean several things.
func Convert(text, toUnit string) (float64, string, error) {
	kinds := KindOf(toUnit)
	if len(kinds) == 0 {
		return 0, "", unknownAnywhere(toUnit)
	}
	var first error
	for i, k := range kinds {
		if i > 0 && dimensions[k] == dimensions[kinds[i-1]] {
			continue // the first of a dimension is its absolute scale
		}
		v, name, err := convert(text, k, toUnit)
		if err == nil {
			return v, name, nil
		}
		if first == nil {
			first = err
		}
	}
	return 0, "", first
}

func convert(text string, k Kind, toUnit string) (float64, string, error) {
	to, err := find(0, k, toUnit)
	if err != nil {
		return 0, "", err
	}
	found, err := read(text, Want{Kind: k})
	if err != nil {
		return 0, "", err
	}
	if len(found) > 1 {
		return 0, "", &Ambiguous{Text: text, Choices: texts(found)}
	}
	v, err := finite(to.fromSI(found[0].value, k), to.name)
	return v, to.name, err
}

// unknownAnywhere names the nearest unit of any kind.
func unknownAnywhere(unit string) *Fault {
	f := &Fault{What: fmt.Sprintf("%q is no known unit", unit), Expected: "a unit such as kPa, inH2O, mm or km/h"}
	for _, k := range kindsInOrder {
		if near, ok := units().nearest(unit, k); ok {
			f.Hint = near
			return f
		}
	}
	return f
}
