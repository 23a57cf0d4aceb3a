package cli

import (
	"strings"

	"github.com/spf13/cobra"

	"dropwalk/advice/power"
	"dropwalk/engine/quantity"
)

// engineOptions declares what of the engine the power depends on.
func engineOptions(cmd *cobra.Command) {
	textOptions(cmd, "fuel", "`fuel`: petrol or diesel", "induction", "`induction`: natural, turbo or supercharged")
}

func (o *options) engine() power.Engine {
	for _, name := range []string{"fuel", "induction"} {
		if !o.given(name) {
			o.refuse("it goes: "+o.cmd.Example, "%s needs --%s", strings.TrimPrefix(o.cmd.CommandPath(), program+" "), name)
		}
	}
	return power.Engine{
		Fuel:      o.word("fuel", "petrol", "diesel"),
		Induction: o.word("induction", "natural", "turbo", "supercharged"),
	}
}

func (a *app) calcPower() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "power",
		Short: "what a change of loss is worth in power",
		Long: "--before and --after are the losses of the path before and after a change, each at the flow that then passes. " +
			"The answer is negative where more is lost after. It has no figure where the pressure at the engine would leave 60 to 115 kPa.",
		Example: `dropwalk calc power --fuel petrol --induction natural --pressure "99 kPa" --before "2.5 kPa" --after "0 kPa"`,
	}
	engineOptions(cmd)
	textOptions(cmd,
		"boost-control", "`what` the boost control holds: absolute, ratio or unknown",
		"pressure", "absolute `pressure` of the open air",
		"before", "`loss` before the change",
		"after", "`loss` after the change; nought where not stated")
	return a.calculation(cmd, func(in *options) (answer, error) {
		e := in.engine()
		e.BoostControl = in.word("boost-control", "absolute", "ratio", "unknown")
		open := in.need("pressure", quantity.Pressure, "", barometer)
		losses := span{0, 100e3}
		before := in.need("before", quantity.PressureDiff, "", losses)
		after := in.amount("after", quantity.PressureDiff, "", losses, 0)
		gain := e.Gain(open, before, after)
		type object struct {
			Percent *banded  `json:"power_percent"`
			Note    string   `json:"note,omitempty"`
			Sources []string `json:"sources"`
		}
		r := answer{sources: []string{"Dziubak & Karczewski, Energies 15 (2022) 3285 (published averages)"}}
		if e.Fuel != "diesel" {
			r.sources = append([]string{"ISO 1585 and UN R85 (spark ignition, exponent 1.2)"}, r.sources...)
		}
		if !gain.Known {
			r.object = object{nil, gain.Note, r.sources}
			r.say("power: unknown, because %s", gain.Note)
			return r, nil
		}
		r.object = object{&banded{gain.Percent.Median, gain.Percent.Low, gain.Percent.High}, "", r.sources}
		r.say("power: %+.2f %% (between %+.2f and %+.2f %%)", gain.Percent.Median, gain.Percent.Low, gain.Percent.High)
		r.say("rests on: %s", gain.Note)
		return r, nil
	})
}

func (a *app) calcCorrection() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "correction",
		Short: "factor from measured power to power in reference air",
		Long: "Corrected power is measured power times the factor. Diesel needs --fuel-per-cycle: fuel in mg for each litre of displacement and " +
			"working cycle, divided by the ratio of boost pressure to the open air (1 without boost).",
		Example: `dropwalk calc correction --fuel petrol --induction natural --dry-pressure "97 kPa" --temperature "308 K"`,
	}
	engineOptions(cmd)
	textOptions(cmd,
		"dry-pressure", "absolute `pressure` of the air less that of its water vapour",
		"temperature", "`temperature` of the air",
		"fuel-per-cycle", "`fuel` for a litre and a cycle, in mg/L; diesel only")
	return a.calculation(cmd, func(in *options) (answer, error) {
		e := in.engine()
		dry := in.need("dry-pressure", quantity.Pressure, "", barometer)
		t := in.need("temperature", quantity.Temperature, "", weather)
		type object struct {
			Factor  float64  `json:"factor"`
			Sources []string `json:"sources"`
		}
		r := answer{sources: []string{"ISO 1585 / UN R85 Annex 5 (form of EEC 80/1269)"}}
		found, accepted := power.SparkCorrection(dry, t), false
		if e.Fuel == "diesel" {
			found = power.DieselCorrection(power.DieselAir(dry, t, e.Induction == "turbo"), power.EngineFactor(in.fuelling()))
			accepted = power.ValidDiesel(found)
		} else {
			accepted = power.ValidSpark(found)
			if in.given("fuel-per-cycle") {
				in.refuse("leave it out", "--fuel-per-cycle is for diesel")
			}
		}
		r.object = object{found, r.sources}
		r.say("factor: %s", plain(found))
		if !accepted || !power.ValidAir(dry, t) {
			r.say("outside the range in which UN R85 accepts a test")
		}
		return r, nil
	})
}

// fuelling is --fuel-per-cycle in mg/L.
func (o *options) fuelling() float64 {
	const name = "fuel-per-cycle"
	if !o.given(name) {
		o.refuse(`such as --fuel-per-cycle "54 mg/L"`, "calc correction needs --%s for diesel", name)
		return 0
	}
	raw, _ := o.cmd.Flags().GetString(name)
	number, unit := strings.TrimSpace(raw), ""
	if i := strings.IndexFunc(number, func(r rune) bool { return r >= 'A' }); i >= 0 {
		number, unit = strings.TrimSpace(number[:i]), strings.ToLower(strings.ReplaceAll(number[i:], " ", ""))
	}
	v, err := readQuantity(number, quantity.Number, "")
	if err != nil || unit != "mg/l" && unit != "mg/(lcycle)" || v < 0 || v > 1000 {
		o.refuse(`such as "54 mg/L"`, "--%s: %q is no amount of fuel for a litre and a cycle", name, raw)
		return 0
	}
	return v
}

func (a *app) calcSpeed() *cobra.Command {
	cmd := &cobra.Command{
		Use:     "speed",
		Short:   "road speed at an engine speed",
		Example: `dropwalk calc speed --rpm 6000 --speed-per-1000 "14 km/h"`,
	}
	textOptions(cmd, "rpm", "engine `speed`", "speed-per-1000", "road `speed` for 1000 rpm in the gear that is in")
	return a.calculation(cmd, func(in *options) (answer, error) {
		rpm := in.need("rpm", quantity.Rotation, "rpm", speeds)
		each := in.need("speed-per-1000", quantity.SpeedPer1000, "", span{0, 100})
		r := answer{sources: []string{"proportion; no slip of tyre or converter counted"}}
		found := each * rpm / 1000
		r.object = struct {
			Speed   float64  `json:"speed_km_h"`
			Sources []string `json:"sources"`
		}{3.6 * found, r.sources}
		r.say("road speed: %s", in.showAs("speed-per-1000", found, quantity.Speed))
		return r, nil
	})
}
