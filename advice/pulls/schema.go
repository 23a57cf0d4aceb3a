package pulls

import (
	"math"

	"dropwalk/engine/strictyaml"
)

// Schema is the JSON Schema of a Result, draft 7.
func Schema() []byte {
	return resultShape.Schema("pulls-1.schema.json", "Full-load pulls in a recorder's log, version 1")
}

var (
	anyNumber = strictyaml.Number(math.Inf(-1), math.Inf(1))
	positive  = strictyaml.Number(0, math.Inf(1))
	count     = strictyaml.Whole(0, math.MaxInt32)
	// What a recorder calls its channels can be of any length and may be nothing.
	called   = strictyaml.Prose(10_000).OrEmpty()
	orNull   = func(s *strictyaml.Shape) *strictyaml.Shape { return strictyaml.OneOf(strictyaml.Nothing(), s) }
	listOf   = func(keys ...strictyaml.Key) *strictyaml.Shape { return strictyaml.ListOf(strictyaml.Keys(keys...), 0) }
	estimate = strictyaml.Keys(
		need("median", anyNumber, "the best single value"),
		need("low", anyNumber, "lower end of the interval of 95 %"),
		need("high", anyNumber, "upper end of the interval of 95 %"),
	).Named("estimate")
)

func need(name string, s *strictyaml.Shape, doc string) strictyaml.Key {
	return strictyaml.Key{Name: name, Shape: s, Required: true, Doc: doc}
}

func roleNames() []string {
	var list []string
	for _, r := range append(Roles(), NoRole) {
		list = append(list, string(r))
	}
	return list
}

var channelKeys = listOf(
	need("name", called, "name in the head of the table"),
	need("role", strictyaml.Words(roleNames()...), "what it tells"),
	need("unit", called, "its unit, empty where nobody says"),
	need("refresh_s", orNull(positive), "seconds from one fresh value to the next while it moves; null where it moves too seldom to tell"),
	need("by", strictyaml.OneOf(strictyaml.Words(ByUser, ByName, ByBehaviour), strictyaml.Text(1).OrEmpty()), "how the role was found: named by the user, by the name, by behaviour; empty without a role"),
)

var foundKeys = listOf(
	need("start_s", anyNumber, "seconds from the first row"),
	need("end_s", anyNumber, "seconds from the first row"),
	need("start", called, "the same in the recorder's own time"),
	need("rpm_low", positive, "first fresh engine speed"),
	need("rpm_high", positive, "last fresh engine speed"),
	need("rpm_per_kmh", orNull(positive), "engine speed over road speed in km/h; null without road speed"),
	need("gear", orNull(strictyaml.Whole(1, 99)), "number of the gear, counted from the highest ratio in this log; null where it fits none"),
	need("samples", count, "fresh samples of engine speed"),
	need("flow", orNull(estimate), "air flow at the reference engine speed, in the unit of its channel"),
	need("doubtful", called, "why it may be no full load; empty if it surely is"),
)

var readingKeys = listOf(
	need("pull", strictyaml.Whole(1, math.MaxInt32), "number of the pull, from 1, in the order of found"),
	need("name", called, "channel of the gauge"),
	need("rpm", positive, "engine speed at which it is read"),
	need("pa", estimate, "pressure below that without flow, Pa"),
	need("exponent", estimate, "of pressure over engine speed"),
	need("samples", count, "fresh samples that the curve goes through"),
	need("spikes", count, "samples left out because they lie far off"),
	need("clipped", count, "samples left out at the end of the gauge's range"),
	need("outside", strictyaml.Truth(), "the engine speed lies outside what was driven"),
	need("doubtful", called, "why it is doubtful; empty if not"),
)

var resultShape = strictyaml.Keys(
	need("pulls", strictyaml.Whole(Version, Version).Called("1"), "version of the format"),
	need("file", called, "name of the log"),
	need("rows", count, "rows with a time"),
	need("seconds", anyNumber, "from the first row to the last"),
	need("channels", channelKeys, "the columns of numbers"),
	need("rejected", listOf(need("name", called, "name of the channel"), need("reason", called, "why it can't tell what its name says")), "channels that were left out"),
	need("gears", listOf(
		need("gear", strictyaml.Whole(1, 99), "counted from the highest ratio in this log"),
		need("rpm_per_kmh", positive, "its ratio"),
		need("seconds", positive, "how long it was in, about"),
	), "ratios that the log holds"),
	need("skew", listOf(
		need("name", called, "channel"),
		need("read_after_s", orNull(anyNumber), "when its samples are taken, after those of engine speed; null where there is no fixed order"),
		need("lag_s", orNull(anyNumber), "by how much its signal comes after that of against; null where that can't be told"),
		need("against", called, "channel, empty without a lag"),
	), "how far channels are apart in time"),
	need("zeros", listOf(
		need("name", called, "channel of a gauge"),
		need("pa", anyNumber, "what it shows without flow, Pa"),
		need("spread_pa", positive, "one standard deviation of a sample, Pa"),
		need("from", strictyaml.Words(ZeroOff, ZeroIdle, ZeroFlow, ZeroNone), "where the zero was taken"),
	), "zeros of the gauges"),
	need("pairs", listOf(
		need("first", called, "channel"),
		need("second", called, "channel"),
		need("ratio", anyNumber, "second over first, after zeroing"),
		need("zero_pa", anyNumber, "zero of the second less that of the first, Pa"),
		need("scatter_pa", positive, "one standard deviation about the ratio, Pa"),
		need("disagree", strictyaml.Truth(), "they differ by more than two honest gauges"),
	), "gauges that seem to be on one place"),
	need("found", foundKeys, "the full-load pulls"),
	need("nearly", listOf(
		need("start_s", anyNumber, "seconds from the first row"),
		need("end_s", anyNumber, "seconds from the first row"),
		need("rpm_low", positive, "first fresh engine speed"),
		need("rpm_high", positive, "last fresh engine speed"),
		need("lacks", called, "what it lacks"),
	), "stretches that are nearly pulls"),
	need("reference_rpm", positive, "engine speed of the readings; 0 where there is none"),
	need("readings", readingKeys, "a reading for each pull and gauge"),
	need("fits", listOf(
		need("name", called, "channel of a gauge"),
		need("over", called, "channel of air flow"),
		need("exponent", estimate, "of pressure over air flow"),
		need("samples", count, "samples that the curve goes through"),
	), "pressure over air flow"),
	need("notes", strictyaml.ListOf(called, 0), "what a person should know"),
).Called("what a log holds")
