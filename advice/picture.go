package advice

import (
	"fmt"
	"slices"
	"strings"

	"dropwalk/advice/model"
	"dropwalk/advice/sheet"
	"dropwalk/engine/quantity"
	"dropwalk/engine/subject"
)

// pathPicture is the picture of the path: its pieces from the open air inwards,
// which places have a tap, what was read so far, and where the next reading goes.
const pathPicture = "path"

var pictures = []string{pathPicture}

// stretch is the reading that comes next.
type stretch struct {
	from, to string
	made     bool // its taps are there
}

// Picture draws what is called name.
func (v *view) Picture(name string, at subject.Round) subject.Picture {
	if name != pathPicture {
		return subject.Picture{}
	}
	s := v.drawn()
	if s == nil {
		return subject.Picture{Title: "The answers contradict each other, so there is no path to show."}
	}
	return picturePath(s, v.coming(at), v.entry(noTapPath, "") != "", v.matter.Units)
}

// drawn is the sheet, or what it would be if the engine's size were known: a
// path can be looked at before that.
func (v *view) drawn() *sheet.Sheet {
	if v.doc() != nil {
		return v.sheet
	}
	entries := []subject.Entry{{Path: "car.engine.displacement", Text: "2 L"}}
	s, _ := sheet.FromEntries(append(entries, SheetEntries(v.entries)...))
	return s
}

// coming is the reading that the rounds around a place are about; once it is
// taken, and outside rounds, the one that the assessment asks for.
func (v *view) coming(at subject.Round) stretch {
	if from := at.Values["from"]; from != "" && !v.taken(at.Slot) {
		// A place that names one station makes the tap there.
		return stretch{from, at.Values["to"], at.Values["station"] == ""}
	}
	if v.doc() == nil {
		return stretch{}
	}
	if n := v.assess().Next; n != nil {
		return stretch{from: n.From, to: n.To}
	}
	return stretch{}
}

// taken tells whether the runs of a visit are behind the place: it is one of the
// visit's own steps, and readings were taken under it.
func (v *view) taken(slot string) bool {
	visit := slices.ContainsFunc(v.entries, func(e subject.Entry) bool { return e.Path == visitTo && e.Row == slot })
	return visit && slices.ContainsFunc(v.entries, func(e subject.Entry) bool {
		return e.Path == readingPath && strings.HasPrefix(e.Row, slot+"/")
	})
}

// picturePath draws the path of a sheet. Readings are shown as they were read,
// the mean of each stretch. Where nobody looked whether there is room for taps, it says
// of none that it can be made.
func picturePath(s *sheet.Sheet, next stretch, looked bool, units quantity.System) subject.Picture {
	car := model.New(s)
	p := subject.Picture{Title: "The path, with its taps and readings so far:"}
	for k, st := range car.Stations {
		spot := subject.Spot{Name: st.Name}
		switch {
		case k == 0:
			spot.Mark = subject.End
		case st.Fitted, next.made && (next.from == st.Name || next.to == st.Name):
			spot.Mark, spot.Notes = subject.Present, []string{"tap fitted"}
		case st.Tap == "none":
			spot.Notes = []string{"no tap"}
		case !looked && s.Path[k-1].Tap == "":
			spot.Mark, spot.Notes = subject.Possible, []string{"tap, if there is room"}
		default:
			spot.Mark, spot.Notes = subject.Possible, []string{possible[st.Tap]}
		}
		spot.Notes = append(spot.Notes, readSoFar(s, st.Name, units)...)
		switch st.Name {
		case next.from:
			spot.Next, spot.Notes = true, append(spot.Notes, "next reading from here")
		case next.to:
			spot.Next, spot.Notes = true, append(spot.Notes, "next reading to here")
		}
		p.Places = append(p.Places, spot)
	}
	p.Places = append(p.Places, subject.Spot{Name: pathEnd(s.Car.Engine.Induction), Mark: subject.End})
	return p
}

// possible says how a tap that is not there yet can be had.
var possible = map[string]string{"port": "has a port", "drill": "can be drilled"}

// pathEnd is what stands behind the path.
func pathEnd(induction string) string {
	switch induction {
	case "natural":
		return "throttle"
	case "turbo":
		return "compressor"
	case "supercharged":
		return "blower"
	}
	return "throttle or blower"
}

// readSoFar tells what was read up to a station, a line for each place that the
// other port was at.
func readSoFar(s *sheet.Sheet, to string, units quantity.System) []string {
	var order []string
	by := map[string][]sheet.Reading{}
	for _, r := range s.Readings {
		if r.To != to {
			continue
		}
		if by[r.From] == nil {
			order = append(order, r.From)
		}
		by[r.From] = append(by[r.From], r)
	}
	var lines []string
	for _, from := range order {
		lines = append(lines, meanOf(by[from], units)+" from "+from+runsNote(by[from]))
	}
	return lines
}

// meanOf is the mean of what was read, in the units of the user; a bound where
// the needle stood at its stop. Doubtful readings count where there are no
// others.
func meanOf(readings []sheet.Reading, units quantity.System) string {
	sound := slices.DeleteFunc(slices.Clone(readings), func(r sheet.Reading) bool { return r.Doubtful != "" || !r.Value.Known() })
	if len(sound) == 0 {
		sound = slices.DeleteFunc(slices.Clone(readings), func(r sheet.Reading) bool { return !r.Value.Known() })
	}
	sum := 0.0
	for _, r := range sound {
		sum += r.Value.SI / float64(len(sound))
	}
	switch {
	case len(sound) > 0 && units == quantity.AsTyped:
		return quantity.ShowIn(sum, quantity.PressureDiff, sound[0].Value.Unit)
	case len(sound) > 0:
		return quantity.Show(sum, quantity.PressureDiff, units)
	}
	for _, r := range readings {
		if r.Value.Form == quantity.Above || r.Value.Form == quantity.Below {
			return r.Value.Text()
		}
	}
	return "unreadable"
}

// runsNote counts the runs behind what meanOf tells. A run that could not be read
// stands apart: nothing of it is in the figure.
func runsNote(readings []sheet.Reading) string {
	doubtful, unread := 0, 0
	for _, r := range readings {
		switch {
		case r.Value.Form == quantity.Unreadable:
			unread++
		case r.Doubtful != "":
			doubtful++
		}
	}
	read := len(readings) - unread
	if read == 0 {
		read, unread = unread, 0 // the figure says so itself
	}
	note := fmt.Sprintf(" (%d runs", read)
	if read == 1 {
		note = " (1 run"
	}
	if doubtful > 0 {
		note += fmt.Sprintf(", %d doubtful", doubtful)
	}
	if unread > 0 {
		note += fmt.Sprintf(", %d not read", unread)
	}
	return note + ")"
}
