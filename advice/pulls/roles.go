package pulls

import (
	"strings"
	"unicode"

	"dropwalk/advice/pulls/table"
	"dropwalk/engine/quantity"
)

// clue is what names of channels of one role have in common. Each phrase is a
// set of words that all have to be there. Names of the trade in some languages,
// common practice, no source.
type clue struct {
	role    Role
	phrases string // parted by |
	never   string // words that speak against it, parted by blanks
	units   []quantity.Kind
}

// notMeasured are words of values that a controller wants and nobody measured.
const notMeasured = " target desired commanded requested limit setpoint soll request min max average"

var clues = []clue{
	{RPM, "rpm|engine speed|enginespeed|engine revs|revs|engine revolutions|drehzahl|motordrehzahl|regime moteur|régime moteur|régime|giri motore|regimen motor|régimen",
		"turbo turbine wheel shaft fan idle pump" + notMeasured, []quantity.Kind{quantity.Rotation}},
	{Speed, "vehicle speed|road speed|car speed|gps speed|speed|velocity|geschwindigkeit|fahrgeschwindigkeit|vitesse|velocità|velocidad|kmh|kph|mph",
		"engine wind fan turbo turbine pump wheel limit" + notMeasured, []quantity.Kind{quantity.Speed}},
	{Flow, "air flow|airflow|mass flow|air mass|mass air|maf|flow|luftmasse|luftmassenstrom|débit air|portata aria|caudal|q",
		"fuel egr temperature temp coolant oil pressure sd" + notMeasured, []quantity.Kind{quantity.MassFlow, quantity.VolumeFlow}},
	{Load, "pedal|throttle|accelerator|engine load|load|manifold pressure|manifold absolute|map|boost|boost pressure|tps|fahrpedal|gaspedal|drosselklappe|saugrohrdruck|ladedruck|last|papillon|pédale|farfalla|mariposa",
		"temperature temp switch status fuel" + notMeasured, nil},
	{Pressure, "restriction|depression|intake vacuum|vacuum|intake pressure|inlet pressure|airbox pressure|filter pressure|duct pressure|tap pressure|differential pressure|pressure difference|pressure drop|dp|d p|delta p|dpa|dpb|unterdruck|differenzdruck|ansaugdruck|dépression|depressione|depresión|gauge|pressure",
		"manifold map absolute boost oil fuel rail baro barometric barometer atmospheric ambient outside brake tyre tire cylinder exhaust coolant ladedruck saugrohrdruck umgebungsdruck temperature temp counts sd" + notMeasured, []quantity.Kind{quantity.PressureDiff}},
}

// timeWords name the column of time.
var timeWords = "time timestamp zeit uhrzeit temps tempo tiempo seconds elapsed clock t"

// nameWords parts a name into words in small letters: at what is no letter or
// digit, and where a capital follows a small letter.
func nameWords(name string) []string {
	var b strings.Builder
	before := ' '
	for _, r := range name {
		switch {
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			b.WriteByte(' ')
		case unicode.IsUpper(r) && unicode.IsLower(before):
			b.WriteRune(' ')
			b.WriteRune(unicode.ToLower(r))
		default:
			b.WriteRune(unicode.ToLower(r))
		}
		before = r
	}
	return strings.Fields(b.String())
}

// strength is how strongly a name speaks for the role, 0 not at all: the number
// of words of the longest phrase that it holds, and one more for a unit that
// fits.
func (c *clue) strength(words []string, unit string) int {
	has := func(list string) bool {
		for w := range strings.FieldsSeq(list) {
			if !contains(words, w) {
				return false
			}
		}
		return true
	}
	for w := range strings.FieldsSeq(c.never) {
		if contains(words, w) {
			return 0
		}
	}
	best := 0
	for phrase := range strings.SplitSeq(c.phrases, "|") {
		if n := len(strings.Fields(phrase)); n > best && has(phrase) {
			best = n
		}
	}
	if len(c.units) == 0 {
		return 2 * best
	}
	fits, known := fitsUnit(unit, c.units)
	switch {
	case known && !fits:
		return 0
	case known && best > 0:
		return 2*best + 1
	case known && c.role != Pressure:
		return 1
	case fits && isWater(unit):
		return 1 // nothing else of a car is measured in inches of water
	}
	return 2 * best
}

func contains(words []string, word string) bool {
	for _, w := range words {
		if w == word {
			return true
		}
	}
	return false
}

// fitsUnit tells whether a unit measures one of the kinds, and whether it is
// known at all.
func fitsUnit(unit string, kinds []quantity.Kind) (fits, known bool) {
	if unit == "" {
		return false, false
	}
	for _, k := range quantity.KindOf(unit) {
		known = true
		for _, want := range kinds {
			fits = fits || k == want
		}
	}
	return fits, known
}

func isWater(unit string) bool {
	return strings.HasSuffix(strings.ToLower(unit), "h2o") || strings.HasSuffix(strings.ToLower(unit), "wc")
}

// unitOf is the unit of a column: that of the head, else the end of its name
// where that is a unit, as in dp_kPa or flow_L_s.
func unitOf(c table.Column) string {
	if c.Unit != "" {
		return c.Unit
	}
	words := strings.FieldsFunc(c.Name, func(r rune) bool { return r == '_' || r == ' ' || r == '-' || r == '.' })
	n := len(words)
	if n > 2 {
		if both := words[n-2] + "/" + words[n-1]; len(quantity.KindOf(both)) > 0 {
			return both
		}
	}
	if n > 1 && len(quantity.KindOf(words[n-1])) > 0 {
		return words[n-1]
	}
	return ""
}

// roleByName is the role that name and unit speak for most, NoRole if none.
func roleByName(c table.Column) (Role, int) {
	words, unit := nameWords(c.Name), unitOf(c)
	role, best := NoRole, 0
	for i := range clues {
		if s := clues[i].strength(words, unit); s > best {
			role, best = clues[i].role, s
		}
	}
	return role, best
}

// isTime tells whether a name is that of the column of time.
func isTime(c table.Column) bool {
	for _, w := range nameWords(c.Name) {
		if contains(strings.Fields(timeWords), w) {
			return true
		}
	}
	return c.Kind == table.Clock
}
