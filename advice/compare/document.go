package compare

import (
	"bytes"
	"encoding/json"
)

// Version is the version of the comparison that this package writes.
const Version = 1

// Verdicts.
const (
	Better        = "better"               // the 95 % interval lies below nought
	Worse         = "worse"                // above it
	NoChange      = "no-meaningful-change" // the 90 % interval lies within what is worth having
	CannotTell    = "cannot-tell"          // neither
	cureRuns      = "runs"                 // more runs would settle it
	cureRefits    = "refits"               // only more fittings would
	cureNone      = "neither"
	RefitStated   = "stated"  // the user gave it
	RefitHistory  = "history" // the car's own visits gave it
	RefitClass    = "class"   // groups of a class that measured one car gave it
	RefitLearnt   = "learnt"  // other cars of the workshop gave it
	RefitUsual    = "usual"   // nobody knows it
	intervalLevel = 0.95
)

// Verdicts lists the verdicts.
func Verdicts() []string { return []string{Better, Worse, NoChange, CannotTell} }

// Estimate is a number with its central 95 % interval.
type Estimate struct {
	Median float64 `json:"median"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
}

// Comparison is the result, version 1. Keys carry their units.
type Comparison struct {
	Version   int       `json:"compare"`
	Pairs     []Change  `json:"pairs"`
	Total     *Change   `json:"total"`         // the longest pair from the open air; nil where none was read
	Power     *Estimate `json:"power_percent"` // nil where nothing honest can be said
	PowerNote string    `json:"power_note"`
	Losses    []Change  `json:"losses"` // between neighbouring stations, in the order of the path
	Design    string    `json:"design"` // A-B or A-B-A
	Blocks    []Block   `json:"blocks"`
	Reference Reference `json:"reference"`
	Notes     []Note    `json:"notes"`
}

// Designs.
const (
	AB  = "A-B"
	ABA = "A-B-A"
)

// Block is one of the sheets.
type Block struct {
	Title  string `json:"title"`
	Car    string `json:"car"`
	Date   string `json:"date"`
	Change string `json:"changes"` // what was done to the car, as the sheet states it
}

// Reference is the point at which all is compared.
type Reference struct {
	RPM     float64 `json:"rpm"`
	Density float64 `json:"air_density_kg_m3"`
}

// Change is what a change did between two stations.
type Change struct {
	From         string    `json:"from"`
	To           string    `json:"to"`
	Change       Estimate  `json:"change_pa"` // of the loss, after less before
	Verdict      string    `json:"verdict"`
	Measurable   bool      `json:"measurable"`    // the interval leaves nought out
	RunsNeeded   *int      `json:"runs_needed"`   // further runs in each block, where they would settle it
	RefitsNeeded *int      `json:"refits_needed"` // further rounds of before and after, where only they would
	Cure         string    `json:"cure"`          // runs, refits, neither; "" where there is nothing to settle
	BeyondWorth  bool      `json:"beyond_worth"`  // the whole interval lies beyond what is worth having
	Before       float64   `json:"before_pa"`     // reading before the change
	After        float64   `json:"after_pa"`
	Heads        float64   `json:"heads_pa"` // velocity head that the reading gained and the loss did not: other bores at the taps
	Worth        float64   `json:"worth_pa"`
	Error        float64   `json:"standard_error_pa"`
	Freedom      *float64  `json:"freedom"`          // nil: endless
	Scatter      float64   `json:"scatter_pa"`       // of one run
	Refit        Refit     `json:"refit"`            // from one fitting to the next
	Shared       float64   `json:"shared_error_pa"`  // of gauges, days and the way to the reference point
	Drift        *Estimate `json:"drift_pa_per_run"` // nil: A-B can't tell it
	Runs         []int     `json:"runs"`             // in each block
	Pieces       []string  `json:"pieces"`           // between the stations, before the change

	// Values are what each run of each block read, in order, in Pa at the reference
	// point; nil for a change that is the difference of two. They are for pictures.
	Values [][]float64 `json:"-"`
}

// Refit is the scatter that taking a part off and fitting it again adds to a block.
type Refit struct {
	SD   float64 `json:"sd_pa"`
	From string  `json:"from"` // stated, class, history, learnt or usual
}

// Note is something that the reader should know.
type Note struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// Codes of notes.
const (
	OtherDay     = "other-day"
	OtherGauge   = "other-gauge"
	OtherBore    = "other-bore"
	OtherMouth   = "other-mouth"
	Boosted      = "boosted"
	GuessedRefit = "usual-refit"
	LeftOut      = "left-out"
	Doubtful     = "doubtful"
	PartOnly     = "part-only"
	Recheck      = "recheck"
	NoDrift      = "no-drift"
	ClassNought  = "class-nought"
	ClassTap     = "class-tap"
)

// Codes lists the codes of notes. More may come with later releases; none changes
// its name.
func Codes() []string {
	return []string{OtherDay, OtherGauge, OtherBore, OtherMouth, Boosted, GuessedRefit, LeftOut, Doubtful, PartOnly, Recheck, NoDrift, ClassNought, ClassTap}
}

// Line is the comparison as one JSON object on one line, with its end of line.
func (c *Comparison) Line() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(c)
	return b.Bytes(), err
}
