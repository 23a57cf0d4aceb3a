package practice

import (
	"fmt"
	"hash/fnv"
	"testing"
)

// A practice that was left goes on at the same car in every release, and a class
// that types one seed works on one car. Who changes the cars on purpose renews this
// sum, and knows that practices under way go astray.
func TestBenchesStayTheSame(t *testing.T) {
	h := fnv.New64a()
	for _, c := range Cars() {
		for seed := range uint64(3) {
			other := c.With(seed)
			b := other.Bench(seed + 1)
			end := -1
			for i, p := range other.Car.Path {
				fmt.Fprintln(h, p.Name, p.Kind, p.Tap, b.Sheet.Path[i].Diameter.Raw, b.Sheet.Path[i].Length.Raw)
				if b.CanTap(i) {
					end = i
				}
			}
			b.Fit(end)
			for range 4 {
				b.Drive(-1, end)
				start, left := b.Leak()
				rest := b.Rest()
				fmt.Fprintln(h, c.Name, seed, b.Last().Text(), b.Last().RPM, b.Last().Foot, start.Text(), left.Text(), rest.Text(), b.BadTap(end), b.Ends(end))
			}
		}
	}
	if got, want := h.Sum64(), uint64(0x28e3fa546cd1b2bb); got != want {
		t.Errorf("the benches add up to %#x, want %#x", got, want)
	}
}

// Another seed is another car of the same story: as clear, with the same faults.
func TestSeedsGiveOtherCarsOfTheSameStory(t *testing.T) {
	for _, c := range Cars() {
		for seed := uint64(1); seed <= 20; seed++ {
			other := c.With(seed)
			switch {
			case other == c:
				t.Errorf("%s: no other car for seed %d", c.Name, seed)
			case other.Unclear() != "":
				t.Errorf("%s, seed %d: %s", c.Name, seed, other.Unclear())
			case other.Car.Seed == c.Car.Seed:
				t.Errorf("%s, seed %d: the same car", c.Name, seed)
			case other.Name != c.Name || other.Setup.Fault != c.Setup.Fault || other.Car.Engine.Displacement != c.Car.Engine.Displacement:
				t.Errorf("%s, seed %d: another story", c.Name, seed)
			case len(other.Car.faulty()) != len(c.Car.faulty()):
				t.Errorf("%s, seed %d: %d faults, want %d", c.Name, seed, len(other.Car.faulty()), len(c.Car.faulty()))
			}
		}
	}
}

// Each fault of the setup can be seen on the bench, and no longer once it is mended.
func TestABenchShowsItsFault(t *testing.T) {
	for _, c := range Cars() {
		b := c.Bench(1)
		end := -1
		for i := range c.Car.Path {
			if b.CanTap(i) {
				end = i
			}
		}
		shown := func() bool {
			bad := b.BadTap(end) != NoSetupFault
			b.Fit(end)
			seen := bad || b.Leaks() || b.ZeroOff() || b.Ends(end) != end || b.TooSmall()
			for range 3 {
				b.Drive(-1, end)
				seen = seen || !b.Last().Foot || b.Slow(b.Last())
			}
			return seen
		}
		if got, want := shown(), c.Setup.Fault != NoSetupFault; got != want {
			t.Errorf("%s: %q is seen: %v", c.Name, c.Setup.Fault, got)
		}
		if mended := b.Mend(c.Setup.Fault); mended != (c.Setup.Fault != NoSetupFault) || shown() {
			t.Errorf("%s: %q is still there after it was mended", c.Name, c.Setup.Fault)
		}
	}
}
