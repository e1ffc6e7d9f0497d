package cli

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/spec"
)

// Every limit of the spec and every rating of a part, tightened on the example until it is passed, is named by the build sheet: as what limits the
// boost, or as a check that fails or is noted. A limit that the list below lacks fails.
func TestEveryLimitReachesTheSheet(t *testing.T) {
	t.Parallel()
	type c struct{ value, want string }
	failed := func(what string) string { return `(?m)^  FAIL +` + what }
	noted := func(what string) string { return `(?m)^  (FAIL|note) +` + what }
	limitedBy := func(what string) string { return `(?s)\n  limited by [^\n]*(\n {20}[^\n]*)*` + what }
	burning := func(knock, limit string) string { return `knock integral +\d+ +` + knock + `\d* +` + limit }
	tightened := map[string]c{
		"limits.peak_cylinder_pressure":                {"85 bar", limitedBy("cylinder pressure") + `|\n +5000 [^\n]*cylinder`},
		"limits.turbine_inlet_temperature":             {"900 degC", failed("EGT")},
		"limits.surge_margin":                          {"45 %", limitedBy("compressor surge")},
		"limits.injector_duty":                         {"45 %", limitedBy("injector")},
		"limits.mean_piston_speed":                     {"18 m/s", failed("mean piston speed at the limiter")},
		"engine.piston_to_valve.inlet.least":           {"4 mm", failed("inlet valve to piston")},
		"engine.piston_to_valve.exhaust.least":         {"4.5 mm", failed("exhaust valve to piston")},
		"engine.piston_to_valve.inlet.drop":            {"2 mm", failed("inlet valve to piston")},
		"engine.clearances.piston.least":               {"0.09 mm", failed("piston clearance")},
		"engine.clearances.piston_pin.most":            {"0.017 mm", failed("piston pin clearance")},
		"engine.clearances.top_ring.measured":          {"0.5 mm", noted("gap of the top ring")},
		"trims.capped.intake.restrictor.measured.bore": {"38.1 mm", failed("restrictor bore at 20 degC")},
		"limits.rod_tension":                           {"15 kN", failed("pull on the rod")},
		"limits.rod_compression":                       {"40 kN", failed("push on the rod")},
		"limits.crank_pin_pressure":                    {"40 MPa", failed("pressure on the crank pin's bearing")},
		"limits.rod_bolt_margin":                       {"70 %", failed("rod bolt margin")},
		"limits.head_clamp_margin":                     {"70 %", failed("head clamp margin")},
		"engine.bottom_end.rod_bolts.proof_stress":     {"600 MPa", failed("stress in the rod bolts")},
		"engine.head_bolts.proof_stress":               {"600 MPa", failed("stress in the head bolts")},
		"engine.bottom_end.rod_bolts.torque":           {"12 Nm", failed("rod bolt margin")},
		"engine.head_bolts.torque":                     {"25 Nm", failed("head clamp margin")},
		"driveline.gearbox_torque_limit":               {"450 Nm", limitedBy("gearbox torque")},
		"compressor.speed_limit":                       {"110000 rpm", limitedBy("shaft speed")},
		"turbine.inlet_temperature_limit":              {"900 degC", failed("EGT")},
		"engine.combustion.latest_ca50":                {"12 deg", limitedBy("knock")},
		"engine.combustion.knock_limit":                {"0.4", burning("0.37", "0.40")}, // less two octane numbers
		"engine.combustion.knock_margin":               {"10", burning("0.6", "0.85")},
		"manifold.spread.leanest":                      {"0.80", failed("leanest cylinder, one fuel for all")},
		"supply.line.bore":                             {"4 mm", failed("fuel pump margin")},
		"supply.tank.volume":                           {"5 L", failed("fuel in the tank for one stage or lap")},
		"supply.lift.pressure":                         {"0.85 bar", failed("lift pump margin")},
		"ignition.gap":                                 {"1.2 mm", failed("ignition voltage margin")},
		"ignition.coil.rated_voltage":                  {"25 kV", failed("ignition voltage margin")},
		"ignition.coil.inductance":                     {"20 mH", noted("coil has its full dwell up to")},
		"injection.primary.shortest_pulse":             {"3 ms", noted("primary pulse at light load")},
		"wastegate.actuator.preload":                   {"60 N", limitedBy("wastegate actuator")},
		"wastegate.actuator.stroke":                    {"2 mm", `wastegate spring|boost above`},
		"wastegate.bore":                               {"18 mm", `wastegate creep`},
		"trims.capped.intake.restrictor.bore":          {"30 mm", limitedBy("restrictor")},
		"engine.limiter":                               {"9000 rpm", noted("mean piston speed at the limiter")},
		"sump.oil":                                     {"2.6 L", failed("oil pickup uncovers")},
		"oil.pump.displacement":                        {"0.8 cm3", failed("oil pump's flow")},
		"oil.pump.relief":                              {"3 bar", noted("oil pressure")},
		"oil.pressure_floor":                           {"7 bar", failed("oil pressure")},
		"oil.main_clearance":                           {"0.25 mm", noted("oil pressure")},
		"wiring.channels.coils.limit":                  {"3 A", failed("current of the channel")},
		"wiring.channels.fan.peak_limit":               {"60 A", failed("inrush of the channel")},
		"wiring.channels.lights.fuse":                  {"10 A", failed("load of the fuse")},
		"wiring.fuse_load":                             {"60 %", failed("load of the fuse")},
		"wiring.channels.lights.area":                  {"1.5 mm2", failed("fuse protects the wire")},
		"wiring.bundle_factor":                         {"30 %", failed("current of the wire")},
		"wiring.feed.area":                             {"10 mm2", failed("current of the wire")},
		"wiring.largest_drop":                          {"2 %", failed("voltage lost in wires")},
		"wiring.battery.capacity":                      {"0.5 Ah", failed("battery lasts for the mode")},
		"wiring.alternator.output":                     {"{600 rpm: 5 A, 7800 rpm: 20 A}", failed("battery lasts for the mode")},
		"wiring.alternator.pulley_ratio":               {"0.2", failed("battery lasts for the mode")},
		"wiring.feed.contacts":                         {"1 ohm", failed("wiring settles")},
		"wiring.channels.injectors 1.contacts":         {"200 mohm", noted("voltage that arrives at full load")},
		"sump.circulation.time":                        {"60 s", failed("oil supply in a sustained corner")},
		"limits.coolant_temperature":                   {"90 degC", failed("coolant temperature")},
		"limits.boiling_margin":                        {"60 K", failed("coolant's distance from boiling")},
		"limits.oil_temperature":                       {"90 degC", failed("oil temperature")},
		"cooling.duty.start":                           {"119 degC", failed("coolant temperature")},
	}
	for _, path := range limitPaths(t) {
		assert.Contains(t, tightened, path, "a limit of the spec without a row here")
	}
	_, page, _ := bellmouth("sheet", hillclimb, "--trim", "open")
	_, checks, _ := bellmouth("check", hillclimb, "--trim", "open")
	base := page + checks
	for path, c := range tightened {
		t.Run(path, func(t *testing.T) {
			t.Parallel()
			trim := "open"
			if strings.HasPrefix(path, "trims.capped") {
				trim = "capped"
			}
			at := []string{hillclimb, "--trim", trim, "--set", path + "=" + c.value}
			_, page := document(t, append([]string{"sheet"}, at...)...)
			doc, checks := document(t, append([]string{"check"}, at...)...) // the full sheet has the same table
			assert.Regexp(t, c.want, page+checks)
			assert.Empty(t, untold(doc))
			if trim == "open" {
				assert.NotRegexp(t, c.want, base, "the sheet says so anyway")
			}
		})
	}
}

// limitPaths returns the keys of the section limits, and every other key that is called a limit.
func limitPaths(t *testing.T) []string {
	var paths []string
	section := regexp.MustCompile(`(?m)^limits:\n((?: .*\n)+)`).FindStringSubmatch(string(spec.Template()))
	require.NotNil(t, section)
	for _, m := range regexp.MustCompile(`(?m)^  (?:# )?([a-z_]+): `).FindAllStringSubmatch(section[1], -1) {
		paths = append(paths, "limits."+m[1])
	}
	require.Greater(t, len(paths), 4)
	return append(paths, "driveline.gearbox_torque_limit", "compressor.speed_limit", "turbine.inlet_temperature_limit", "engine.combustion.knock_limit",
		"wiring.channels.fan.peak_limit", "wiring.channels.coils.limit")
}
