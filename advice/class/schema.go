package class

import (
	"fmt"
	"math"

	"dropwalk/advice/compare"
	"dropwalk/engine/strictyaml"
)

// Schema is the JSON Schema of a class, draft 7.
func Schema() []byte {
	return shape.Schema("class-1.schema.json", "How well the groups of a class agree that measured one car, version 1")
}

// Bounds of texts.
const (
	nameLength = 64
	textLength = 4000
)

var (
	anything = strictyaml.Number(math.Inf(-1), math.Inf(1))
	positive = strictyaml.Number(0, math.Inf(1))
	count    = strictyaml.Whole(0, math.MaxInt32)
	maybe    = strictyaml.OrNull(positive)
	named    = strictyaml.Text(nameLength)
	words    = func() *strictyaml.Shape { return strictyaml.Prose(textLength).OrEmpty() }
	code     = strictyaml.Text(nameLength).With(map[string]any{"type": "string", "pattern": "^[a-z]+(-[a-z]+)*$"})
	level    = strictyaml.Words("", Straggler, Outlier)
	critical = strictyaml.OrNull(strictyaml.Keys(
		strictyaml.Need("straggler", positive, "at 5 %"),
		strictyaml.Need("outlier", positive, "at 1 %"),
	))
)

var station = strictyaml.Keys(
	strictyaml.Need("from", named, "upstream station"),
	strictyaml.Need("to", named, "downstream station"),
	strictyaml.Need("groups", count, "groups that read the pair"),
	strictyaml.Need("runs", count, "runs of all of them"),
	strictyaml.Need("mean_pa", anything, "mean of all runs at the reference point, Pa"),
	strictyaml.Need("s_r_pa", maybe, "standard deviation of the runs of one group (ISO 5725-2: repeatability), Pa; null where no group has two runs"),
	strictyaml.Need("s_L_pa", maybe, "standard deviation that groups have beyond that of their runs, Pa; null of fewer than three groups"),
	strictyaml.Need("s_R_pa", maybe, "standard deviation of one run of any group (reproducibility), Pa"),
	strictyaml.Need("cochran", maybe, "Cochran's C: the largest share of one group in the sum of squares"),
	strictyaml.Need("grubbs", maybe, "Grubbs' G: the mean farthest from the mean of the means, in their standard deviations"),
	strictyaml.Need("flags", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("code", code, "what stands out; more may come with later releases, none changes its name"),
		strictyaml.Need("group", strictyaml.Text(nameLength).OrEmpty(), "who stands out; empty where it concerns the pair"),
		strictyaml.Need("level", level, "straggler beyond the limit of 5 %, outlier beyond that of 1 %"),
	), 0), "what stands out; nothing is left out for it"),
	strictyaml.Need("limit_r_pa", maybe, "two runs of one group differ by more in one case of twenty: 2.8 s_r, Pa"),
	strictyaml.Need("limit_R_pa", maybe, "two runs of two groups differ by more in one case of twenty: 2.8 s_R, Pa"),
	strictyaml.Need("s_L_below_nought", strictyaml.Truth(), "the groups differ by less than their runs explain, and s_L is set to nought"),
	strictyaml.Need("s_L_freedom", maybe, "degrees of freedom of s_L"),
	strictyaml.Need("f", maybe, "mean square between the groups over that within them"),
	strictyaml.Need("cochran_limits", critical, "critical values of C for the group that it is of"),
	strictyaml.Need("grubbs_limits", critical, "critical values of G, two-sided"),
	strictyaml.Need("median_pa", anything, "median of the groups' means, Pa"),
	strictyaml.Need("mad_pa", positive, "median distance from it, as a standard deviation; at least what runs explain, Pa"),
	strictyaml.Need("interval_pa", strictyaml.OrNull(strictyaml.Keys(
		strictyaml.Need("low", anything, "2.5 in 100 lie below"),
		strictyaml.Need("high", anything, "2.5 in 100 lie above"),
	)), "95 % interval of the mean of the groups' means, Pa"),
	strictyaml.Need("by_group", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("group", named, "the group"),
		strictyaml.Need("runs", count, "its runs"),
		strictyaml.Need("mean_pa", anything, "their mean, Pa"),
		strictyaml.Need("sd_pa", maybe, "their standard deviation, Pa"),
		strictyaml.Need("from_median_pa", anything, "their mean less median_pa"),
		strictyaml.Need("from_median_mads", strictyaml.OrNull(anything), "the same in units of mad_pa"),
		strictyaml.Need("h", strictyaml.OrNull(anything), "Mandel's h"),
		strictyaml.Need("k", maybe, "Mandel's k"),
		strictyaml.Need("values_pa", strictyaml.ListOf(anything, 0), "its runs, Pa"),
	), 0), "the groups one by one"),
	strictyaml.Key{Name: "mad_is_floor", Shape: strictyaml.Truth(), Doc: "the groups lie closer than their runs explain, and mad_pa is what runs explain"},
	strictyaml.Key{Name: "without", Shape: strictyaml.OrNull(strictyaml.Keys(
		strictyaml.Need("group", named, "the group that is left out here, and here alone"),
		strictyaml.Need("s_r_pa", positive, "as above, of the others, Pa"),
		strictyaml.Need("s_L_pa", positive, "as above, of the others, Pa"),
		strictyaml.Need("s_R_pa", positive, "as above, of the others, Pa"),
		strictyaml.Need("f", positive, "as above, of the others"),
		strictyaml.Need("p", strictyaml.Number(0, 1), "chance of an f so large where groups don't differ"),
	)), Doc: "what the others say where the runs of one group scatter more (Cochran); information, no figure above leaves it out; null for none"},
).Named("station").Called("a pair of stations")

var shape = strictyaml.Keys(
	strictyaml.Need("class", strictyaml.Whole(Version, Version).Called("1"), "version of the format"),
	strictyaml.Need("stations", strictyaml.ListOf(station, 0), "pairs of stations that two groups or more read, in the order of the path"),
	strictyaml.Need("car", words(), "name of the car"),
	strictyaml.Need("groups", strictyaml.ListOf(named, 0), "the groups"),
	strictyaml.Need("reference", strictyaml.Keys(
		strictyaml.Need("rpm", positive, "engine speed"),
		strictyaml.Need("air_density_kg_m3", positive, "density of the air, kg/m3"),
	), "the point at which all is compared"),
	strictyaml.Need("taps", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("group", named, "the group"),
		strictyaml.Need("stations", strictyaml.ListOf(named, 1), "the tap, or taps that can't be told apart"),
		strictyaml.Need("off_pa", anything, "what it reads more than its other readings let expect, Pa"),
		strictyaml.Need("level", level, "how far it stands out"),
	), 0), "what points to a bad tap of one group"),
	strictyaml.Need("askew", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("group", named, "the group"),
		strictyaml.Need("share", anything, "0.06: where the class reads most, it reads 6 % more, and elsewhere likewise"),
	), 0), "groups that are off all over"),
	strictyaml.Need("across", strictyaml.OrNull(strictyaml.Keys(
		strictyaml.Need("f", positive, "mean square of the interaction over that of the runs"),
		strictyaml.Need("freedom_above", positive, "degrees of freedom of the first"),
		strictyaml.Need("freedom_below", positive, "and of the second"),
		strictyaml.Need("p", strictyaml.Number(0, 1), "chance of one so large where no tap differs from group to group"),
	)), "station by group; null where a group lacks a pair, or too few are there"),
	strictyaml.Need("notes", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("code", code, "what kind of note; more may come with later releases, none changes its name"),
		strictyaml.Need("text", words(), "the note in words"),
	), 0), "what the reader should know"),
	strictyaml.Need("hand_ins", strictyaml.ListOf(strictyaml.Keys(
		strictyaml.Need("file", strictyaml.Text(textLength), "where it lies"),
		strictyaml.Need("group", words(), "whose it is; empty where it can't be told"),
		strictyaml.Need("record", words(), "the record in it"),
		strictyaml.Need("code", words(), "its code, as on paper"),
		strictyaml.Need("counts", strictyaml.Truth(), "its readings are among those above"),
		strictyaml.Need("remarks", strictyaml.ListOf(strictyaml.Keys(
			strictyaml.Need("code", code, "what is said of it; more may come with later releases, none changes its name"),
			strictyaml.Need("text", words(), "the remark in words"),
		), 0), "what is said of it; nothing of a sound one"),
	), 0), "what came in"),
	strictyaml.Need("missing", strictyaml.ListOf(named, 0), "groups of which nothing counts"),
).Called("a class")

// Check holds one JSON object against the schema.
func Check(file string, src []byte) strictyaml.Faults {
	return shape.CheckJSON(file, src)
}

// ReadRefits takes from the JSON of a class what its groups scatter by, for compare.
// It asks for the keys that it needs and passes over all others, so that documents of
// later releases serve as well.
func ReadRefits(file string, src []byte) (*compare.History, strictyaml.Faults) {
	n, faults := strictyaml.ParseJSON(file, src, 1)
	if n == nil {
		return nil, faults
	}
	r := &strictyaml.Report{File: file, Faults: faults}
	if v := n.Get("class"); n.Kind != strictyaml.Map || v == nil || v.Str() != fmt.Sprint(Version) {
		r.At(n, "no summary of a class", fmt.Sprintf(`an object that begins with {"class": %d`, Version), "dropwalk class summary DIR --json prints one")
		return nil, r.Faults
	}
	list := n.Get("stations")
	if list == nil || list.Kind != strictyaml.List {
		r.AtKey(n, "stations", "no list of stations", "a list", "")
		return nil, r.Faults
	}
	h := &compare.History{}
	taps := badTaps(n.Get("taps"))
	for _, s := range list.Items {
		sd := s.Get("s_L_pa")
		if sd == nil || sd.Kind == strictyaml.Null {
			continue
		}
		groups := s.Get("groups")
		from, to := s.Get("from").Str(), s.Get("to").Str()
		if from == "" || to == "" || !isNumber(sd) || sd.Float() < 0 || !isNumber(groups) {
			r.At(s, "this pair can't be read", "from, to, groups and s_L_pa, the last no less than 0", "")
			continue
		}
		f := compare.Fitted{From: from, To: to, SD: sd.Float(), Freedom: max(groups.Float()-1, 1), Visits: groups.Int()}
		if own := s.Get("s_L_freedom"); isNumber(own) && own.Float() > 0 {
			f.Freedom = own.Float()
		}
		for _, tap := range taps {
			if tap.Station == from || tap.Station == to {
				f.Taps = append(f.Taps, tap)
			}
		}
		h.Spans = append(h.Spans, f)
	}
	if len(r.Faults) == 0 && len(h.Spans) == 0 {
		r.At(list, "this class doesn't tell how far its groups scatter", "a pair with s_L_pa: three groups or more, each with two runs", "")
	}
	return h, r.Faults
}

// badTaps are what a class flags as bad taps, none where it doesn't say.
func badTaps(list *strictyaml.Node) []compare.BadTap {
	if list == nil || list.Kind != strictyaml.List {
		return nil
	}
	var out []compare.BadTap
	for _, t := range list.Items {
		for _, station := range t.Get("stations").Strs() {
			out = append(out, compare.BadTap{Group: t.Get("group").Str(), Station: station})
		}
	}
	return out
}

func isNumber(n *strictyaml.Node) bool {
	return n != nil && n.Kind == strictyaml.Scalar && (n.Type == strictyaml.Int || n.Type == strictyaml.Float)
}
