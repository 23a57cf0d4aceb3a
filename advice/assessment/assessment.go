// Package assessment is what the program makes of one test sheet: the document
// that every report, comparison and page is built on. Types and their JSON form
// only; package advice works them out.
package assessment

// Verdicts.
const (
	Measure    = "measure"     // one more reading is worth its cost
	Attack     = "attack"      // change this component first
	LeaveAlone = "leave-alone" // nothing is likely to give back enough
	Recheck    = "recheck"     // the readings contradict each other, the gauge or physics
)

// Estimate is a number with its central 90 % interval.
type Estimate struct {
	Median float64 `json:"median"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
}

// Assessment is one car on one sheet, version 1. Keys carry their units.
type Assessment struct {
	Version      int                 `json:"assessment"`
	Title        string              `json:"title"`
	Seed         int64               `json:"seed"`
	Reference    Reference           `json:"reference"`
	Verdict      string              `json:"verdict"`
	TotalLoss    Estimate            `json:"total_loss_pa"`
	TotalGauge   Estimate            `json:"total_restriction_pa"`
	VelocityHead map[string]Estimate `json:"velocity_head_pa"` // by station
	Components   []Component         `json:"components"`
	Together     [][]string          `json:"together"`
	BestGuess    *string             `json:"best_guess"`
	Attack       *string             `json:"attack"`
	AttackGroup  []string            `json:"attack_group"`
	Gain         Gain                `json:"gain"`
	GainAll      Gain                `json:"gain_all"`
	Next         *Next               `json:"next"`
	Remarks      []Remark            `json:"remarks"`
}

// Reference is the point at which the losses are quoted.
type Reference struct {
	RPM        float64  `json:"rpm"`
	AirDensity float64  `json:"air_density_kg_m3"`
	MassFlow   Estimate `json:"mass_flow_g_s"`
}

// Component is one piece of the path, judged.
type Component struct {
	Name        string   `json:"name"`
	Kind        string   `json:"kind"`
	RestsOn     string   `json:"rests_on"` // readings, handbook or both
	Loss        Estimate `json:"loss_pa"`
	Handbook    Estimate `json:"handbook_loss_pa"`
	Recoverable Estimate `json:"recoverable_pa"`
	ChanceFirst float64  `json:"chance_first"`
}

// Gain is the power that comes back. Nil where nothing honest can be said.
type Gain struct {
	PowerPercent *Estimate `json:"power_percent"`
	PowerKW      *Estimate `json:"power_kw"`
	Note         string    `json:"note"`
}

// Next is the next reading worth taking.
type Next struct {
	From   string `json:"from"`
	To     string `json:"to"`
	Gauge  string `json:"gauge"` // "" where no gauge is known
	Taps   []Tap  `json:"taps"`
	Runs   int    `json:"runs"`
	Reason string `json:"reason"`
}

// Tap is one connection that the next reading needs.
type Tap struct {
	Station string `json:"station"`
	How     string `json:"how"` // fitted, port or drill
}

// Remark is something the reader should know about the readings.
type Remark struct {
	Code string `json:"code"`
	Text string `json:"text"`
	Runs []int  `json:"runs"`
}

// Remark codes.
const (
	OffScale        = "off-scale"
	UnreadableValue = "unreadable"
	BelowResolution = "below-resolution"
	RunsDisagree    = "runs-disagree"
	LossFalls       = "loss-falls"
	NotFullLoad     = "not-full-load"
	ZeroShift       = "zero-shift"
	Leak            = "leak"
	Swapped         = "swapped"
	TapDoubtful     = "tap-doubtful"
	GaugeOverdue    = "gauge-overdue"
	Wide            = "wide"
	FlowDoubtful    = "flow-doubtful"
	FarRPM          = "far-rpm"
	ClosesUp        = "closes-up"
	OwnPriors       = "own-priors"
)
