package model

import "strings"

// Cause is an error that moves several readings together.
type Cause struct {
	Name string  // the same name is the same cause, within one sheet
	Pa   float64 // what one standard deviation of it adds to the reading
	Of   Origin
}

// Origin tells how far a cause reaches beyond one sheet.
type Origin int

// Origins.
const (
	Law   Origin = iota // how flow and loss follow the weather: the same for the car on any day
	Day                 // of one day: heat, fuel, weather that nobody wrote down
	Scale               // of one gauge, all over its scale or at one place
	Zero                // of one gauge on one day
	Mouth               // wind at the mouth: of the car and its mouth
	Port                // wind at the open port of the gauge, by where it stood
	Head                // the air speed at one tap
)

// origins by how the names of the factors begin.
var origins = []struct {
	begin string
	of    Origin
}{
	{"flow of the day", Day}, {"unknown ", Day}, {"fan", Day},
	{"scale ", Scale}, {"local ", Scale}, {"zero ", Zero},
	{"mouth in the wind", Mouth}, {"port in the wind ", Port}, {"head ", Head},
}

// Causes are what reading i of c.Readings shares with others, in the order in
// which they came up.
func (c *Car) Causes(i int) []Cause {
	out := make([]Cause, len(c.factors.at))
	for name, k := range c.factors.at {
		out[k] = Cause{Name: name, Pa: c.Readings[i].load[k], Of: originOf(name)}
	}
	kept := out[:0]
	for _, cause := range out {
		if cause.Pa != 0 {
			kept = append(kept, cause)
		}
	}
	return kept
}

func originOf(name string) Origin {
	for _, o := range origins {
		if strings.HasPrefix(name, o.begin) {
			return o.of
		}
	}
	return Law
}
