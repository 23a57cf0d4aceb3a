package advice

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"dropwalk/advice/air"
	"dropwalk/advice/finding"
	"dropwalk/advice/power"
	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// Places of the test of where a mouth could stand.
const (
	mouthPlaces = "test.mouth_places"
	mouthPlace  = "mouth[].place"
	mouthOut    = "mouth[].out"
	mouthBack   = "mouth[].back"
	speedFrom   = "test.speed_from"
	ramSpeed    = "test.ram_speed"
)

// Who tells the speed.
const (
	fromSatellite = "satellite"
	fromDashboard = "dashboard"
)

// Verdicts of the test.
const (
	mouthMove   = "move"
	mouthLittle = "little"
	mouthStay   = "stay"
)

// Marks of the test.
const (
	// holdSpeed is how well a driver holds a speed, in m/s either way: 1 km/h (common
	// practice, no source).
	holdSpeed = 1 / 3.6
	// cabinShare is how far the air in the cabin can be from still air, as a share of
	// the velocity head either way (Hucho, Aerodynamics of Road Vehicles, from memory,
	// medium confidence).
	cabinShare = 0.2
	// passApart is how far passes may lie apart, as a share of the velocity head
	// (common practice, no source).
	passApart = 0.1
)

var mouthPosition = test{
	name:     "mouth-position",
	verdicts: []string{mouthMove, mouthLittle, mouthStay, finding.CannotTell},
	places:   []string{mouthPlace, mouthOut},
	lists:    []string{"mouth[]"},
	named:    map[string]string{mouthPlaces: "place", mouthPlace: "place"},
	find:     (*view).foundMouth,
	enough:   (*view).passesEnough,

	read:   map[string]func(string) (string, error){mouthPlaces: readPlaces},
	gauges: map[string]string{mouthOut: gaugeRange, mouthBack: gaugeRange},
	doubts: map[string]doubter{mouthOut: (*view).oddPass},
	pairs:  [][]member{{{mouthOut, "the way out"}, {mouthBack, "the way back"}}},
	limits: map[string]limit{ramSpeed: {3, 110, "10 km/h to 400 km/h"}},

	fields: []subject.Field{
		{Path: mouthPlaces, Kind: quantity.Text, Required: true, Doc: "places on the body, that of the present mouth first"},
		{Path: mouthPlace, Kind: quantity.Text, Doc: "the place on the body that is read"},
		{Path: mouthOut, Kind: quantity.PressureDiff, Doc: "pressure there against the cabin, driving one way"},
		{Path: mouthBack, Kind: quantity.PressureDiff, Doc: "the same, driving the other way"},
		{Path: speedFrom, Kind: quantity.Choice, Choices: []string{fromSatellite, fromDashboard}, Everyday: map[string]string{"gps": fromSatellite, "phone": fromSatellite, "speedometer": fromDashboard, "dash": fromDashboard}, Doc: "who tells the speed"},
		{Path: ramSpeed, Kind: quantity.Speed, Doc: "speed at which the gain is told"},
	},
	facts: []fact{
		{subject.Fact{Name: "mouth_places", Kind: quantity.Text, Doc: "the places on the body that are read"}, (*view).mouthPlaces},
	},
	sources: []source{
		{subject.Source{Name: "next-spot", Doc: "the places on the body in turn, that of the present mouth first", Rows: "places", Keys: []subject.Key{{Name: "spot", Among: "mouth_places"}},
			Values: []subject.Fact{{Name: "spot", Kind: quantity.Text, Doc: "the place"}}}, (*view).nextSpot},
		repeats("next-pass", "passes", "passes both ways over the same stretch at one place: those asked for at least, then more while they lie apart"),
	},
}

func (v *view) mouthPlaces() subject.Value { return word(v.entry(mouthPlaces, "")) }

// readPlaces reads a list of places: two at least, each once.
func readPlaces(text string) (string, error) {
	var list []string
	for _, item := range listSeparator.Split(strings.Trim(text, " ,;"), -1) {
		clean, err := readText(item)
		switch {
		case err != nil:
			return "", err
		case len([]rune(clean)) > 64:
			return "", &subject.Refusal{What: fmt.Sprintf("%q is too long for a name", clean), Expected: "at most 64 characters"}
		case clean == "":
			return "", &subject.Refusal{What: "a place without a name", Expected: "names with commas between"}
		case slices.ContainsFunc(list, func(x string) bool { return strings.EqualFold(x, clean) }):
			return "", &subject.Refusal{What: fmt.Sprintf("%q stands there twice", clean), Expected: "each place once"}
		}
		list = append(list, clean)
	}
	const expected = "two to six places with commas between, that of the present mouth first"
	switch n := len(list); {
	case n < 2:
		return "", &subject.Refusal{What: "one place alone can't be held against another", Expected: expected}
	case n > 6:
		return "", &subject.Refusal{What: fmt.Sprintf("%d places are more than one day holds", n), Expected: expected}
	}
	return strings.Join(list, ", "), nil
}

func (v *view) nextSpot(at subject.Round) (subject.Offer, bool) {
	list := listed(v.entry(mouthPlaces, ""))
	if at.Done >= len(list) {
		return subject.Offer{}, false
	}
	place := list[at.Done]
	return subject.Offer{Values: map[string]string{"spot": place}, Parts: []subject.Part{{Path: mouthPlace, Text: place}}}, true
}

// No place reads more than the ram of the air that meets it, nor less than half as
// much again below nought; wind may add a quarter of the speed to it (common practice, no source).
const (
	mostRam  = 1.25 * 1.25
	leastRam = -1.5 * mostRam
)

// oddPass doubts more than the ram can give.
func (v *view) oddPass(parts []subject.Part, _ subject.Round) *strange {
	head := v.ram().head
	for _, path := range []string{mouthOut, mouthBack} {
		a, ok := v.partsIn(parts)[path]
		if share := a.SI / head; ok && head > 0 && (share > mostRam || share < leastRam) {
			return odd("%s is more than the air at this speed can give, about %s", a.Text(), quantity.ShowIn(head, quantity.PressureDiff, a.Unit))
		}
	}
	return nil
}

// spot is what was read at one place, in Pa.
type spot struct {
	name      string
	out, back []float64
}

// mean is the mean of both ways, with its scatter alone.
func (s spot) mean() stats.Estimate {
	return finding.Propagated((stats.Mean(s.out)+stats.Mean(s.back))/2,
		finding.Term{By: 0.5, From: finding.Mean(s.out)}, finding.Term{By: 0.5, From: finding.Mean(s.back)})
}

// spots are the places at which both ways were read, in the order in which they were
// named.
func (v *view) spots() []spot {
	var out []spot
	for _, r := range v.rowsFilled(mouthOut) {
		there, back := r.amount(mouthOut, quantity.PressureDiff), r.amount(mouthBack, quantity.PressureDiff)
		place := v.around(r.at, mouthPlace)
		if place == "" || !there.Known() || !back.Known() {
			continue
		}
		i := slices.IndexFunc(out, func(s spot) bool { return s.name == place })
		if i < 0 {
			out = append(out, spot{name: place})
			i = len(out) - 1
		}
		out[i].out, out[i].back = append(out[i].out, there.SI), append(out[i].back, back.SI)
	}
	return out
}

// passesEnough tells whether the passes of the rounds at a slot lie together.
func (v *view) passesEnough(at subject.Round) bool {
	place := v.around(at.Slot, mouthPlace)
	i := slices.IndexFunc(v.spots(), func(s spot) bool { return s.name == place })
	if i < 0 {
		return false
	}
	s, m := v.spots()[i], v.ram()
	apart := max(passApart*m.head, 2*v.division())
	spread := func(x []float64) float64 { return slices.Max(x) - slices.Min(x) }
	return len(s.out) >= at.Least && spread(s.out) <= apart && spread(s.back) <= apart
}

// division is the smallest division of the low-range gauge in Pa.
func (v *view) division() float64 {
	for _, text := range []string{v.entry("gauges[].division", ""), defaultGauge[1].Text} {
		if a := amountOf(text, quantity.PressureDiff); a.Known() && a.SI > 0 {
			return a.SI
		}
	}
	return 0
}

// ram is the test as numbers.
type ram struct {
	v     *view
	f     *finding.Finding
	speed finding.Input // true road speed, m/s
	air   air.State
	head  float64 // velocity head of the middle speed, Pa
	told  float64 // speed at which the gain is told, m/s
}

func (v *view) ram() *ram {
	m := &ram{v: v, air: v.openAir()}
	stated := v.stated(steadyPath, quantity.Speed).Number
	m.speed = trueSpeed(stated, v.entry(speedFrom, ""))
	m.head = air.VelocityHead(m.air.Density(), m.speed.Median)
	m.told = m.speed.Median
	if at := v.stated(ramSpeed, quantity.Speed); at.Known {
		m.told = at.Number
	}
	return m
}

// trueSpeed is the road speed behind a stated one. A speedometer may show up to 10 %
// and 4 km/h more than the truth and never less (UN R39, from memory, high
// confidence); nobody holds a speed better than holdSpeed.
func trueSpeed(stated float64, from string) finding.Input {
	low := stated
	if from != fromSatellite {
		low = max(0, (stated-4/3.6)/1.1)
	}
	middle := (stated + low) / 2
	// Two errors without a middle of their own, taken together as of one normal shape.
	half := 1.645 * math.Hypot(finding.Limit((stated-low)/2), finding.Limit(holdSpeed))
	return finding.Band(middle, max(0, middle-half), middle+half)
}

// usualPressure stands in for the weather of the day: ISO 2533 at sea level.
var usualAir = air.Standard(0)

// openAir is the air of the day as far as it was stated.
func (v *view) openAir() air.State {
	s := usualAir
	if x := v.stated("air.temperature", quantity.Temperature); x.Known {
		s.Temperature = x.Number
	}
	if x := v.stated("air.pressure", quantity.Pressure); x.Known {
		s.Pressure = x.Number
	}
	if x := v.stated("air.humidity", quantity.Share); x.Known {
		s.Humidity = x.Number
	}
	return s
}

func (v *view) foundMouth() *finding.Finding {
	m := v.ram()
	m.f = finding.New("mouth-position")
	spots := v.spots()
	if len(spots) == 0 || m.head <= 0 {
		return m.f
	}
	shown := m.wind(spots)
	wind := shown.Value
	m.f.Add(finding.Between("head", "Velocity head of the road speed", quantity.PressureDiff, m.head,
		air.VelocityHead(m.air.Density(), m.speed.Low), air.VelocityHead(m.air.Density(), m.speed.High), finding.Inferred, m.speedRests()))
	for _, s := range spots {
		m.place(s, wind)
	}
	m.windSaid(shown)
	m.compare(slices.DeleteFunc(spots, func(s spot) bool { return len(s.out) < fewest }), wind)
	return m.f
}

func (m *ram) speedRests() string {
	if m.v.entry(speedFrom, "") == fromSatellite {
		return "half the density times the square of a speed by satellite, held within 1 km/h"
	}
	return "half the density times the square of a speed from the dashboard, which may show up to a tenth and 4 km/h more than the truth (UN R39, which this program quotes from memory)"
}

// wind is the wind along the road over the road speed, from the place that read most:
// the pressure goes with the square of the speed of the air, so the roots of both
// ways part as the speeds do. It is 0, without an error, where no place shows it.
func (m *ram) wind(spots []spot) stats.Estimate {
	most, share := 0.0, stats.Estimate{Freedom: stats.Endless}
	for _, s := range spots {
		a, b := finding.Mean(s.out, finding.Scale(m.v.division())), finding.Mean(s.back, finding.Scale(m.v.division()))
		if low := min(math.Abs(a.Value), math.Abs(b.Value)); a.Value*b.Value > 0 && low > most {
			x, y := math.Sqrt(math.Abs(a.Value)), math.Sqrt(math.Abs(b.Value))
			both := (x + y) * (x + y)
			most = low
			share = finding.Propagated((x-y)/(x+y), finding.Term{By: y / (x * both), From: a}, finding.Term{By: x / (y * both), From: b})
		}
	}
	return share
}

// calm is what the mean of both ways is divided by to be that of calm air: the squares
// of V+w and V-w have the mean V^2 + w^2.
func calm(wind float64) float64 { return 1 + wind*wind }

// windSaid tells the wind. It has no way that matters, so it is never below nought.
func (m *ram) windSaid(share stats.Estimate) {
	if share.SE == 0 {
		m.f.Add(finding.Unknown("wind", "Wind along the road", quantity.Speed, "no place was above or below the cabin both ways"))
		return
	}
	share.Value = math.Abs(share.Value)
	low, high := share.Interval(0.9)
	m.f.Add(finding.Between("wind", "Wind along the road", quantity.Speed, share.Value*m.speed.Median, max(0, low)*m.speed.Median, high*m.speed.Median,
		finding.Inferred, "what the two ways show apart; taken off"))
	if share.Value > 0.2 {
		m.f.Say("The two ways differ much: wind of {wind} along the road. A calm day makes the answer surer.")
	}
}

// coefficient is the name of the figure of a place.
func coefficient(i int) string { return fmt.Sprintf("place-%d", i+1) }

// place tells the pressure of one place, as it is and over the velocity head.
func (m *ram) place(s spot, wind float64) {
	i := slices.Index(listed(m.v.entry(mouthPlaces, "")), s.name)
	mean := s.mean()
	p := finding.Propagated(mean.Value/calm(wind), finding.Term{By: 1 / calm(wind), From: mean}, finding.Term{By: 1, From: scaleOf(m.v.division())})
	on := fmt.Sprintf("%d passes both ways", len(s.out))
	if len(s.out) == 1 {
		on = "one pass both ways, so that its scatter isn't in it"
	}
	m.f.Add(finding.Of(coefficient(i)+"-pressure", "Pressure, "+s.name, quantity.PressureDiff, p, finding.Measured, on))
	low, high := p.Interval(0.9)
	share := func(x []float64) float64 { return (x[0] + x[2]) / air.VelocityHead(m.air.Density(), x[1]) }
	off := 1.645 * finding.Limit(cabinShare*m.head)
	value, from, to := finding.Around(share, finding.Band(p.Value, low, high), m.speed, finding.Band(0, -off, off))
	m.f.Add(finding.Between(coefficient(i), "Pressure coefficient, "+s.name, quantity.Number, value, from, to, finding.Inferred,
		"the pressure over the velocity head; the air in the cabin, against which it was read, may be off by a fifth of that head either way (a figure of the trade that this program quotes from memory)"))
}

// scaleOf is what reading one scale adds to a mean.
func scaleOf(division float64) stats.Estimate {
	return stats.Estimate{SE: finding.Scale(division), Freedom: stats.Endless}
}

// compare holds the place that reads most against that of the present mouth. What the
// cabin and the gauge are off is the same at both and drops out.
func (m *ram) compare(spots []spot, wind float64) {
	names := listed(m.v.entry(mouthPlaces, ""))
	now := slices.IndexFunc(spots, func(s spot) bool { return s.name == names[0] })
	switch {
	case len(spots) == 0:
		m.f.Say("No place was read twice, and one pass shows no scatter.")
		return
	case now < 0:
		m.f.Say("The place of the present mouth was not read twice, so no other can be held against it.")
		return
	case len(spots) < 2:
		return
	}
	best := 0
	for i, s := range spots {
		if s.mean().Value > spots[best].mean().Value {
			best = i
		}
	}
	if best == now {
		m.f.Say("The present place, %s, reads most of all.", spots[now].name)
		m.f.Conclude(mouthStay)
		return
	}
	m.worth(spots[now], spots[best], wind, len(spots)-1)
}

// worth tells what the best place has more than the present one, and what that is in
// power. Of several places the best is best by chance too, so the interval is as much
// wider as there are others (Bonferroni).
func (m *ram) worth(now, best spot, wind float64, others int) {
	a, b := now.mean(), best.mean()
	d := finding.Propagated((b.Value-a.Value)/calm(wind), finding.Term{By: 1 / calm(wind), From: a}, finding.Term{By: 1 / calm(wind), From: b},
		finding.Term{By: math.Sqrt2, From: scaleOf(m.v.division())})
	low, high := d.Interval(1 - 0.1/float64(others))
	on := fmt.Sprintf("the means of all passes of both, %s and %s; what cabin and gauge are off drops out", best.name, now.name)
	m.f.Add(finding.Between("more", fmt.Sprintf("Pressure, %s less %s", best.name, now.name), quantity.PressureDiff, d.Value, low, high, finding.Measured, on))
	gain := m.gain(finding.Band(d.Value, low, high))
	m.f.Say("The place %s reads {more} more than the present one. At %s that is {gain} of power.", best.name, quantity.Show(m.told, quantity.Speed, m.v.matter.Units))
	m.f.Say("A mouth draws air, and its own flow changes the pressure where it stands. Expect less than the figure.")
	worth := cmp.Or(m.v.matter.Options.Worth, DefaultWorth) / 100
	switch {
	case low > 0 && gain.Value >= worth:
		m.f.Conclude(mouthMove)
	case low > 0:
		m.f.Conclude(mouthLittle)
	case gain.High < worth:
		m.f.Say("The places can't be told apart for certain. What parts them is worth less than %g %% of power in any case.", 100*worth)
		m.f.Conclude(mouthStay)
	default:
		m.f.Conclude(finding.CannotTell)
	}
}

// gain is what so much more pressure ahead of the engine is worth at the speed that it
// is told for.
func (m *ram) gain(more finding.Input) finding.Figure {
	e := power.Engine{Fuel: m.v.entry("car.engine.fuel", ""), Induction: m.v.entry("car.engine.induction", ""), BoostControl: m.v.entry("car.engine.boost_control", "")}
	r := e.Response()
	note, band := r.Note, r.Exponent
	if !r.Known {
		note, band = "power goes with the pressure ahead of a petrol engine that breathes naturally; how this one does is not known", planExponent
	}
	grows := m.told * m.told / (m.speed.Median * m.speed.Median)
	share := func(x []float64) float64 {
		return power.PressureFactor(m.air.Pressure, m.air.Pressure+grows*x[0], x[1]) - 1
	}
	value, low, high := finding.Around(share, more, finding.Band(band.Median, band.Low, band.High))
	return m.f.Add(finding.Between("gain", "Power that the best place brings at "+quantity.Show(m.told, quantity.Speed, m.v.matter.Units), quantity.Share, value, low, high, finding.Inferred, note))
}
