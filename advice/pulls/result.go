package pulls

// Version is the version of a Result's JSON form.
const Version = 1

// Role is what a channel tells.
type Role string

// Roles.
const (
	Time     Role = "time"
	RPM      Role = "rpm"
	Load     Role = "load"     // pedal, throttle, manifold pressure, load as a share
	Pressure Role = "pressure" // of the gauge on the intake path
	Speed    Role = "speed"
	Flow     Role = "flow"
	NoRole   Role = "none"
)

// Roles lists what a column can be named for.
func Roles() []Role { return []Role{Time, RPM, Load, Pressure, Speed, Flow} }

// Result is what one log holds.
type Result struct {
	Version   int        `json:"pulls"`
	File      string     `json:"file"`
	Rows      int        `json:"rows"`
	Seconds   float64    `json:"seconds"` // from the first row to the last
	Channels  []Channel  `json:"channels"`
	Rejected  []Rejected `json:"rejected"`
	Gears     []Gear     `json:"gears"`
	Skew      []Skew     `json:"skew"`
	Zeros     []Zero     `json:"zeros"`
	Pairs     []Pair     `json:"pairs"`
	Found     []Pull     `json:"found"`
	Nearly    []Near     `json:"nearly"`
	Reference float64    `json:"reference_rpm"` // 0 where there is none
	Readings  []Reading  `json:"readings"`
	Fits      []Curve    `json:"fits"`
	Notes     []string   `json:"notes"`

	// Plots are what pictures of the first readings show: at most mostPlots, in the
	// order of Readings.
	Plots []Plot `json:"-"`
}

// Plot is what a reading was read from: the samples that its curve goes through, and
// the curve.
type Plot struct {
	Reading int     // its place in Readings
	Points  []Point // by time, at most mostSamples
	curve   curve
	zero    float64 // standard error of the zero, Pa
}

// Point is a pressure at an engine speed.
type Point struct{ RPM, Pa float64 }

// At is the fitted curve at an engine speed, Pa, with its interval of 95 %.
func (p *Plot) At(rpm float64) Estimate { return p.curve.value(rpm, p.zero) }

// Channel is one column of numbers. RefreshS is how often it takes a new
// value, in seconds; nil where it moves too seldom to tell.
type Channel struct {
	Name     string   `json:"name"`
	Role     Role     `json:"role"`
	Unit     string   `json:"unit"`
	RefreshS *float64 `json:"refresh_s"`
	By       string   `json:"by"` // how the role was found: named, name, behaviour; "" without a role
}

// How a role was found.
const (
	ByUser      = "named"
	ByName      = "name"
	ByBehaviour = "behaviour"
)

// Rejected is a channel that could have had a role by its name.
type Rejected struct {
	Name   string `json:"name"`
	Reason string `json:"reason"`
}

// Gear is a ratio that the log holds for some time. Number counts from the
// highest ratio that was seen: a first gear that was never used shifts it.
type Gear struct {
	Number    int     `json:"gear"`
	RPMPerKmh float64 `json:"rpm_per_kmh"`
	Seconds   float64 `json:"seconds"`
}

// Skew is how far a channel is behind engine speed.
type Skew struct {
	Name       string   `json:"name"`
	ReadAfterS *float64 `json:"read_after_s"` // when its samples are taken, after those of engine speed; nil where they have no fixed order
	LagS       *float64 `json:"lag_s"`        // by how much its signal comes later than that of Against, sampling aside; nil where it can't be told
	Against    string   `json:"against"`      // "" without a lag
}

// Zero is what a gauge shows without flow.
type Zero struct {
	Name     string  `json:"name"`
	Pa       float64 `json:"pa"`
	SpreadPa float64 `json:"spread_pa"` // one standard deviation of a sample
	From     string  `json:"from"`      // engine-off, idle, no-flow, none
}

// Where a zero comes from.
const (
	ZeroOff  = "engine-off"
	ZeroIdle = "idle"
	ZeroFlow = "no-flow"
	ZeroNone = "none"
)

// Pair is two gauges that seem to be on one place.
type Pair struct {
	First     string  `json:"first"`
	Second    string  `json:"second"`
	Ratio     float64 `json:"ratio"`      // second over first, after zeroing
	ZeroPa    float64 `json:"zero_pa"`    // zero of the second less that of the first
	ScatterPa float64 `json:"scatter_pa"` // one standard deviation about the ratio
	Disagree  bool    `json:"disagree"`
}

// Pull is one full-load pull.
type Pull struct {
	StartS    float64   `json:"start_s"` // since the first row
	EndS      float64   `json:"end_s"`
	Start     string    `json:"start"` // as the recorder's own time has it
	RPMLow    float64   `json:"rpm_low"`
	RPMHigh   float64   `json:"rpm_high"`
	RPMPerKmh *float64  `json:"rpm_per_kmh"` // nil without a road speed
	Gear      *int      `json:"gear"`
	Samples   int       `json:"samples"` // fresh ones of engine speed
	Flow      *Estimate `json:"flow"`    // at the reference rpm, in the unit of the flow channel
	Doubtful  string    `json:"doubtful"`
}

// Near is a stretch that is nearly a pull, and what it lacks.
type Near struct {
	StartS  float64 `json:"start_s"`
	EndS    float64 `json:"end_s"`
	RPMLow  float64 `json:"rpm_low"`
	RPMHigh float64 `json:"rpm_high"`
	Lacks   string  `json:"lacks"`
}

// Estimate is a value with its central 95 % interval.
type Estimate struct {
	Median float64 `json:"median"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
}

// Reading is a pressure read from one pull at the reference rpm.
type Reading struct {
	Pull     int      `json:"pull"` // counted from 1, as Found has them
	Name     string   `json:"name"` // the channel
	RPM      float64  `json:"rpm"`
	Pa       Estimate `json:"pa"`
	Exponent Estimate `json:"exponent"` // of pressure over rpm
	Samples  int      `json:"samples"`
	Spikes   int      `json:"spikes"`   // samples that were left out
	Clipped  int      `json:"clipped"`  // samples at the end of the gauge's range, left out
	Outside  bool     `json:"outside"`  // the reference rpm lies outside what was driven
	Doubtful string   `json:"doubtful"` // why, "" if not
}

// Curve is pressure over flow, where both are logged. It tells the path from
// the engine: an engine may draw more per turn as it turns faster.
type Curve struct {
	Name     string   `json:"name"`
	Over     string   `json:"over"`
	Exponent Estimate `json:"exponent"`
	Samples  int      `json:"samples"`
}
