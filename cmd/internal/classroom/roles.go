package classroom

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

// Turns are the first n turns of a group. Everybody who may drives in turn, and the
// others move one seat on, so that each has each role as often as can be.
func Turns(people []Person, n int) []Turn {
	var drivers []Person
	for _, p := range people {
		if p.Drives {
			drivers = append(drivers, p)
		}
	}
	var out []Turn
	seats := 0 // how far the others have moved on
	for i := range n {
		var t Turn
		var rest []string
		driver := ""
		if len(drivers) > 0 {
			driver = drivers[i%len(drivers)].ID
		}
		for _, p := range people {
			if p.ID != driver {
				rest = append(rest, p.ID)
			}
		}
		t[0] = driver
		if len(rest) > 0 {
			t[1], t[2] = rest[seats%len(rest)], rest[(seats+1)%len(rest)]
		}
		seats++
		out = append(out, t)
	}
	return out
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
