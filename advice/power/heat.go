package power

// Notes of HeatResponse.
const (
	noteHeatPetrol   = "the exponents of temperature for petrol engines: 0.6 in ISO 1585 and UN R85, about 0.6 in SAE J1349, 1 for the mass of air alone"
	noteHeatDiesel   = "the exponent of temperature for diesel engines without a turbocharger, 0.7 times the engine factor of ISO 1585 and UN R85, which is 0.3 to 1.2"
	noteHeatTurbo    = "the exponent of temperature for turbocharged diesel engines, 1.5 times the engine factor of ISO 1585 and UN R85, which is 0.3 to 1.2"
	noteHeatBoosted  = "a boosted petrol engine with a charge cooler: from no effect, where the boost control makes it good, to that of ISO 1585"
	noteHeatNoEngine = "how the engine burns and breathes is not known, so that all exponents from 0.2 to 1.8 can be"
)

// HeatResponse gives how power goes with the temperature of the intake air: with
// its inverse in K to the power of Exponent. Low and High are the ends of what the
// published corrections and the mass of air alone give; the one for boosted petrol
// engines is an inference, as FlowResponse has it.
func (e Engine) HeatResponse() Response {
	diesel := func(by float64, note string) Response {
		return Response{Band{Median: 0.7 * by, Low: 0.3 * by, High: 1.2 * by}, true, note}
	}
	switch {
	case e.Fuel == "petrol" && e.Induction == "natural":
		return Response{Band{Median: SparkHeat, Low: 0.5, High: DensityHeat}, true, noteHeatPetrol}
	case e.Fuel == "petrol" && e.Boosted():
		return Response{Band{Median: 0.3, Low: 0, High: SparkHeat}, true, noteHeatBoosted}
	case e.Fuel == "diesel" && e.Induction == "turbo":
		return diesel(DieselHeat, noteHeatTurbo)
	case e.Fuel == "diesel" && e.Induction != "":
		return diesel(0.7, noteHeatDiesel)
	}
	return Response{Band{Median: 0.6, Low: 0.2, High: 1.8}, true, noteHeatNoEngine}
}
