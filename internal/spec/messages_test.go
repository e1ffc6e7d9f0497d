package spec

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/units"
)

// A line number in these tests counts from the head of the least spec, which has seven lines.
func TestMessages(t *testing.T) {
	replaced := func(from, to string) string { return strings.Replace(engine, from, to, 1) }
	for _, p := range []struct{ name, text, want string }{
		// Values
		{"limits in the unit found", engine + "intake: {restrictor: {bore: 3.8 mm}}",
			"8:29: intake.restrictor.bore is 3.8 mm; want 10 mm to 100 mm (38 mm?)"},
		{"another unit found", engine + "intake: {restrictor: {bore: 12 in}}",
			"8:29: intake.restrictor.bore is 12 in; want 0.3937 in to 3.937 in (1.2 in?)"},
		{"temperature in another unit", engine + "venue: {temperature: 600 degF}",
			"8:22: venue.temperature is 600 degF; want -22 degF to 140 degF (60 degF?)"},
		{"per cent", engine + "limits: {surge_margin: 5}", "8:24: limits.surge_margin is 5; want 0 to 0.5 (5 %?)"},
		{"fraction in per cent", engine + "limits: {surge_margin: 500 %}", "8:24: limits.surge_margin is 500 %; want 0 % to 50 % (50 %?)"},
		{"zero", replaced("84 mm", "0 mm"), "3:9: engine.bore is 0 mm; want 30 mm to 200 mm"},
		{"negative", replaced("84 mm", "-84 mm"), "3:9: engine.bore is -84 mm; want 30 mm to 200 mm"},
		{"not a number", replaced("84 mm", ".nan"), "3:9: engine.bore is .nan, which does not begin with a number; want a length in"},
		{"infinite", replaced("84 mm", "Inf mm"), "3:9: engine.bore is Inf mm, which does not begin with a number; want a length in"},
		{"too large", replaced("84 mm", "1e999 mm"), "3:9: engine.bore is 1e999 mm, which is too large to be a length"},
		{"no unit", replaced("84 mm", "84"), "3:9: engine.bore is 84, which has no unit; want a length in mm, cm, m"},
		{"wrong kind of unit", replaced("84 mm", "84 bar"), "3:9: engine.bore is 84 bar, which is a pressure; want a length in mm"},
		{"unknown unit", replaced("84 mm", "84 parsec"), `3:9: engine.bore is 84 parsec, which has the unknown unit "parsec"; want a length in mm`},
		{"comma", replaced("8.6", `"8,6"`), `6:22: engine.compression_ratio is 8,6, which has a comma in its number; write a decimal point`},
		{"a whole number", replaced("cylinders: 5", "cylinders: 4.5"), "2:14: engine.cylinders is 4.5; want a whole number, 1 to 24"},
		{"gauge where absolute is wanted", engine + "limits: {peak_cylinder_pressure: 500 bar abs}",
			"8:34: limits.peak_cylinder_pressure is 500 bar abs; want 20 bar abs to 400 bar abs (50 bar abs?)"},
		{"absolute where gauge is wanted", engine + "venue: {pressure: 950 hPa}\nboost: {target: 7.2 bar abs}",
			"9:17: boost.target is 7.2 bar abs; want 0.95 bar abs to 6.95 bar abs"},
		{"the venue has no gauge pressure", engine + "venue: {pressure: 0.1 bar gauge}",
			"8:19: venue.pressure is 0.1 bar gauge, which is a gauge pressure; want an absolute pressure in bar"},
		{"nor has a map's reference", engine + "compressor: {map: compressor-map.csv, reference_temperature: 298 K, reference_pressure: 0 bar gauge}",
			"8:89: compressor.reference_pressure is 0 bar gauge, which is a gauge pressure; want an absolute pressure in bar"},
		{"long value", replaced("84 mm", strings.Repeat("84", 60)+" mm"), "3:9: engine.bore is " + strings.Repeat("84",
			30) + "..., too long for a quantity; want 30 mm to 200 mm"},
		{"choice", engine + "fuel: {kind: ron97}", "8:14: fuel.kind is ron97; want isooctane, n-heptane, toluene, ethanol, methanol, nitromethane, methane, hydrogen, ron95, ron98, ron102, e10 or e85; ron95?"},
		{"blend", engine + "fuel: {blend: {isooctane: 60 %, tolune: 40 %}}", "8:33: fuel.blend.tolune is not known; want isooctane"},
		{"blend sum", engine + "fuel: {blend: {isooctane: 60 %, toluene: 41 %}}", "8:15: fuel.blend adds up to 101 %; want 100 %"},

		// Keys and sections
		{"unknown key, near", engine + "intake: {restrictor: {bore: 38 mm, recovry: 0.8}}",
			"8:36: intake.restrictor.recovry is not a key of intake.restrictor; recovery?"},
		{"unknown key, far", engine + "intake: {restrictor: {bore: 38 mm, colour: red}}",
			"8:36: intake.restrictor.colour is not a key of intake.restrictor; its keys are bore, count, discharge, recovery"},
		{"other spelling", engine + "intake: {Filter-Loss: {flow: 0.2 kg/s, loss: 1 kPa}}", "8:10: intake.Filter-Loss is not a key of intake; filter_loss?"},
		{"unknown section", engine + "turbin: {}", "8:1: turbin is not a key of a spec; turbine?"},
		{"doubled key", engine + "  bore: 85 mm\n", "8:3: engine.bore is given twice; the first is on line 3"},
		{"doubled section", engine + engine, "8:1: engine is given twice; the first is on line 1"},
		{"missing", replaced("  bore: 84 mm\n", ""), "2:3: engine.bore is missing; want 30 mm to 200 mm, such as 84 mm"},
		{"missing section", "name: x\n", "1:1: engine is missing; want a section with cylinders, bore, stroke, rod"},
		{"no value", replaced("84 mm", ""), "3:8: engine.bore has no value; want 30 mm to 200 mm, such as 84 mm"},
		{"section with no value", engine + "cooler:\n", "8:8: cooler has no value; want a section with effectiveness, coolant_temperature, loss"},
		{"value where a section is wanted", engine + "intake: 38 mm\n", "8:9: intake is 38 mm; want a section with filter_loss, restrictor"},
		{"section where a value is wanted", replaced("84 mm", "{mm: 84}"), "3:9: engine.bore is a section; want 30 mm to 200 mm, such as 84 mm"},
		{"section where a word is wanted", engine + "fuel: {kind: {a: b}}", "8:14: fuel.kind is a section; want isooctane, n-heptane"},
		{"section where text is wanted", engine + "name: {a: b}", "8:7: name is a section; want text, such as Hillclimb five"},
		{"value where shares are wanted", engine + "fuel: {blend: 60 %}",
			"8:15: fuel.blend is 60 %; want shares by volume that add up to 100 %, such as {isooctane: 60 %"},
		{"section where a share is wanted", engine + "fuel: {blend: {isooctane: {a: b}}}", "8:27: fuel.blend.isooctane is a section; want 0 % to 100 %"},
		{"no table", engine + "boost: {target: }", "8:17: boost.target has no value; want one value or a table over engine speed, 0 bar to 6 bar, such as {1500 rpm: 0.3 bar"},
		{"key that is a list", engine + "? [a]\n: 1\n", "8:3: has a key that is not a word"},
		{"empty key", engine + "'': 1\n", "8:1: has an empty key"},
		{"list", replaced("84 mm", "[84 mm]"), "3:9: engine.bore is a list; want 30 mm to 200 mm, such as 84 mm"},
		{"one of a group", engine + "  chamber: {head: 46 cm3, gasket_bore: 85 mm, gasket_thickness: 1 mm}\n",
			"8:12: engine.chamber is given beside compression_ratio; want one of compression_ratio or chamber"},
		{"none of a group", replaced("  compression_ratio: 8.6\n", ""), "2:3: engine lacks compression_ratio or chamber; want one of them"},
		{"reference conditions", engine + "compressor: {map: compressor-map.csv, reference_pressure: 1 bar}",
			"8:13: compressor.reference_temperature is missing; a map without the conditions that it is corrected to cannot be used; want 250 K to 350 K, such as 298.15 K"},
		{"reference pressure", engine + "compressor: {map: compressor-map.csv, reference_temperature: 298 K}",
			"8:13: compressor.reference_pressure is missing; a map without the conditions that it is corrected to cannot be used; want 500 hPa to 1200 hPa, such as 100 kPa"},
		{"misspelt where it is wanted", replaced("bore:", "boer:"), "3:3: engine.boer is not a key of engine; bore?"},
		{"end of a range in another unit", engine + "venue: {temperature: 140.1 degF}", "8:22: venue.temperature is 140.1 degF; want -22 degF to 140 degF"},
		{"octane", engine + "fuel: {kind: n-heptane}", "8:14: fuel.kind gives no knock delay with RON 0 and MON 0: RON is 0; want 40 to 130; or fuel.knock_octane beside it"},
		// 130 + 0.75 (130 − 80) by hand, where the charge is cold.
		{"octane numbers far apart", engine + "fuel: {kind: isooctane, ron: 130, mon: 80}",
			"8:40: fuel.mon gives no knock delay with RON 130 and MON 80: octane index is 167.5; want 40 to 150; or fuel.knock_octane beside it"},
		{"merge key", engine + "boost: &x {target: 1 bar}\nintake: {<<: *x}\n",
			"9:10: intake has the key <<; a spec has none: trims merge over the rest of the file by themselves"},
		{"tag", replaced("84 mm", "!!binary 84 mm"), "3:9: engine.bore has the tag !!binary; a spec has none"},

		// Tables
		{"table key without unit", engine + "boost: {target: {2000: 1 bar}}",
			"8:18: boost.target has the key 2000, which has no unit; want a speed of rotation in rpm"},
		{"table key of another kind", engine + "boost: {target: {2000 bar: 1 bar}}",
			"8:18: boost.target has the key 2000 bar, which is a pressure; want a speed of rotation"},
		{"table key out of range", engine + "boost: {target: {200000 rpm: 1 bar}}",
			"8:18: boost.target has a key that is 200000 rpm; want 100 rpm to 30000 rpm (20000 rpm?)"},
		{"table falls", engine + "boost: {target: {3000 rpm: 1 bar, 2000 rpm: 1 bar}}",
			"8:35: boost.target has 2000 rpm after 3000 rpm; want the engine speed to rise"},
		{"table key twice", engine + "boost:\n  target:\n    3000 rpm: 1 bar\n    3000.0 rpm: 1 bar\n",
			"11:5: boost.target has 3000.0 rpm twice; the first is on line 10"},
		{"table value", engine + "boost: {target: {3000 rpm: 1 mm}}", "8:28: boost.target.3000 rpm is 1 mm, which is a length; want a gauge pressure in bar"},
		{"table value out of range", engine + "boost: {target: {3000 rpm: 16 bar}}", "8:28: boost.target.3000 rpm is 16 bar; want 0 bar to 6 bar (1.6 bar?)"},
		{"table of sections", engine + "boost: {target: {3000 rpm: {a: 1}}}", "8:28: boost.target.3000 rpm is a section; want 0 bar to 6 bar"},
		{"empty table", engine + "boost: {target: {}}", "8:17: boost.target is a table of 0 points; want 1 to 200, such as {2500 rpm: 0.8 bar, 3500 rpm: 1.5 bar}"},
		{"efficiency without a wheel", engine + "turbine: {effective_area: 7 cm2, efficiency: {0.4: 0.6, 0.7: 0.7}}",
			"8:10: turbine does not hold together: turbine efficiency is given over the blade speed ratio; the wheel's diameter is needed too"},

		// What does not fit together
		{"rod", replaced("144 mm", "5.1 cm") + "  pin_offset: 11 mm\n",
			"5:8: engine.rod is 5.1 cm; want more than half the stroke and the pin offset together, 5.2 cm"},
		{"gasket", replaced("compression_ratio: 8.6", "chamber: {head: 46 cm3, gasket_bore: 80 mm, gasket_thickness: 1 mm}"),
			"6:12: engine.chamber does not hold together: gasket bore is 0.08 m; want at least the bore, 0.084 m"},
		{"chamber", replaced("compression_ratio: 8.6", "chamber: {head: 10 cm3, gasket_bore: 85 mm, gasket_thickness: 0 mm}"),
			"6:12: engine.chamber makes a compression ratio of 46.44; want 4 to 20"},
		{"valves", engine + "  valves: {inlet_count: 4, inlet_diameter: 50 mm, inlet_lift: 9 mm, inlet_closes: 50 deg, exhaust_count: 2, exhaust_diameter: 30 mm, exhaust_lift: 9 mm, exhaust_opens: 50 deg}\n",
			"8:11: engine.valves does not hold together: the valve heads' areas add up to 1.67 of the bore's; they do not fit"},
		{"phasing", engine + "  combustion: {latest_ca50: 6 deg}\n",
			"8:29: engine.combustion.latest_ca50 leaves a latest CA50 of 6.0 deg, before the best at 8.0 deg; want 8.0 deg or later"},
		// 20.24 and 24.73 MJ/kg by hand: 13.1 MJ for each of 1.5075 mol O2 of 31.998 g from 28.109 g, less and more 10 %.
		{"heating value", engine + "fuel: {formula: {carbon: 1, hydrogen: 3.59, oxygen: 0.78}, heating_value: 40.2 MJ/kg, density: 812 kg/m3, latent_heat: 439 kJ/kg, ron: 99, mon: 95}",
			"8:75: fuel.heating_value is 40.2 MJ/kg, which contradicts the formula CH3.59O0.78; want 20.3 MJ/kg to 24.7 MJ/kg (about 13.1 MJ for each kilogram of oxygen that it takes)"},
		{"heating value of a kind", engine + "fuel: {kind: ethanol, heating_value: 43 MJ/kg}",
			"8:38: fuel.heating_value is 43 MJ/kg, which contradicts the formula CH3O0.5; want 24.6 MJ/kg to 30 MJ/kg (about 13.1 MJ for each kilogram of oxygen that it takes)"},
		{"density", engine + "fuel: {formula: {carbon: 1, hydrogen: 1.8}, heating_value: 43 MJ/kg, density: 1.2 kg/L, latent_heat: 350 kJ/kg, ron: 99, mon: 95}",
			"8:79: fuel.density is 1.2 kg/L, which contradicts the formula CH1.8; want 0.6 kg/L to 1.05 kg/L (a liquid without oxygen and nitrogen)"},
		{"no octane number", engine + "fuel: {kind: hydrogen}", "8:14: fuel.kind holds a fuel without an octane number, which the knock delay goes by; want fuel.knock_octane beside it"},
		{"no octane number in a blend", engine + "fuel: {blend: {methanol: 80 %, nitromethane: 20 %}}", "8:15: fuel.blend holds a fuel without an octane number"},
		{"a gas with injectors", engine + "fuel: {kind: methane, knock_octane: 120}\ninjection: {rail: {pressure: 3 bar}, primary: {flow: 650 cm3/min, test_pressure: 3 bar, test_density: 765 kg/m3, dead_time: 1 ms, shortest_pulse: 2 ms}}",
			"8:14: fuel.kind cannot be used: methane is a gas, and the section injection is that of a liquid; want injection: none beside it"},
		{"a gas in a blend", engine + "fuel: {blend: {methanol: 80 %, methane: 20 %}}",
			"8:32: fuel.blend.methane is not known; want isooctane, n-heptane, toluene, ethanol, methanol, nitromethane, ron95"},
		{"too little hydrogen", engine + "fuel: {formula: {carbon: 1, hydrogen: 0.8, nitrogen: 1, oxygen: 2.4}, heating_value: 12 MJ/kg, density: 1100 kg/m3, latent_heat: 500 kJ/kg, ron: 99, mon: 95}",
			"8:17: fuel.formula cannot be used: fuel formula: oxygen needed to carbon is 0 mol; want 0.25 mol to 3 mol"},
		{"a liquid whose viscosity is not known", engine + "fuel: {kind: nitromethane, knock_octane: 100}\nsupply: {tank: {volume: 20 L}}",
			"9:9: supply cannot be computed: no viscosity is known for a fuel of 0.524 oxygen by mass; want 0 to 0.49932"},
		{"formula", engine + "fuel: {formula: {carbon: 1, hydrogen: 1.9}, ron: 98, mon: 88}",
			"8:17: fuel.formula needs heating_value, density, latent_heat of the fuel beside it"},
		{"loss", engine + "cooler: {effectiveness: 0.7, loss: {flow: 0.2 kg/s, loss: 1 bar, pressure: 2 bar abs, temperature: 400 K}}",
			"8:59: cooler.loss.loss is 1 bar, more than a third of the pressure before it, 2.00 bar abs"},
		{"staging", engine + `injection:
  rail: {pressure: 4 bar}
  primary: {flow: 500 cm3/min, test_pressure: 3 bar, test_density: 765 kg/m3, dead_time: 1 ms, shortest_pulse: 1.5 ms}
  secondary: {flow: 500 cm3/min, test_pressure: 3 bar, test_density: 765 kg/m3, dead_time: 1 ms, shortest_pulse: 1.5 ms}
`, "11:14: injection.secondary needs the section staging beside it, which says when it comes in"},

		// Text
		{"control character in a name", engine + `name: "a\x1b[31mb"`, `8:7: name is a\x1b[31mb, with U+001B, which does not print`},
		{"direction mark in a name", engine + "name: a\u202eb", `8:7: name is a\u202eb, with U+202E, which does not print`},
		{"control character in a key", engine + `"a\x1b": 1`, `8:1: has the key a\x1b, with U+001B, which does not print`},
		{"control character in a value", replaced("84 mm", `"84\x1b[2J mm"`), `3:9: engine.bore is 84\x1b[2J mm, which has the unknown unit`},
		{"escape sequence in the text", engine + "name: a\x1b[31mb", "8:8: is not plain text: it holds the control character U+001B"},
		{"direction mark in a key", engine + "bo\u202ere: 1", `8:1: has the key bo\u202ere, with U+202E, which does not print`},
		{"direction mark in a value", replaced("84 mm", "84 \u202emm"), `3:9: engine.bore is 84 \u202emm, which has the unknown unit "\u202emm"; want a length in`},
		{"direction mark in a trim", engine + "trims: {o\u2066n: {}, b: {}}", `8:9: trims has the key o\u2066n, with U+2066, which does not print`},
		{"long key", engine + strings.Repeat("k", 90) + ": 1", "8:1: has the key " + strings.Repeat("k", 60) + "..., longer than 80 bytes"},
		{"empty name", engine + "name: ''", "8:7: name is 0 bytes of text; want 1 to 1000"},

		// Trims
		{"no trims", engine + "trims: {}", "8:8: trims is a section; want a section with one trim or more, each with what it changes"},
		{"trim is a value", engine + "trims: {open: 1}", "8:15: trims.open is 1; want a section with what the trim changes"},
		{"name of a trim", engine + "trims: {a/b: {}}", "8:9: trims has the name a/b; want letters, digits and - _ + . with single spaces"},
		{"trim overrides the name", engine + "trims: {open: {name: x}}", "8:16: trims.open.name is not a key of a trim; "},
		{"trim within a trim", engine + "trims: {open: {trims: {}}}", "8:16: trims.open.trims is not a key of a trim; "},
	} {
		t.Run(p.name, func(t *testing.T) {
			got := messages(t, p.text)
			if assert.Len(t, got, 1) {
				assert.True(t, strings.HasPrefix(got[0], "hillclimb.yaml:"+p.want), "got:  %s\nwant: hillclimb.yaml:%s", got[0], p.want)
			}
		})
	}
}

// A calculation's reason has marks; what is told about a file has none, in whatever units the rest is printed.
func TestReasonsInMessagesAreMetric(t *testing.T) {
	p := Problem{File: "engine.yaml", Line: 3, Path: "fuel", Message: "is refused at " + units.Mark(1.5e5, units.PressureDifference)}
	assert.Equal(t, "engine.yaml:3: fuel is refused at 1.50 bar", p.String())
}
