package airpath

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/compressor"
	"bellmouth/internal/geometry"
	"bellmouth/internal/refdata"
)

// A problem is a textbook example: what is given and the answers, by quantity.
type problem struct{ given, answers map[string]float64 }

func problems(t *testing.T, file, role, given, answer string) map[string]problem {
	t.Helper()
	all := map[string]problem{}
	for _, row := range refdata.Read(t, file) {
		name := row["example"]
		if _, ok := all[name]; !ok {
			all[name] = problem{map[string]float64{}, map[string]float64{}}
		}
		switch row[role] {
		case given:
			all[name].given[row["quantity"]] = row.F(t, "value")
		case answer:
			all[name].answers[row["quantity"]] = row.F(t, "value")
		}
	}
	return all
}

// compare wants every answer of the problem computed, to a relative tolerance.
func (p problem) compare(t *testing.T, name string, tolerance float64, got map[string]float64) {
	t.Helper()
	assert.NotEmpty(t, p.answers, name)
	for quantity, want := range p.answers {
		value, ok := got[quantity]
		assert.True(t, ok, "%s: %s is not computed", name, quantity)
		assert.InEpsilon(t, want, value, tolerance, "%s: %s", name, quantity)
	}
}

// The chains of textbook_examples.csv that run through several parts, with each book's own constants; the file names the books.
// Its other examples are single relations, tested where those live: gas, compressor, geometry and injector.
func TestTextbookChains(t *testing.T) {
	const tolerance = 1e-9 // the file's answers have 12 digits
	all := problems(t, "textbook_examples.csv", "role", "given", "answer")
	perMinute := func(v float64) float64 { return v * math.Pi / 30 }

	p := all["compressor_aftercooler"]
	g := p.given
	air := perfectGas{gamma: g["gamma"], cp: g["cp"]}
	t2, work := air.compressed(g["T_ambient"], g["p_boost"]/g["p_ambient"], g["compressor_isentropic_efficiency"])
	flow := g["volumetric_efficiency_on_ambient"] * geometry.SweptFlow(g["swept_volume"],
		perMinute(g["engine_speed"])) * g["p_ambient"] / (g["R"] * g["T_ambient"])
	p.compare(t, "compressor_aftercooler", tolerance, map[string]float64{
		"T_compressor_out": t2, "air_mass_flow": flow,
		"cooler_heat_rejected":    flow * g["cp"] * (t2 - g["T_after_cooler"]) / 1e3,
		"power_taken_from_engine": flow * work / g["drive_mechanical_efficiency"] / 1e3,
	})

	p = all["turbocharger_balance"]
	g = p.given
	air = perfectGas{gamma: g["gamma_air"], cp: g["cp_air"]}
	t2, work = air.compressed(g["T_compressor_in"], g["p_compressor_out"]/g["p_compressor_in"], g["compressor_isentropic_efficiency"])
	gas := perfectGas{gamma: g["gamma_gas"], cp: g["cp_gas"]}
	given := gas.expanded(g["T_turbine_in"], g["p_turbine_in"]/g["p_turbine_out"], g["turbine_isentropic_efficiency"])
	perAir := given * (1 + 1/g["air_fuel_ratio"])
	p.compare(t, "turbocharger_balance", tolerance, map[string]float64{
		"T_compressor_out": t2 - 273, "T_turbine_out": g["T_turbine_in"] - given/gas.cp - 273,
		"compressor_work_per_kg_air": work / 1e3, "turbine_work_per_kg_air": perAir / 1e3,
		"mechanical_loss_share_of_turbine_work": 100 * (1 - work/perAir),
	})

	p = all["boost_power_gain"]
	g = p.given
	air = perfectGas{gamma: g["gamma"], cp: g["cp"]}
	t2, work = air.compressed(g["T_ambient"], g["pressure_ratio"], g["blower_isentropic_efficiency"])
	swept := geometry.SweptFlow(g["swept_volume"], perMinute(g["engine_speed"]))
	free := swept * g["pressure_ratio"] * g["T_ambient"] / t2
	flow = free * g["p_ambient"] / (g["R"] * g["T_ambient"])
	// The gas exchange gains (pm − p3) Vd, as PMEP counts it.
	pumping := (g["pressure_ratio"] - 1) * g["p_ambient"] * swept
	gain := (free-g["volumetric_efficiency_unboosted"]*swept)*60*g["indicated_kW_per_m3_min_free_air"]*1e3 + pumping
	drive := flow * work / g["mechanical_efficiency"]
	p.compare(t, "boost_power_gain", tolerance, map[string]float64{
		"T_blower_out": t2, "equivalent_free_volume": free * 60, "indicated_power_gain": gain / 1e3, "blower_air_flow": flow,
		"blower_drive_power": drive / 1e3, "net_brake_power_gain": (gain*g["mechanical_efficiency"] - drive) / 1e3,
	})

	p = all["engine_performance"]
	g = p.given
	speed := perMinute(g["engine_speed"])
	flow = g["fuel_flow"] / 3600 * g["air_fuel_ratio"]
	filled := geometry.SweptFlow(g["volume_per_cylinder"]*g["cylinders"], speed) * g["p_inlet"] / (g["R"] * g["T_inlet"])
	p.compare(t, "engine_performance", tolerance, map[string]float64{
		"volumetric_efficiency":    100 * flow / filled,
		"brake_thermal_efficiency": 100 * g["brake_power"] / (g["fuel_flow"] / 3600 * g["heating_value"] * 1e3),
		"brake_torque":             g["brake_power"] * 1e3 / speed,
	})

	p = all["volumetric_efficiency"]
	g = p.given
	flow = g["brake_power"] * g["bsfc"] / 3600 * g["air_fuel_ratio"]
	p.compare(t, "volumetric_efficiency", tolerance, map[string]float64{
		"air_flow":              flow,
		"volumetric_efficiency": flow / (geometry.SweptFlow(g["displacement"], perMinute(g["engine_speed"])) * g["p_inlet"] / (g["R"] * g["T_inlet"])),
	})
}

// R. K. Rajput, Internal Combustion Engines, chapter 16, as in supercharging_worked_examples.csv; its answers have five digits.
func TestSuperchargingExamples(t *testing.T) {
	const (
		tolerance = 5e-5
		r, cp     = 287.0, 1005.0
	)
	book := perfectGas{gamma: 1.4, cp: cp}
	all := problems(t, "supercharging_worked_examples.csv", "role", "input", "output")

	p := all["R16.1"]
	g := p.given
	t2, work := book.compressed(g["mixture_temperature"], g["supercharger_pressure_ratio"], g["supercharger_isentropic_efficiency"])
	aspirated := g["brake_power_na"] * g["bsfc"] / 3600 * g["air_fuel_ratio"]
	boosted := aspirated * g["supercharger_pressure_ratio"] * g["mixture_temperature"] / t2
	p.compare(t, "R16.1", tolerance, map[string]float64{
		"discharge_temperature": t2, "air_flow_na": aspirated, "air_flow_boosted": boosted,
		"supercharger_power": boosted * work / g["supercharger_mechanical_efficiency"] / 1e3,
	})

	p = all["R16.2"]
	g = p.given
	speed := g["engine_speed"] * rpm
	flow := g["brake_power"] * g["bsfc"] / 3600 * g["air_fuel_ratio"]
	swept := flow / (g["volumetric_efficiency"] * g["sea_level_pressure"] * 1e5 / (r * g["sea_level_temperature"])) / geometry.SweptFlow(1, speed)
	gross := flow / (1 - g["supercharger_power_fraction"])
	intake := gross * r * g["altitude_temperature"] / (g["volumetric_efficiency"] * geometry.SweptFlow(swept, speed))
	p.compare(t, "R16.2", tolerance, map[string]float64{
		"swept_volume": swept, "bmep": g["brake_power"] * 1e3 / speed / geometry.Torque(1, swept) / 1e5,
		"intake_pressure_required": intake / 1e5, "pressure_rise_required": intake/1e5 - g["altitude_pressure"],
	})

	p = all["R16.3"]
	g = p.given
	t2, work = book.compressed(g["ambient_temperature"], g["compressor_pressure_ratio"], g["compressor_isentropic_efficiency"])
	density := g["compressor_pressure_ratio"] * g["ambient_pressure"] * 1e5 / (r * (t2 - g["charge_cooling_before_cylinder"]))
	flow = geometry.SweptFlow(g["swept_volume"], g["engine_speed"]*rpm) * density // the book fills the whole swept volume
	p.compare(t, "R16.3", tolerance, map[string]float64{
		"discharge_temperature": t2, "air_flow": flow, "compressor_power": flow * work / g["mechanical_efficiency"] / 1e3,
	})

	p = all["R16.5"]
	g = p.given
	speed = g["engine_speed"] * rpm
	displaced := geometry.Cylinder{Bore: g["bore"], Stroke: g["stroke"], Rod: 2 * g["stroke"], CompressionRatio: 9}.Displacement() * g["cylinders"]
	power := g["torque"] * speed
	// All the power drives the compressor: m cp (T2 − T1); the cooler takes m cp (T2 − T3) of it.
	flow = (power - g["cooler_heat_rejection"]*1e3/60) / (cp * (g["intake_temperature"] - g["compressor_inlet_temperature"]))
	t2 = g["compressor_inlet_temperature"] + power/(flow*cp)
	assert.InEpsilon(t, g["cooler_heat_rejection"]*1e3/60, flow*cp*(t2-g["intake_temperature"]), 1e-12)
	p.compare(t, "R16.5", tolerance, map[string]float64{
		"brake_power": power / 1e3, "imep": g["torque"] / g["mechanical_efficiency"] / geometry.Torque(1, displaced) / 1e5,
		"engine_air_flow": g["volumetric_efficiency"] * geometry.SweptFlow(displaced,
			speed) * g["intake_pressure"] * 1e5 / (r * g["intake_temperature"]) * 60,
		"compressor_discharge_temperature": t2, "compressor_air_flow": flow * 60,
	})
}

// The sizing chain of boost_chain.csv (Heywood 1988, ch. 2 and 6; Watson and Janota), closed form, with a perfect gas.
func TestBoostChain(t *testing.T) {
	const r = 287.05287
	air := perfectGas{gamma: 1.4, cp: 3.5 * r}
	for _, row := range refdata.Read(t, "boost_chain.csv") {
		f := func(column string) float64 { return row.F(t, column) }
		fuelFlow := f("brake_power_kW") * f("bsfc_g_kWh") / 3.6e6
		flow := fuelFlow * f("air_fuel_ratio")
		swept := geometry.SweptFlow(f("displacement_L")*1e-3, f("rpm")*rpm)
		pm := flow * r * f("T_manifold_K") / (f("volumetric_efficiency_on_manifold") * swept)
		p1 := f("p_ambient_Pa") - f("intake_loss_Pa")
		ratio := (pm + f("charge_cooler_loss_Pa")) / p1
		t2, work := air.compressed(f("T_ambient_K"), ratio, f("compressor_efficiency"))
		ref := compressor.Reference{Temperature: 298.15, Pressure: 1e5}
		for column, got := range map[string]float64{
			"fuel_flow_kg_s": fuelFlow, "air_flow_kg_s": flow, "p_manifold_Pa": pm, "boost_gauge_Pa": pm - f("p_ambient_Pa"),
			"compressor_pressure_ratio": ratio, "T_compressor_out_K": t2, "compressor_power_W": flow * work,
			"T_after_cooler_K":                   t2 - f("cooler_effectiveness")*(t2-f("T_ambient_K")),
			"corrected_flow_298.15K_100kPa_kg_s": ref.Corrected(flow, f("T_ambient_K"), p1),
		} {
			assert.InEpsilon(t, f(column), got, 1e-9, column)
		}
	}
}

// A perfectGas is what the books compute with: one heat capacity.
type perfectGas struct{ gamma, cp float64 }

// compressed returns the temperature behind a compressor and its work: Heywood, Internal Combustion Engine Fundamentals, eqs. 6.39 to 6.42.
func (g perfectGas) compressed(T1, pressureRatio, efficiency float64) (T2, work float64) {
	rise := T1 * (math.Pow(pressureRatio, 1-1/g.gamma) - 1) / efficiency
	return T1 + rise, g.cp * rise
}

// expanded returns a turbine's work: Dixon, Fluid Mechanics and Thermodynamics of Turbomachinery, ch. 2.
func (g perfectGas) expanded(T3, expansionRatio, efficiency float64) float64 {
	return efficiency * g.cp * T3 * (1 - math.Pow(expansionRatio, 1/g.gamma-1))
}
