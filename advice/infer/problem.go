package infer

// State is one way in which a piece can be: sound, well made, crushed.
type State struct {
	Share  float64 // chance of the state; those of a piece add up to 1
	Median float64 // loss at the reference point and the nominal flow, Pa, above nought
	LogSD  float64 // scatter of its natural logarithm; what pieces share is left out
}

// Piece is what is believed of one piece of the path before any reading: a
// mixture of lognormal losses.
type Piece []State

// Bound tells what a reading says.
type Bound int

// Bounds.
const (
	Value   Bound = iota // the number itself
	AtLeast              // the truth lies above: off the scale
	AtMost               // the truth lies below
)

// Reading is one pressure difference, corrected to the reference point.
// Stations are counted from 0, the open air; station c+1 lies just downstream
// of piece c.
type Reading struct {
	From, To int     // From < To
	Value    float64 // Pa, velocity heads still inside
	Head     float64 // velocity head at To less that at From at the nominal flow, Pa
	Bound    Bound
}

// Shared is something else that is unknown, has mean nought and moves the
// readings: the velocity head at a tap, say.
type Shared struct {
	Cov []float64 // its covariance with the error of each reading
	Var float64   // its variance
}

// Problem is everything that Solve needs to know of one car.
type Problem struct {
	Pieces   []Piece
	Readings []Reading
	Noise    Matrix  // covariance of the readings' errors, shared terms in their places
	FlowSD   float64 // of ln(mass flow): losses and velocity heads move with its square, together
	CommonSD float64 // of the logarithm of a factor that all losses share, heads not
	PaceSD   float64 // of ln(air speed) at one flow, where nobody knows a bore: losses and velocity heads move with its square
	Steady   []bool  // pieces whose loss does not move with that speed; nil: none
	Shared   []Shared
	Extra    int // how many columns of even numbers the caller wants besides

	Draws int   // 0: DefaultDraws
	Seed  int64 // shifts the points
}

// DefaultDraws is enough for a 90 % interval that does not move by more than
// a twentieth of its width from seed to seed.
const DefaultDraws = 1408

// Posterior is what is believed after the readings, as weighted draws.
type Posterior struct {
	Draws                // X[c]: loss of piece c at the reference point, Pa
	Flow     []float64   // mass flow over the nominal one
	Pace     []float64   // air speed in unknown bores over the usual one
	Scale    []float64   // the losses' common factor, the square of the flow among it, that of the speed not
	Shared   [][]float64 // what each shared unknown is expected to be in the draw
	SharedSD []float64   // and the standard deviation that is left to it
	Extra    [][]float64 // numbers between 0 and 1, even and independent of all else
	Seen     []bool      // the piece lies in the span of some reading
	Groups   [][]int     // pieces that no reading tells apart, two or more together
	LogOdds  float64     // logarithm of the density of the readings under the prior
}

// bySpeed parts the pieces whose loss moves with the air speed, first, from those
// whose doesn't: they follow different factors, so they are drawn apart even where
// no reading tells them apart.
func (p Problem) bySpeed(pieces []int) (parts [2][]int) {
	for _, c := range pieces {
		parts[p.moves(c)] = append(parts[p.moves(c)], c)
	}
	return parts
}

// moves is 0 where the loss of a piece moves with the air speed, else 1.
func (p Problem) moves(piece int) int {
	if p.PaceSD > 0 && p.Steady != nil && p.Steady[piece] {
		return 1
	}
	return 0
}

// spans tells whether reading r has piece c between its stations.
func (r Reading) spans(c int) bool { return r.From <= c && c < r.To }

// classes sorts the pieces by the set of readings that span them. The first
// result holds one list a set, in order of the first piece; seen is false for
// pieces that no reading spans, which stand in no list.
func (p Problem) classes() (lists [][]int, seen []bool) {
	at := map[string]int{}
	seen = make([]bool, len(p.Pieces))
	for c := range p.Pieces {
		key := make([]byte, len(p.Readings))
		for j, r := range p.Readings {
			if r.spans(c) {
				key[j], seen[c] = 1, true
			}
		}
		if !seen[c] {
			continue
		}
		k, old := at[string(key)]
		if !old {
			k = len(lists)
			at[string(key)] = k
			lists = append(lists, nil)
		}
		lists[k] = append(lists[k], c)
	}
	return lists, seen
}
