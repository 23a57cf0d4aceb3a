package advice

import (
	"slices"
	"strings"

	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// walkOnPath is whether the walk from place to place goes on.
const walkOnPath = "test.walk_on"

// What procedures can name of a walk from place to place.
var (
	walkFields = []subject.Field{
		{Path: walkOnPath, Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether the next place is read as well"},
	}
	walkFacts = []fact{
		{subject.Fact{Name: "next_place", Kind: quantity.Text, Doc: "the place that is read next in a walk from place to place"}, (*view).nextPlace},
		{subject.Fact{Name: "places_left", Kind: quantity.Choice, Choices: []string{"yes", "no"}, Doc: "whether a place that can take a tap has not been read yet"}, (*view).placesLeft},
		{subject.Fact{Name: "first_piece", Kind: quantity.Text, Judged: true, Doc: "the piece that the assessment puts first"}, (*view).firstPiece},
	}
	walkSource = source{subject.Source{Name: "each-station", Ahead: "path_known", Doc: "every place that can take a tap, the innermost first: one reading from the open air to each", Rows: "readings",
		Keys:   []subject.Key{{Name: "from", Among: "places", Also: []string{sheet.OpenAir}}, {Name: "to", Among: "places"}},
		Values: readingValues()}, (*view).eachStation}
)

// readingValues are what a round brings that is one reading.
func readingValues() []subject.Fact {
	text := func(name, doc string) subject.Fact { return subject.Fact{Name: name, Kind: quantity.Text, Doc: doc} }
	return []subject.Fact{text("from", "upstream station"), text("to", "downstream station"), text("gauge", "gauge to use"), text("taps", "taps that it needs")}
}

// readingOffer is a round that reads between two stations of a sheet.
func (v *view) readingOffer(s *sheet.Sheet, from, to string, more ...subject.Part) subject.Offer {
	gauge := gaugeFor(s, from, to)
	var taps []string
	for _, station := range []string{from, to} {
		switch {
		case station == sheet.OpenAir:
		case v.visited(station):
			taps = append(taps, station+" fitted")
		default:
			taps = append(taps, station+" "+s.TapAt(station))
		}
	}
	return subject.Offer{
		Values: map[string]string{"from": from, "to": to, "gauge": gauge, "taps": strings.Join(taps, ", ")},
		Parts: append([]subject.Part{{Path: visitFrom, Text: from}, {Path: visitTo, Text: to},
			{Path: visitGauge, Text: gauge}}, more...),
	}
}

// gaugeFor is the gauge of a sheet that suits what is to be expected between two
// stations, failing that the first; "" where the sheet has none.
func gaugeFor(s *sheet.Sheet, from, to string) string {
	if len(s.Gauges) == 0 {
		return ""
	}
	car := model.New(s)
	if name := car.Suitable(car.Expect(car.Index(from), car.Index(to))); name != "" {
		return name
	}
	return s.Gauges[0].Name
}

// tappable lists the stations that can take a tap, from the open air inwards; the
// last one of all where none can.
func tappable(s *sheet.Sheet) []string {
	stations := s.Stations()
	list := slices.DeleteFunc(slices.Clone(stations[1:]), func(name string) bool { return s.TapAt(name) == sheet.TapNone })
	if len(list) == 0 {
		return stations[len(stations)-1:]
	}
	return list
}

// unread lists the places that a walk has not come to yet, the innermost first: the
// whole path is known after one reading, and each further one parts it once more.
func (v *view) unread() []string {
	s := v.drawn()
	if s == nil {
		return nil
	}
	list := tappable(s)
	slices.Reverse(list)
	return slices.DeleteFunc(list, v.visited)
}

// visited tells whether a reading up to or from a station has been begun: its tap
// is there.
func (v *view) visited(station string) bool {
	return slices.ContainsFunc(v.entries, func(e subject.Entry) bool { return (e.Path == visitTo || e.Path == visitFrom) && e.Text == station })
}

// eachStation offers them in turn, until the tester has enough.
func (v *view) eachStation(subject.Round) (subject.Offer, bool) {
	left := v.unread()
	if len(left) == 0 || v.entry(walkOnPath, "") == "no" {
		return subject.Offer{}, false
	}
	return v.readingOffer(v.drawn(), sheet.OpenAir, left[0]), true
}

func (v *view) nextPlace() subject.Value {
	if left := v.unread(); len(left) > 0 {
		return word(left[0])
	}
	return subject.Value{}
}

func (v *view) placesLeft() subject.Value { return yesNo(len(v.unread()) > 0) }

func (v *view) firstPiece() subject.Value {
	if a := v.assess(); a != nil && a.BestGuess != nil {
		return word(*a.BestGuess)
	}
	return subject.Value{}
}
