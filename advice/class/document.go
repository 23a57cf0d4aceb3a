package class

import "dropwalk/advice/compare"

// Version is the version of the document that this package writes.
const Version = 1

// Class is the result, version 1. Keys carry their units. A figure that so few groups
// or runs don't tell is null.
type Class struct {
	Version   int               `json:"class"`
	Stations  []Station         `json:"stations"` // pairs of stations, in the order of the path
	Car       string            `json:"car"`
	Groups    []string          `json:"groups"`
	Reference compare.Reference `json:"reference"`
	Taps      []Tap             `json:"taps"`   // what points to one tap
	Askew     []Askew           `json:"askew"`  // groups that read all over too much or too little
	Across    *Across           `json:"across"` // station by group; null where it can't be told
	Notes     []Note            `json:"notes"`
	HandIns   []HandIn          `json:"hand_ins"` // what came in, where the class handed in files
	Missing   []string          `json:"missing"`  // groups of which nothing counts
}

// HandIn is one file that came in.
type HandIn struct {
	File    string `json:"file"`
	Group   string `json:"group"` // "" where it can't be told
	Record  string `json:"record"`
	Code    string `json:"code"`
	Counts  bool   `json:"counts"`
	Remarks []Note `json:"remarks"`
}

// Station is how far the groups agree between two stations.
type Station struct {
	From          string   `json:"from"`
	To            string   `json:"to"`
	Groups        int      `json:"groups"`
	Runs          int      `json:"runs"`
	Mean          float64  `json:"mean_pa"` // of all runs
	Repeatability *float64 `json:"s_r_pa"`
	Between       *float64 `json:"s_L_pa"`
	Reproduced    *float64 `json:"s_R_pa"`
	Cochran       *float64 `json:"cochran"` // C
	Grubbs        *float64 `json:"grubbs"`  // G
	Flags         []Flag   `json:"flags"`
	LimitRuns     *float64 `json:"limit_r_pa"` // two runs of one group differ by more in one case of twenty
	LimitGroups   *float64 `json:"limit_R_pa"` // and two runs of two groups
	BelowNought   bool     `json:"s_L_below_nought"`
	Freedom       *float64 `json:"s_L_freedom"`
	F             *float64 `json:"f"`
	CochranLimits *Limits  `json:"cochran_limits"`
	GrubbsLimits  *Limits  `json:"grubbs_limits"`
	Median        float64  `json:"median_pa"` // of the groups' means
	MAD           float64  `json:"mad_pa"`    // as a standard deviation
	Interval      *Bounds  `json:"interval_pa"`
	ByGroup       []Group  `json:"by_group"`

	MADIsFloor bool  `json:"mad_is_floor"` // groups lie closer than runs explain, so mad_pa is what runs explain
	Rest       *Rest `json:"without"`      // what the others say without a group whose runs scatter more; null for none
}

// Rest is what groups say without the one whose runs scatter more than those of the
// others (Cochran). It is told beside the figures of all and changes none.
type Rest struct {
	Group         string  `json:"group"` // that is left out here, and here alone
	Repeatability float64 `json:"s_r_pa"`
	Between       float64 `json:"s_L_pa"`
	Reproduced    float64 `json:"s_R_pa"`
	F             float64 `json:"f"`
	P             float64 `json:"p"` // chance of one so large where groups don't differ
}

// Limits are critical values at 5 % and at 1 %.
type Limits struct {
	Straggler float64 `json:"straggler"`
	Outlier   float64 `json:"outlier"`
}

// Bounds are those of the mean of the class, 95 %, by the means of its groups.
type Bounds struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Group is one group between two stations.
type Group struct {
	Group string   `json:"group"`
	Runs  int      `json:"runs"`
	Mean  float64  `json:"mean_pa"`
	SD    *float64 `json:"sd_pa"`            // of its runs
	Off   float64  `json:"from_median_pa"`   // its mean less the median of the class
	MADs  *float64 `json:"from_median_mads"` // the same in units of mad_pa
	H     *float64 `json:"h"`                // Mandel
	K     *float64 `json:"k"`

	Values []float64 `json:"values_pa"` // of its runs, in the order in which they came
}

// Flag is something that stands out between two stations. Nothing is left out for it.
type Flag struct {
	Code  string `json:"code"`
	Group string `json:"group"` // "" where it concerns the pair
	Level string `json:"level"` // straggler, outlier; "" where there are none
}

// Codes of flags, and the levels of ISO 5725-2.
const (
	ScattersMore = "scatters-more"   // Cochran: its runs scatter more than those of the others
	LiesApart    = "lies-apart"      // Grubbs: its mean lies apart from the others
	HighH        = "h"               // Mandel's h beyond its indicator
	HighK        = "k"               // Mandel's k
	FarOff       = "far-from-median" // farther from the median than honest groups come
	BelowNought  = "below-nought"    // groups differ by less than their runs explain: s_L is set to nought
	TooFew       = "too-few"         // groups or runs, for s_L and s_R
	Straggler    = "straggler"
	Outlier      = "outlier"
)

// Codes lists the codes of flags. More may come with later releases; none changes its
// name.
func Codes() []string {
	return []string{ScattersMore, LiesApart, HighH, HighK, FarOff, BelowNought, TooFew}
}

// Tap is a station at which one group reads what its readings elsewhere don't explain.
type Tap struct {
	Group    string   `json:"group"`
	Stations []string `json:"stations"` // one, or several that can't be told apart
	Off      float64  `json:"off_pa"`   // what the group reads more than it should
	Level    string   `json:"level"`
}

// Askew is a group whose readings are all off by about the same share.
type Askew struct {
	Group string  `json:"group"`
	Share float64 `json:"share"` // 0.06: where the class reads most, it reads 6 % more
}

// Across tests whether groups differ from station to station by more than their runs
// explain: the interaction of station and group, of readings as shares of the median
// of each pair, by the method of unweighted means.
type Across struct {
	F     float64 `json:"f"`
	Above float64 `json:"freedom_above"`
	Below float64 `json:"freedom_below"`
	P     float64 `json:"p"`
}

// Note is something that the reader should know.
type Note struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

// Codes of notes.
const (
	Alone    = "alone"    // a pair that one group read and no other
	Sittings = "sittings" // several sheets of one group: its runs hold refitting
	LeftOut  = "left-out" // readings that don't speak for the mean
	FewClass = "few"      // fewer than three groups
)

// NoteCodes lists the codes of notes.
func NoteCodes() []string { return []string{Alone, Sittings, LeftOut, FewClass} }

// Refits are what the groups scatter by from one to the next, for compare: each group
// fits taps and parts anew.
func (c *Class) Refits() *compare.History {
	h := &compare.History{}
	for _, s := range c.Stations {
		if s.Between != nil {
			h.Spans = append(h.Spans, compare.Fitted{From: s.From, To: s.To, SD: *s.Between, Freedom: *s.Freedom, Visits: s.Groups})
		}
	}
	return h
}
