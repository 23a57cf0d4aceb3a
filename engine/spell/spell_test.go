package spell

import "testing"

func TestNearest(t *testing.T) {
	known := []string{"limit", "displacement", "cylinders", "kPa", "mbar"}
	for _, c := range []struct {
		word, want string
		found      bool
	}{
		{"limt", "limit", true},
		{"Limit", "limit", true},
		{"displacment", "displacement", true},
		{"cyilnders", "cylinders", true},
		{"kpa", "kPa", true},
		{"xx", "", false},
		{"gearbox", "", false},
	} {
		got, found := Nearest(c.word, known)
		if got != c.want || found != c.found {
			t.Errorf("Nearest(%q) = %q, %v, want %q, %v", c.word, got, found, c.want, c.found)
		}
	}
}

// The four edits that a typist makes count one each.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "abc", 3}, {"abc", "abc", 0}, {"abc", "ab", 1}, {"abc", "abxc", 1},
		{"abc", "axc", 1}, {"abc", "acb", 1}, {"kitten", "sitting", 3}, {"é", "e", 1},
	} {
		if got := Distance(c.a, c.b); got != c.want {
			t.Errorf("Distance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
		if got := Distance(c.b, c.a); got != c.want {
			t.Errorf("Distance(%q, %q) = %d, want %d", c.b, c.a, got, c.want)
		}
	}
}
