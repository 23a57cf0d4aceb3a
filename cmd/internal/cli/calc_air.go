package cli

import (
	"github.com/spf13/cobra"

	"dropwalk/advice/air"
	"dropwalk/advice/power"
	"dropwalk/engine/quantity"
)

const (
	sourceDensity   = "CIPM-2007: Picard, Davis, Glaser, Fujii, Metrologia 45 (2008) 149"
	sourceViscosity = "US Standard Atmosphere 1976, Sutherland's form"
	sourceStated    = "air density as stated"
	sourceHead      = "0.5 rho V^2 (Bernoulli)"
)

// airOptions declares the ways to state the air.
func airOptions(cmd *cobra.Command) {
	textOptions(cmd,
		"temperature", "`temperature` of the air",
		"pressure", "absolute `pressure` of the air, not reduced to sea level",
		"humidity", "relative `humidity`; dry where not stated")
}

// densityOptions declares the air by its density, or by what makes it.
func densityOptions(cmd *cobra.Command) {
	textOptions(cmd, "air-density", "`density` of the air, in place of its temperature, pressure and humidity")
	airOptions(cmd)
}

// state is the air by its three options; what isn't given is that of otherwise.
func (o *options) state(otherwise air.State) air.State {
	return air.State{
		Temperature: o.amount("temperature", quantity.Temperature, "", weather, otherwise.Temperature),
		Pressure:    o.amount("pressure", quantity.Pressure, "", barometer, otherwise.Pressure),
		Humidity:    o.amount("humidity", quantity.Share, "%", shares, 0),
	}
}

// density is the density and viscosity of the air: as stated, from the three
// options, or of the reference air.
func (o *options) density() (gas air.Gas, sources []string) {
	state := o.state(air.Reference)
	gas = state.Gas()
	if !o.given("air-density") {
		return gas, []string{sourceDensity}
	}
	if o.given("pressure") || o.given("humidity") {
		o.refuse("leave out --pressure and --humidity; they only serve to work the density out", "the air is stated twice")
	}
	gas.Density = o.amount("air-density", quantity.Density, "", airWeight, gas.Density)
	return gas, []string{sourceStated}
}

func (a *app) calcAir() *cobra.Command {
	cmd := &cobra.Command{
		Use:     "air",
		Short:   "density, dry pressure and viscosity of moist air",
		Example: `dropwalk calc air --temperature "20 C" --pressure "101.325 kPa" --humidity "50 %"`,
	}
	airOptions(cmd)
	return a.calculation(cmd, func(in *options) (answer, error) {
		in.need("temperature", quantity.Temperature, "", weather)
		in.need("pressure", quantity.Pressure, "", barometer)
		s := in.state(air.Reference)
		type object struct {
			Density    float64  `json:"density_kg_m3"`
			Dry        float64  `json:"dry_pressure_pa"`
			Saturation float64  `json:"saturation_pressure_pa"`
			Viscosity  float64  `json:"viscosity_pa_s"`
			Sources    []string `json:"sources"`
		}
		r := answer{sources: []string{sourceDensity, sourceViscosity}}
		found := object{s.Density(), s.DryPressure(), air.Saturation(s.Temperature), air.Viscosity(s.Temperature), r.sources}
		r.object = found
		r.say("density: %s kg/m3", plain(found.Density))
		r.say("dry pressure: %s", in.show(found.Dry, quantity.Pressure))
		r.say("saturation pressure of water: %s", in.show(found.Saturation, quantity.Pressure))
		r.say("viscosity: %s Pa s", plain(found.Viscosity))
		return r, nil
	})
}

func (a *app) calcFlow() *cobra.Command {
	cmd := &cobra.Command{
		Use:     "flow",
		Short:   "air that an engine draws",
		Long:    "Without --air-density or the three options of the air, the reference air of ISO 1585 is meant: 25 C, 99 kPa, dry. For a boosted engine state the air in its intake manifold.",
		Example: `dropwalk calc flow --displacement "2.0 L" --rpm 6000 --ve "90 %" --air-density "1.1842 kg/m3"`,
	}
	textOptions(cmd,
		"displacement", "swept `volume` of all cylinders",
		"rpm", "engine `speed`",
		"ve", "volumetric efficiency, a `share`",
		"strokes", "`number` of strokes of a cycle, 4 or 2; 4 where not stated")
	densityOptions(cmd)
	return a.calculation(cmd, func(in *options) (answer, error) {
		swept := in.need("displacement", quantity.Volume, "", span{1e-6, 1})
		rpm := in.need("rpm", quantity.Rotation, "rpm", speeds)
		ve := in.need("ve", quantity.Share, "%", span{0.05, 4})
		gas, sources := in.density()
		strokes := 4
		if in.word("strokes", "4", "2") == "2" {
			strokes = 2
		}
		type object struct {
			Mass    float64  `json:"mass_flow_g_s"`
			Volume  float64  `json:"volume_flow_m3_h"`
			Sources []string `json:"sources"`
		}
		mass := power.MassFlow(ve, gas.Density, swept, rpm, strokes)
		r := answer{sources: append([]string{"speed-density: Heywood, Internal Combustion Engine Fundamentals, chapter 2 (from memory)"}, sources...)}
		r.object = object{1000 * mass, 3600 * mass / gas.Density, r.sources}
		r.say("mass flow: %s", in.show(mass, quantity.MassFlow))
		r.say("volume flow: %s", in.show(mass/gas.Density, quantity.VolumeFlow))
		return r, nil
	})
}

func (a *app) calcColumn() *cobra.Command {
	cmd := &cobra.Command{
		Use:     "column",
		Short:   "pressure of a column of water, as in a U-tube",
		Example: `dropwalk calc column --height "100 mm" --water-temperature "20 C"`,
	}
	textOptions(cmd, "height", "`height` from one level to the other", "water-temperature", "`temperature` of the water, 0 to 40 C; 20 C where not stated")
	return a.calculation(cmd, func(in *options) (answer, error) {
		height := in.need("height", quantity.Length, "", span{0, 100})
		t := in.amount("water-temperature", quantity.Temperature, "", span{air.Zero, air.Zero + 40}, air.Zero+20)
		found := air.Column(air.Water(t), height)
		return single(in, found, quantity.PressureDiff, "pressure",
			"water density: Tanaka et al., Metrologia 38 (2001) 301", "standard gravity 9.80665 m/s2"), nil
	})
}

func (a *app) calcRam() *cobra.Command {
	cmd := &cobra.Command{
		Use:     "ram",
		Short:   "pressure of the road wind at a stagnation point",
		Long:    "The most that a mouth facing the wind can gain. Without --air-density or the three options of the air, the reference air of ISO 1585 is meant: 25 C, 99 kPa, dry.",
		Example: `dropwalk calc ram --speed "100 km/h" --air-density "1.225 kg/m3"`,
	}
	textOptions(cmd, "speed", "road `speed`")
	densityOptions(cmd)
	return a.calculation(cmd, func(in *options) (answer, error) {
		speed := in.need("speed", quantity.Speed, "", span{0, 150})
		gas, sources := in.density()
		return single(in, air.VelocityHead(gas.Density, speed), quantity.PressureDiff, "ram pressure", append([]string{sourceHead}, sources...)...), nil
	})
}

// single is the answer where a pressure is all that was asked for.
func single(in *options, found float64, kind quantity.Kind, name string, sources ...string) answer {
	r := answer{sources: sources}
	r.object = struct {
		Pressure float64  `json:"pressure_pa"`
		Sources  []string `json:"sources"`
	}{found, sources}
	r.say("%s: %s", name, in.show(found, kind))
	return r
}
