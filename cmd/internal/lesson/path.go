package lesson

import (
	"strings"

	"dropwalk/advice/practice"
	"dropwalk/advice/sheet"
)

// pathText is the path of a car as it would be typed.
func pathText(car *practice.Car) string {
	var items []string
	for _, c := range car.Path {
		text := c.Kind
		if c.Name != c.Kind {
			text = c.Name + " (" + c.Kind + ")"
		}
		items = append(items, text)
	}
	return strings.Join(items, ", ")
}

// places finds the learner's pieces on the car: the longest run of kinds in
// common, names deciding where there is a choice. A piece that the car doesn't
// have is missing.
func places(mine []sheet.Component, car *practice.Car) map[string]int {
	n, m := len(mine), len(car.Path)
	best := make([][]int, n+1)
	for i := range best {
		best[i] = make([]int, m+1)
	}
	worth := func(i, j int) int {
		switch {
		case mine[i].Kind != car.Path[j].Kind:
			return 0
		case mine[i].Name == car.Path[j].Name:
			return 5
		}
		return 4
	}
	for i := n - 1; i >= 0; i-- {
		for j := m - 1; j >= 0; j-- {
			best[i][j] = max(best[i+1][j], best[i][j+1])
			if w := worth(i, j); w > 0 {
				best[i][j] = max(best[i][j], w+best[i+1][j+1])
			}
		}
	}
	at := map[string]int{sheet.OpenAir: -1}
	for _, p := range mine {
		at[p.Name] = missing
	}
	for i, j := 0, 0; i < n && j < m; {
		switch w := worth(i, j); {
		case w > 0 && best[i][j] == w+best[i+1][j+1]:
			at[mine[i].Name] = j
			i, j = i+1, j+1
		case best[i][j] == best[i+1][j]:
			i++
		default:
			j++
		}
	}
	return at
}

// missing is the place of a piece that the car doesn't have.
const missing = -2

// named is the learner's name of a component, its own where the learner has none
// for it.
func named(at map[string]int, car *practice.Car, i int) string {
	for name, j := range at {
		if j == i && j >= 0 {
			return name
		}
	}
	return car.Path[i].Name
}
