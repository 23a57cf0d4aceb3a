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
	listOf   = func(keys ...strictyaml.Key) *strictyaml.Shape { return strictyaml.ListOf(strictyaml.Keys(keys...), 0) }
	estimate = strictyaml.Keys(
		strictyaml.Need("median", anyNumber, "the best single value"),
		strictyaml.Need("low", anyNumber, "lower end of the interval of 95 %"),
		strictyaml.Need("high", anyNumber, "upper end of the interval of 95 %"),
	).Named("estimate")
)

func roleNames() []string {
	var list []string
	for _, r := range append(Roles(), NoRole) {
		list = append(list, string(r))
	}
	return list
}

var channelKeys = listOf(
	strictyaml.Need("name", called, "name in the head of the table"),
	strictyaml.Need("role", strictyaml.Words(roleNames()...), "what it tells"),
	strictyaml.Need("unit", called, "its unit, empty where nobody says"),
	strictyaml.Need("refresh_s", strictyaml.OrNull(positive), "seconds from one fresh value to the next while it moves; null where it moves too seldom to tell"),
	strictyaml.Need("by", strictyaml.OneOf(strictyaml.Words(ByUser, ByName, ByBehaviour), strictyaml.Text(1).OrEmpty()), "how the role was found: named by the user, by the name, by behaviour; empty without a role"),
)

var foundKeys = listOf(
	strictyaml.Need("start_s", anyNumber, "seconds from the first row"),
	strictyaml.Need("end_s", anyNumber, "seconds from the first row"),
	strictyaml.Need("start", called, "the same in the recorder's own time"),
	strictyaml.Need("rpm_low", positive, "first fresh engine speed"),
	strictyaml.Need("rpm_high", positive, "last fresh engine speed"),
	strictyaml.Need("rpm_per_kmh", strictyaml.OrNull(positive), "engine speed over road speed in km/h; null without road speed"),
	strictyaml.Need("gear", strictyaml.OrNull(strictyaml.Whole(1, 99)), "number of the gear, counted from the highest ratio in this log; null where it fits none"),
	strictyaml.Need("samples", count, "fresh samples of engine speed"),
	strictyaml.Need("flow", strictyaml.OrNull(estimate), "air flow at the reference engine speed, in the unit of its channel"),
	strictyaml.Need("doubtful", called, "why it may be no full load; empty if it surely is"),
)

var readingKeys = listOf(
	strictyaml.Need("pull", strictyaml.Whole(1, math.MaxInt32), "number of the pull, from 1, in the order of found"),
	strictyaml.Need("name", called, "channel of the gauge"),
	strictyaml.Need("rpm", positive, "engine speed at which it is read"),
	strictyaml.Need("pa", estimate, "pressure below that without flow, Pa"),
	strictyaml.Need("exponent", estimate, "of pressure over engine speed"),
	strictyaml.Need("samples", count, "fresh samples that the curve goes through"),
	strictyaml.Need("spikes", count, "samples left out because they lie far off"),
	strictyaml.Need("clipped", count, "samples left out at the end of the gauge's range"),
	strictyaml.Need("outside", strictyaml.Truth(), "the engine speed lies outside what was driven"),
	strictyaml.Need("doubtful", called, "why it is doubtful; empty if not"),
)

var resultShape = strictyaml.Keys(
	strictyaml.Need("pulls", strictyaml.Whole(Version, Version).Called("1"), "version of the format"),
	strictyaml.Need("file", called, "name of the log"),
	strictyaml.Need("rows", count, "rows with a time"),
	strictyaml.Need("seconds", anyNumber, "from the first row to the last"),
	strictyaml.Need("channels", channelKeys, "the columns of numbers"),
	strictyaml.Need("rejected", listOf(strictyaml.Need("name", called, "name of the channel"), strictyaml.Need("reason", called, "why it can't tell what its name says")), "channels that were left out"),
	strictyaml.Need("gears", listOf(
		strictyaml.Need("gear", strictyaml.Whole(1, 99), "counted from the highest ratio in this log"),
		strictyaml.Need("rpm_per_kmh", positive, "its ratio"),
		strictyaml.Need("seconds", positive, "how long it was in, about"),
	), "ratios that the log holds"),
	strictyaml.Need("skew", listOf(
		strictyaml.Need("name", called, "channel"),
		strictyaml.Need("read_after_s", strictyaml.OrNull(anyNumber), "when its samples are taken, after those of engine speed; null where there is no fixed order"),
		strictyaml.Need("lag_s", strictyaml.OrNull(anyNumber), "by how much its signal comes after that of against; null where that can't be told"),
		strictyaml.Need("against", called, "channel, empty without a lag"),
	), "how far channels are apart in time"),
	strictyaml.Need("zeros", listOf(
		strictyaml.Need("name", called, "channel of a gauge"),
		strictyaml.Need("pa", anyNumber, "what it shows without flow, Pa"),
		strictyaml.Need("spread_pa", positive, "one standard deviation of a sample, Pa"),
		strictyaml.Need("from", strictyaml.Words(ZeroOff, ZeroIdle, ZeroFlow, ZeroNone), "where the zero was taken"),
	), "zeros of the gauges"),
	strictyaml.Need("pairs", listOf(
		strictyaml.Need("first", called, "channel"),
		strictyaml.Need("second", called, "channel"),
		strictyaml.Need("ratio", anyNumber, "second over first, after zeroing"),
		strictyaml.Need("zero_pa", anyNumber, "zero of the second less that of the first, Pa"),
		strictyaml.Need("scatter_pa", positive, "one standard deviation about the ratio, Pa"),
		strictyaml.Need("disagree", strictyaml.Truth(), "they differ by more than two honest gauges"),
	), "gauges that seem to be on one place"),
	strictyaml.Need("found", foundKeys, "the full-load pulls"),
	strictyaml.Need("nearly", listOf(
		strictyaml.Need("start_s", anyNumber, "seconds from the first row"),
		strictyaml.Need("end_s", anyNumber, "seconds from the first row"),
		strictyaml.Need("rpm_low", positive, "first fresh engine speed"),
		strictyaml.Need("rpm_high", positive, "last fresh engine speed"),
		strictyaml.Need("lacks", called, "what it lacks"),
	), "stretches that are nearly pulls"),
	strictyaml.Need("reference_rpm", positive, "engine speed of the readings; 0 where there is none"),
	strictyaml.Need("readings", readingKeys, "a reading for each pull and gauge"),
	strictyaml.Need("fits", listOf(
		strictyaml.Need("name", called, "channel of a gauge"),
		strictyaml.Need("over", called, "channel of air flow"),
		strictyaml.Need("exponent", estimate, "of pressure over air flow"),
		strictyaml.Need("samples", count, "samples that the curve goes through"),
	), "pressure over air flow"),
	strictyaml.Need("notes", strictyaml.ListOf(called, 0), "what a person should know"),
).Called("what a log holds")
