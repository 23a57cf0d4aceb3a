package air_test

import (
	"testing"

	"dropwalk/advice/air"
	"dropwalk/advice/internal/published"
)

func celsius(t float64) float64 { return t + air.Zero }

func TestMoistAir(t *testing.T) {
	at := func(p, c, rh float64) air.State {
		return air.State{Temperature: celsius(c), Pressure: p, Humidity: rh}
	}
	half, dry := at(101325, 20, 0.5), at(101325, 20, 0)
	got := published.Got
	published.Check(t, "flow/air.csv", map[string]published.Case{
		"A01": got(half.Density()),
		"A03": got(at(101325, 15, 0).Density()),
		"A06": got(air.Reference.Density()),
		"A07": got(at(95000, 35, 0.6).Density()),
		"A08": got(half.Compressibility()),
		"A10": got(half.DensityIdeal()),
		"A11": got(half.DensityOIML()),
		"A12": got(air.Saturation(celsius(0))),
		"A13": got(air.Saturation(celsius(10))),
		"A14": got(air.Saturation(celsius(20))),
		"A15": got(air.Saturation(celsius(25))),
		"A16": got(air.Saturation(celsius(30))),
		"A17": got(air.Saturation(celsius(40))),
		"A18": got(air.SaturationMagnus(celsius(20))),
		"A21": got(100 * (half.Density()/dry.Density() - 1)),
	}, nil)
}

func TestStandardAtmosphere(t *testing.T) {
	cases := map[string]published.Case{}
	ids := []string{
		"S01", "S02", "S03", "S04", "S05", "S06", "S07", "S08", "S09", "S10", "S11", "S12",
		"S13", "S14", "S15", "S16", "S17", "S18", "S19", "S20", "S21", "S22", "S23", "S24",
	}
	for i, h := range []float64{0, 500, 1000, 1500, 2000, 3000} {
		s := air.Standard(h)
		for j, v := range []float64{s.Temperature, s.Pressure, density(s), air.Viscosity(s.Temperature)} {
			cases[ids[4*i+j]] = published.Got(v)
		}
	}
	for id, z := range map[string]float64{"S25": 1000, "S26": 2000, "S27": 3000} {
		cases[id] = published.Got(density(air.Standard(air.Geopotential(z))))
	}
	published.Check(t, "flow/atmosphere.csv", cases, nil)
}

func density(s air.State) float64 {
	return air.Density(s.Pressure, s.Temperature, air.StandardGas)
}

func TestViscosity(t *testing.T) {
	cases := map[string]published.Case{}
	for id, c := range map[string]float64{
		"V01": -10, "V02": 0, "V03": 15, "V04": 20, "V05": 25, "V06": 40, "V07": 60, "V08": 80,
	} {
		cases[id] = published.Got(air.Viscosity(celsius(c)))
	}
	published.Check(t, "flow/viscosity.csv", cases, nil)
}

func TestWater(t *testing.T) {
	cases := map[string]published.Case{}
	for id, c := range map[string]float64{
		"W01": 0, "W02": 4, "W03": 10, "W04": 15, "W05": 20, "W07": 30, "W08": 40,
	} {
		cases[id] = published.Got(air.Water(celsius(c)))
	}
	const conventional = 1000.0 // kg/m3, the water of the conventional inH2O
	cases["W09"] = published.Got(air.Column(air.Water(celsius(20)), 0.100))
	cases["W10"] = published.Got(10 * air.Water(celsius(25)) / conventional)
	published.Check(t, "flow/water_density.csv", cases, map[string]string{
		"W11": "spread of gravity over the Earth; the program uses standard gravity",
	})
}

func TestRam(t *testing.T) {
	const density, kmh, mph = 1.225, 1 / 3.6, 0.44704
	head := func(speed float64) published.Case {
		return published.Got(air.VelocityHead(density, speed))
	}
	// The rows for power take 1.2 q/p at 99 kPa, the exponent of ISO 1585.
	power := func(speed float64) published.Case {
		return published.Got(100 * 1.2 * air.VelocityHead(density, speed) / 99e3)
	}
	published.Check(t, "flow/ram.csv", map[string]published.Case{
		"R02": head(80 * kmh), "R03": head(100 * kmh), "R04": head(120 * kmh), "R05": head(130 * kmh),
		"R06": head(160 * kmh), "R08": head(250 * kmh), "R09": head(60 * mph),
		"R10": power(100 * kmh), "R11": power(160 * kmh),
		"R12": published.Got(air.CompressibleHead(0.2)),
	}, map[string]string{
		"R14": "pressure coefficient from memory, low confidence; no function gives it",
		"R15": "pressure coefficient from memory, medium confidence; no function gives it",
		"R17": "pressure coefficient from memory, low confidence; no function gives it",
	})
}
