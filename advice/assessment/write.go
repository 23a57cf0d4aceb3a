package assessment

import (
	"bytes"
	"encoding/json"

	"dropwalk/engine/strictyaml"
)

// Line is the assessment as one JSON object on one line, with its end of line.
// Lists and maps that are nil stand as empty, never as null. The error names a
// number that is not finite.
func (a *Assessment) Line() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false) // for people and shells, not for pages
	err := e.Encode(a.filled())
	return b.Bytes(), err
}

// filled is a copy without nil lists and maps.
func (a *Assessment) filled() *Assessment {
	c := *a
	if c.VelocityHead == nil {
		c.VelocityHead = map[string]Estimate{}
	}
	c.Components = list(c.Components)
	c.Together = list(c.Together)
	c.AttackGroup = list(c.AttackGroup)
	c.Remarks = list(c.Remarks)
	for i := range c.Together {
		c.Together[i] = list(c.Together[i])
	}
	for i := range c.Remarks {
		c.Remarks[i].Runs = list(c.Remarks[i].Runs)
	}
	if c.Next != nil {
		next := *c.Next
		next.Taps = list(next.Taps)
		c.Next = &next
	}
	return &c
}

// list is a copy that is never nil.
func list[T any](s []T) []T { return append(make([]T, 0, len(s)), s...) }

// Parse reads one assessment, strictly (see Check). It is nil where there is
// any fault.
func Parse(file string, src []byte) (*Assessment, strictyaml.Faults) {
	faults := Check(file, src)
	if faults.Err() != nil {
		return nil, faults
	}
	a := new(Assessment)
	if err := json.Unmarshal(bytes.TrimPrefix(src, []byte("\uFEFF")), a); err != nil {
		return nil, strictyaml.Faults{{File: file, What: err.Error()}}
	}
	return a, faults
}

// ComponentByName returns the component, nil where there is none.
func (a *Assessment) ComponentByName(name string) *Component {
	for i := range a.Components {
		if a.Components[i].Name == name {
			return &a.Components[i]
		}
	}
	return nil
}

// TogetherWith returns the set in which a component stands among others, nil
// where the readings tell it apart.
func (a *Assessment) TogetherWith(name string) []string {
	for _, set := range a.Together {
		for _, n := range set {
			if n == name && len(set) > 1 {
				return set
			}
		}
	}
	return nil
}

// RemarksOf returns the remarks with one code.
func (a *Assessment) RemarksOf(code string) []Remark {
	var out []Remark
	for _, r := range a.Remarks {
		if r.Code == code {
			out = append(out, r)
		}
	}
	return out
}
