package plan

import (
	_ "embed"
	"fmt"
	"sync"

	"dropwalk/engine/strictyaml"
)

// Costs are what readings cost, in % of power. Fitted, Port and Drill are for
// one tap, Run for one full-load run.
type Costs struct{ Fitted, Port, Drill, Run float64 }

// Tap is the cost of a tap: fitted, port or drill.
func (c Costs) Tap(how string) float64 {
	switch how {
	case "fitted":
		return c.Fitted
	case "port":
		return c.Port
	}
	return c.Drill
}

//go:embed costs.yaml
var shipped []byte

// most is the dearest that a tap or a run can be, in % of power: more than any
// intake gives back.
const most = 100

var costShape = strictyaml.Keys(
	strictyaml.Key{Name: "fitted", Shape: strictyaml.Number(0, most), Doc: "a tap that is in use already"},
	strictyaml.Key{Name: "port", Shape: strictyaml.Number(0, most), Doc: "a connection that is there but not yet in use"},
	strictyaml.Key{Name: "drill", Shape: strictyaml.Number(0, most), Doc: "a small hole to be drilled"},
	strictyaml.Key{Name: "run", Shape: strictyaml.Number(0, most), Doc: "one full-load run"},
)

// ReadCosts reads a cost table in YAML. What the table leaves out keeps the
// shipped cost.
func ReadCosts(file string, src []byte) (Costs, strictyaml.Faults) {
	return read(Shipped(), file, src)
}

func read(c Costs, file string, src []byte) (Costs, strictyaml.Faults) {
	n, faults := strictyaml.ParseYAML(file, src, 1)
	if len(faults.Errors()) > 0 {
		return Costs{}, faults
	}
	if faults = append(faults, costShape.Check(file, n)...); len(faults.Errors()) > 0 {
		return Costs{}, faults
	}
	for key, at := range map[string]*float64{"fitted": &c.Fitted, "port": &c.Port, "drill": &c.Drill, "run": &c.Run} {
		if n.Has(key) {
			*at = n.Get(key).Float()
		}
	}
	return c, faults
}

// Shipped is the cost table that the program comes with.
var Shipped = sync.OnceValue(func() Costs {
	c, faults := read(Costs{}, "costs.yaml", shipped)
	if err := faults.Err(); err != nil {
		panic(fmt.Sprintf("the shipped cost table: %v", err)) // a test reads it
	}
	return c
})
