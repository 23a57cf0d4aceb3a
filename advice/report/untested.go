package report

import (
	"math"
	"slices"

	"dropwalk/advice/assessment"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
)

// Unparted are the pieces that no reading shows alone: what the readings show of
// them is a sum, or nothing.
func (p *page) Unparted() []string {
	var out []string
	for _, c := range p.A.Components {
		if c.RestsOn == assessment.RestsOnHandbook || p.A.TogetherWith(c.Name) != nil {
			out = append(out, c.Name)
		}
	}
	return out
}

// NoLeakCheck tells whether there are readings and no leak check on the sheet.
func (p *page) NoLeakCheck() bool { return p.Used() > 0 && len(p.S.Checks) == 0 }

// NoZero tells whether no reading says what the gauge showed at rest.
func (p *page) NoZero() bool {
	return p.Used() > 0 && !slices.ContainsFunc(p.S.Readings, func(r sheet.Reading) bool { return r.ZeroBefore.Given() || r.ZeroAfter.Given() })
}

// Unproved names the gauges that nothing says were checked.
func (p *page) Unproved() []string {
	var out []string
	for _, g := range p.S.Gauges {
		if g.Checked == "" && len(g.Correction) == 0 {
			out = append(out, g.Name)
		}
	}
	return out
}

// OneSpeed tells whether all readings were taken near one engine speed, so that
// nothing shows how the loss grows with it.
func (p *page) OneSpeed() bool {
	low, high := 0.0, 0.0
	for _, r := range p.S.Readings {
		if r.RPM <= 0 {
			continue
		}
		if low == 0 || r.RPM < low {
			low = r.RPM
		}
		high = max(high, r.RPM)
	}
	const same = 1.2 // of speeds that count as one; ours
	return p.Used() > 0 && high <= same*low
}

// OneWay tells whether nothing says that there were runs both ways, where
// slope and wind count.
func (p *page) OneWay() bool {
	ways := map[string]bool{}
	for _, r := range p.S.Readings {
		ways[r.Direction] = true
	}
	return p.Used() > 0 && p.S.Place != sheet.RollingRoad && !(ways["out"] && ways["back"])
}

// Still air at the mouth: a rolling road has no oncoming wind.
func (p *page) NoWind() bool { return p.Used() > 0 && p.S.Place == sheet.RollingRoad }

// NoHeat tells whether nobody read how warm the air in the intake was.
func (p *page) NoHeat() bool {
	return !slices.ContainsFunc(p.S.Readings, func(r sheet.Reading) bool { return r.IntakeTemperature.Given() })
}

// pair is the readings between the same two places.
type pair struct {
	From, To string
	Runs     int
	Shown    string // what the gauge showed; "" where nothing could be read
	Beyond   int    // runs that only say more or less than
}

// Pairs gathers the readings by their two places, in the order of the sheet.
func (p *page) Pairs() []pair {
	var out []pair
	values := map[[2]string][]quantity.Amount{}
	for _, r := range p.S.Readings {
		at := [2]string{r.From, r.To}
		i := slices.IndexFunc(out, func(x pair) bool { return x.From == r.From && x.To == r.To })
		if i < 0 {
			out = append(out, pair{From: r.From, To: r.To})
			i = len(out) - 1
		}
		out[i].Runs++
		switch {
		case r.Value.Known():
			values[at] = append(values[at], r.Value)
		case r.Value.Form == quantity.Above || r.Value.Form == quantity.Below:
			out[i].Beyond++
		}
	}
	for i := range out {
		out[i].Shown = p.spread(values[[2]string{out[i].From, out[i].To}])
		if out[i].Shown == "" && out[i].Beyond > 0 {
			out[i].Shown, out[i].Beyond = p.bound(out[i]), 0
		}
	}
	return out
}

// bound is what readings beyond the scale say together: the sharpest of them.
func (p *page) bound(x pair) string {
	said, sharpest := "", math.Inf(-1)
	for _, r := range p.S.Readings {
		switch v := r.Value; {
		case r.From != x.From || r.To != x.To:
		case v.Form == quantity.Above && v.SI > sharpest:
			said, sharpest = "more than "+quantity.ShowIn(v.SI, quantity.PressureDiff, p.pressure()), v.SI
		case v.Form == quantity.Below && said == "":
			said = "less than " + quantity.ShowIn(v.SI, quantity.PressureDiff, p.pressure())
		}
	}
	return said
}

// spread is what several readings showed, from the least to the most.
func (p *page) spread(list []quantity.Amount) string {
	if len(list) == 0 {
		return ""
	}
	low, high := list[0].Low, list[0].High
	for _, a := range list {
		low, high = min(low, a.Low), max(high, a.High)
	}
	unit := p.pressure()
	from, err := quantity.In(low, quantity.PressureDiff, unit)
	to, err2 := quantity.In(high, quantity.PressureDiff, unit)
	if err != nil || err2 != nil {
		return ""
	}
	a, b := quantity.Format(from, 3), quantity.Format(to, 3)
	if a == b {
		return a + " " + unit
	}
	return a + " to " + b + " " + unit
}

// more is what a row of the table of readings has no room for.
type more struct {
	Runs  []int  // numbers of the runs; nought where none is stated
	Facts string // escaped
}

// Stated tells whether the runs have numbers.
func (m more) Stated() bool { return !slices.Contains(m.Runs, 0) }

// More lists the zeros, the air and the circumstances of the readings, those of
// which the same is known together.
func (p *page) More() []more {
	var out []more
	for i := range p.S.Readings {
		r := &p.S.Readings[i]
		facts := p.circumstances(r)
		if facts == "" {
			continue
		}
		at := slices.IndexFunc(out, func(m more) bool { return m.Facts == facts })
		if at < 0 {
			out = append(out, more{nil, facts})
			at = len(out) - 1
		}
		if !slices.Contains(out[at].Runs, r.Run) {
			out[at].Runs = append(out[at].Runs, r.Run)
		}
	}
	return out
}

func (p *page) circumstances(r *sheet.Reading) string {
	var items []string
	add := func(before, text, behind string) {
		if text != "" {
			items = append(items, before+text+behind)
		}
	}
	add("gauge at rest before it ", p.Amount(r.ZeroBefore), "")
	add("gauge at rest after it ", p.Amount(r.ZeroAfter), "")
	add("air ", given([]string{p.Amount(r.Air.Temperature), p.Amount(r.Air.Pressure), humidity(p.Amount(r.Air.Humidity))}), "")
	add("air flow ", p.Amount(r.MassFlow), "")
	add("air in the intake ", p.Amount(r.IntakeTemperature), "")
	add("road speed ", p.Amount(r.Speed), "")
	if r.Gear > 0 {
		add("gear ", quantity.Format(float64(r.Gear), 2), "")
	}
	add("direction ", esc(r.Direction), "")
	add("other port in ", esc(otherPort[r.Reference]), "")
	add("at ", esc(r.Time), "")
	add("read by ", esc(r.Reader), "")
	return given(items)
}

// otherPort says where the other port of the gauge stood.
var otherPort = map[string]string{"outside": "still outside air", "cabin": "the cabin", "engine-bay": "the engine bay", "path": "the path"}

// described is one component as the tester described it.
type described struct{ Name, Facts string }

// Described lists the pieces with their sizes, escaped; none where nothing but
// their kinds is known.
func (p *page) Described() []described {
	var out []described
	known := false
	for i := range p.S.Path {
		c := &p.S.Path[i]
		facts := p.sizes(c)
		known = known || facts != esc(c.Kind)
		out = append(out, described{esc(c.Name), facts})
	}
	if !known {
		return nil
	}
	return out
}

func (p *page) sizes(c *sheet.Component) string {
	items := []string{esc(c.Kind)}
	add := func(before, text string) {
		if text != "" {
			items = append(items, before+text)
		}
	}
	add("bore ", p.Amount(c.Diameter))
	if c.Width.Given() || c.Height.Given() {
		add("", p.Amount(c.Width)+" by "+p.Amount(c.Height))
	}
	add("length ", p.Amount(c.Length))
	add("edge ", esc(c.Edge))
	add("edge radius ", p.Amount(c.Radius))
	add("surface ", esc(c.Surface))
	for _, b := range c.Bends {
		bend := p.Amount(b.Angle)
		if b.Radius.Given() {
			bend += " at a radius of " + p.Amount(b.Radius)
		}
		add("bend ", bend)
	}
	add("face ", p.Amount(c.Face))
	add("open area ", p.Amount(c.OpenArea))
	add("share of the flow ", p.Amount(c.Share))
	if c.Fixed != nil && *c.Fixed {
		add("", "not to be changed")
	}
	add("tap: ", esc(c.Tap))
	return given(items)
}
