package cli

import (
	"github.com/spf13/cobra"

	"dropwalk/advice/air"
	"dropwalk/advice/duct"
	"dropwalk/advice/stats"
	"dropwalk/engine/quantity"
)

func (a *app) calcHose() *cobra.Command {
	cmd := &cobra.Command{
		Use:     "hose",
		Short:   "how fast a gauge at the end of a hose follows",
		Long:    "The air is taken at 20 C and 101.325 kPa where not stated. After three time constants the gauge shows 95 % of a step.",
		Example: `dropwalk calc hose --bore "4 mm" --length "3 m" --volume "50 cm3"`,
	}
	textOptions(cmd, "bore", "inner `diameter` of the hose", "length", "`length` of the hose", "volume", "`volume` of air in the gauge")
	airOptions(cmd)
	return a.calculation(cmd, func(in *options) (answer, error) {
		bore := in.need("bore", quantity.Length, "", lengths)
		length := in.need("length", quantity.Length, "", lengths)
		volume := in.need("volume", quantity.Volume, "", span{0, 1})
		s := in.state(air.State{Temperature: air.Zero + 20, Pressure: 101325})
		found := duct.HoseLag(bore, length, duct.HoseVolume(volume, bore, length), air.Viscosity(s.Temperature), s.Pressure)
		r := answer{sources: []string{"Hagen-Poiseuille and isothermal filling of the gauge and half the hose", sourceViscosity}}
		r.object = struct {
			Lag     float64  `json:"time_constant_s"`
			Sources []string `json:"sources"`
		}{found, r.sources}
		r.say("time constant: %s s", quantity.Format(found, 3))
		return r, nil
	})
}

func (a *app) calcRuns() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "runs",
		Short: "runs that it takes to see a change",
		Long: "How many runs are needed in each of three blocks - as it was, changed, as it was - to see a change with a chance of 80 %, " +
			"tested at 5 % with a term for drift. --scatter is the standard deviation of one run. What taking a part off and fitting it " +
			"again scatters is not in it: more runs don't cure that.",
		Example: `dropwalk calc runs --scatter "0.3 inH2O" --change "0.5 inH2O"`,
	}
	textOptions(cmd, "scatter", "standard `deviation` of one run", "change", "smallest `change` worth seeing")
	return a.calculation(cmd, func(in *options) (answer, error) {
		scatter := in.need("scatter", quantity.PressureDiff, "", anyAbove)
		change := in.need("change", quantity.PressureDiff, "", anyAbove)
		if in.bad != nil {
			return answer{}, nil
		}
		runs, ok := stats.Runs(change / scatter)
		if !ok {
			return answer{}, &usageError{"a change so far below the scatter takes more than a thousand runs", "calm the readings first: a steadier run, a restrictor in the hose, a finer gauge"}
		}
		r := answer{sources: []string{"noncentral t, A-B-A with drift: least squares; plan after NIST/SEMATECH Handbook 2.3.3.1.2"}}
		r.object = struct {
			Runs    int      `json:"runs_per_block"`
			Sources []string `json:"sources"`
		}{runs, r.sources}
		r.say("runs in each of three blocks: %d", runs)
		r.say("they see %s or more; 95 %% interval +- %s", in.show(scatter*stats.Detectable(runs, runs, runs, stats.Power), quantity.PressureDiff),
			in.show(scatter*stats.HalfWidth(runs, runs, runs), quantity.PressureDiff))
		return r, nil
	})
}
