package classroom

import "slices"

// Roles in the car. Where a group has fewer people, the one in the last seat does what
// is left.
var Roles = []string{"driver", "passenger", "recorder"}

// Rotations are when roles change hands.
const (
	ByRun   = "run"
	ByRound = "round"
)

// Turn is who does what on one run or round: ids in the order of Roles, "" where
// nobody can.
type Turn [3]string

// Turns are the first n turns of a group. Everybody who may drives in turn; the other
// seats go to those who had them least, so that each has each role as often as can be.
func Turns(people []Person, n int) []Turn {
	var drivers []string
	for _, p := range people {
		if p.Drives {
			drivers = append(drivers, p.ID)
		}
	}
	var had [3]map[string]int
	for role := range had {
		had[role] = map[string]int{}
	}
	var out []Turn
	for i := range n {
		var t Turn
		var rest []string
		if len(drivers) > 0 {
			t[0] = drivers[i%len(drivers)]
		}
		for _, p := range people {
			if p.ID != t[0] {
				rest = append(rest, p.ID)
			}
		}
		for role := 1; role < len(t) && len(rest) > 0; role++ {
			t[role] = least(rest, had[role])
			had[role][t[role]]++
			if len(rest) > 1 {
				rest = slices.DeleteFunc(rest, func(id string) bool { return id == t[role] })
			}
		}
		out = append(out, t)
	}
	return out
}

// least is the first of those who had something least often.
func least(ids []string, had map[string]int) string {
	best := ids[0]
	for _, id := range ids[1:] {
		if had[id] < had[best] {
			best = id
		}
	}
	return best
}

// Drivers tells whether somebody of a group may drive.
func Drivers(people []Person) bool {
	for _, p := range people {
		if p.Drives {
			return true
		}
	}
	return false
}
