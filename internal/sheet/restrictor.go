package sheet

import (
	"errors"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// errNoPower is why there is no power ceiling.
var errNoPower = errors.New("no point gives power")

// Restrictor returns what the restrictor lets through, and the power that this air can make.
func (r *Run) Restrictor() (table.Table, error) {
	th, err := r.Throat()
	if err != nil {
		return table.Table{}, err
	}
	power, at, some := r.PowerCeiling(&th)
	ceiling := table.Known[*Run](func(*Run) error {
		if !some {
			return errNoPower
		}
		return nil
	})
	res := r.Trim.Intake.Restrictor
	several := float64(res.Throats())
	fields := []table.Field[*Run]{
		table.Counts("restrictor_count", "restrictors", func(*Run) int { return res.Throats() }),
		table.Number("restrictor_bore_m", "bore", units.Length, func(*Run) float64 { return res.Bore }).WithDigits(2),
		table.Cells("discharge_coefficient", "discharge coefficient", units.Number, func(*Run) table.Cell {
			c := table.Num(th.Discharge.Coefficient)
			if !th.Discharge.InRange && !th.Discharge.Given {
				return c.Noted("the throat's Reynolds number lies outside the range of ISO 9300")
			}
			return c
		}).WithDigits(4),
		table.Words("discharge_from", "  from", func(*Run) string {
			if th.Discharge.Given {
				return "the spec"
			}
			return "ISO 9300, toroidal throat; measured ones come out lower"
		}),
		table.Number("throat_reynolds", "throat Reynolds number", units.Number, func(*Run) float64 { return th.Discharge.Reynolds }).InDetail(),
		table.Number("diffuser_recovery", "diffuser recovery", units.Fraction, func(*Run) float64 { return res.Recovery }).WithDigits(0),
		table.Number("max_flow_kg_s", "most air it passes", units.MassFlow, func(*Run) float64 { return th.MaxFlow }),
		table.Number("one_max_flow_kg_s", "  one of them", units.MassFlow, func(*Run) float64 { return th.MaxFlow / several }),
		table.Number("upstream_pressure_pa", "pressure before it, choked", units.Pressure, func(*Run) float64 { return th.Upstream.Pressure }).WithDigits(3),
		table.Number("throat_pressure_pa", "pressure in the throat, choked", units.Pressure, func(*Run) float64 { return th.Pressure() }).WithDigits(3),
		table.Number("throat_temperature_k", "temperature in the throat, choked", units.Temperature, func(*Run) float64 { return th.Temperature() }),
		table.Number("restrictor_outlet_pressure_pa", "pressure after it as it chokes", units.Pressure, func(*Run) float64 { return th.Onset }).WithDigits(3),
		ceiling.Number("power_ceiling_w", "power this air can make", units.Power, func(*Run) float64 { return power }).WithDigits(0),
		ceiling.Number("one_power_ceiling_w", "  with the air of one", units.Power, func(*Run) float64 { return power / several }).WithDigits(0),
		ceiling.Number("ceiling_bsfc_kg_j", "  at this BSFC", units.FuelConsumption, func(*Run) float64 { return at.Point.Consumption }),
		ceiling.Number("ceiling_lambda", "  and lambda", units.Number, func(*Run) float64 { return at.Point.Lambda }).WithDigits(2),
		ceiling.Number("ceiling_rpm", "  as the engine has at", units.Speed, func(*Run) float64 { return at.Speed }),
	}
	if several > 1 {
		fields[1].Title = "bore of each"
	} else { // what holds for all holds for the one
		fields = slices.DeleteFunc(fields, func(f table.Field[*Run]) bool {
			return f.Key == "restrictor_count" || f.Key == "one_max_flow_kg_s" || f.Key == "one_power_ceiling_w"
		})
	}
	t := table.One("restrictor", r, fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Friction and the exhaust's pressure, at the speed that takes all this air, leave less power than that."}
	if !r.chokes() {
		t.Notes = append(t.Notes, "It does not choke at any of these speeds, whatever the target.")
	}
	return t, nil
}

// everything returns the run with far more boost asked for than there is. It is computed once.
func (r *Run) everything() *Run {
	r.mostOnce.Do(func() { r.most = &Run{Run: r.Everything()} })
	return r.most
}

// chokes reports that the restrictor chokes at a speed, whatever the boost takes.
func (r *Run) chokes() bool {
	_, _, some := run.Where(r.everything().Outcomes, func(o *boost.Outcome) bool { return o.Point.Limits.Has(airpath.Restrictor) })
	return some
}

// ChokeBoost returns, over engine speed, the boost at which the restrictor chokes: what the engine reaches when far more is
// asked for. Where something else comes first, it says what. ok is false where it chokes at no speed.
func (r *Run) ChokeBoost() (t table.Table, ok bool) {
	if !r.chokes() {
		return table.Table{}, false
	}
	all, forced := r.everything(), r.Forced()
	t = all.overSpeed("choke boost",
		speedField(allNotes),
		detailIf(!forced, cells("choke_boost_pa", "choke boost", units.GaugePressure, func(o row, p *airpath.Point) table.Cell {
			if !p.Limits.Has(airpath.Restrictor) {
				return table.Missing("does not choke; another limit comes first")
			}
			return table.Num(o.Boost(o.run.Trim.Venue.Pressure))
		})),
		table.Cells("limits", "limited by", units.Number, limitCell),
		detailIf(!forced, cells("boost_pa", "most boost", units.GaugePressure, func(o row, _ *airpath.Point) table.Cell {
			return table.Num(o.Boost(o.run.Trim.Venue.Pressure))
		})),
		detailIf(forced, figure("manifold_pressure_pa", "MAP", units.Pressure, func(p *airpath.Point) float64 { return p.ManifoldPressure })),
		figure("air_flow_kg_s", "air", units.MassFlow, func(p *airpath.Point) float64 { return p.AirFlow }),
		cells("throat_flow_fraction", "of choke flow", units.Fraction, func(_ row, p *airpath.Point) table.Cell {
			return table.Num(p.AirFlow / p.RestrictorFlow)
		}),
		figure("torque_nm", "torque", units.Torque, func(p *airpath.Point) float64 { return p.Torque }).WithDigits(0),
		figure("power_w", "power", units.Power, func(p *airpath.Point) float64 { return p.Power }),
	)
	if forced {
		t.Notes = []string{"A target above the choke boost brings no more air."}
	}
	t.Notes = append(t.Notes, allThroats(r.Trim, "Air, torque and power are those with the air")...)
	return t, true
}

// RestrictorLoss returns the pressure after the restrictor below choke.
func (r *Run) RestrictorLoss() (table.Table, error) {
	th, err := r.Throat()
	if err != nil {
		return table.Table{}, err
	}
	shares := []float64{0.2, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 1}
	t := table.Of("restrictor loss", shares,
		table.Number("throat_flow_fraction", "of choke flow", units.Fraction, func(s float64) float64 { return s }).WithDigits(0),
		table.Number("air_flow_kg_s", "air", units.MassFlow, func(s float64) float64 { return s * th.MaxFlow }),
		table.Number("restrictor_outlet_pressure_pa", "pressure after it", units.Pressure,
			func(s float64) float64 { return th.OutletPressure(s * th.MaxFlow) }).WithDigits(3),
		table.Number("restrictor_loss_pa", "pressure lost", units.PressureDifference, func(s float64) float64 { return th.Loss(s * th.MaxFlow) }).WithDigits(3),
		table.Number("throat_mach", "Mach in the throat", units.Number, func(s float64) float64 { return th.ThroatMach(s * th.MaxFlow) }).WithDigits(2),
	)
	t.Trim, t.Notes = r.Trim.Name, allThroats(r.Trim, "Air is that")
	return t, nil
}

// restrictorEntries explain the columns above.
func restrictorEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "restrictor_count", Title: "restrictors",
			Meaning: "Equal restrictors side by side, one for each turbocharger.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "restrictor_bore_m", Title: "bore",
			Meaning: "Diameter of the restrictor's throat, of each where there are several.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "discharge_coefficient", Title: "discharge coefficient",
			Meaning: "Flow at choke over that of the same throat without losses: as given, or for a bellmouth entry by Reynolds number.",
			Formula: "Cd = 0.9959 − 2.720/√Re, Re = 4 ṁ/(π d μ0), iterated, where none is given",
			Source:  "ISO 9300:2005, toroidal throat; viscosity by US Standard Atmosphere 1976",
			Range:   "Re 2.1e4 to 3.2e7 (from memory); an upper bound for an intake, and not for a drilled plate",
		},
		{
			Key: "discharge_from", Title: "from",
			Meaning: "Where the discharge coefficient comes from.",
			Formula: "the spec's, or ISO 9300 by throat Reynolds number", Source: "ISO 9300:2005", Range: "see discharge_coefficient",
		},
		{
			Key: "throat_reynolds", Title: "throat Reynolds number",
			Meaning: "Reynolds number of the choked throat.",
			Formula: "4 ṁ/(π d μ0)", Source: "ISO 9300:2005", Range: always,
		},
		{
			Key: "diffuser_recovery", Title: "diffuser recovery",
			Meaning: "Share of the pressure drop into the throat that the diffuser gives back.",
			Formula: given, Source: "given in the spec; the default is common practice, no source", Range: "0 to 1",
		},
		{
			Key: "max_flow_kg_s", Title: "most air it passes",
			Meaning: "Air flow at which the throat of the restrictor chokes, or all n throats of it; no suction after it draws more.",
			Formula: "ṁ = n Cd π d²/4 p0/√(R T0) √γ (2/(γ+1))^((γ+1)/(2(γ−1)))",
			Source:  "NACA Report 1135 (1953), isentropic flow of a perfect gas", Range: "one-dimensional flow of nearly constant γ, 1.05 to 1.7",
		},
		{
			Key: "one_max_flow_kg_s", Title: "one of them",
			Meaning: "Air flow at which one of several equal restrictors chokes.",
			Formula: "ṁmax/n", Source: ours, Range: always,
		},
		{
			Key: "upstream_pressure_pa", Title: "pressure before it, choked",
			Meaning: "What the filter leaves of the venue's pressure when the throat is choked.",
			Formula: "p0 = p − k (c p0)² T/p, ṁmax = c p0",
			Source:  "loss of a fixed geometry with dynamic pressure; definition", Range: "losses up to a third of the pressure",
		},
		{
			Key: "throat_pressure_pa", Title: "pressure in the throat, choked",
			Meaning: "Static pressure in the choked throat.",
			Formula: "p0 (2/(γ+1))^(γ/(γ−1))", Source: "NACA Report 1135 (1953)", Range: "choked",
		},
		{
			Key: "throat_temperature_k", Title: "temperature in the throat, choked",
			Meaning: "Static temperature in the choked throat; below freezing, moist air can ice it.",
			Formula: "2 T0/(γ+1)", Source: "NACA Report 1135 (1953)", Range: "choked, no condensation",
		},
		{
			Key: "restrictor_outlet_pressure_pa", Title: "pressure after it as it chokes", Also: []string{"pressure after it"},
			Meaning: "Pressure after the diffuser; at choke the highest at which the throat chokes.",
			Formula: "p1 = pt + r (p0 − pt), ψ(pt/p0, γ) = ṁ √(R T0)/(n Cd A p0)",
			Source:  "NACA Report 1135 (1953), isentropic flow of a perfect gas, for the throat; the recovery r is a definition",
			Range:   "one-dimensional flow of nearly constant γ, 1.05 to 1.7; flow up to the choked flow; r and Cd do not change with flow",
		},
		{
			Key: "power_ceiling_w", Title: "power this air can make",
			Meaning: "Power that the most air which the restrictor passes can make, at the best power per kilogram of air that the engine has at any " +
				"of the speeds computed.",
			Formula: "ṁmax max(P/ṁ) = ṁmax x/(AFR b), x dry air in the air, b BSFC",
			Source:  ours, Range: "an upper bound: friction and back pressure where the throat chokes leave less",
		},
		{
			Key: "one_power_ceiling_w", Title: "with the air of one",
			Meaning: "Power that the most air of one of several equal restrictors can make.",
			Formula: "power ceiling/n", Source: ours, Range: "as power_ceiling_w",
		},
		{
			Key: "ceiling_bsfc_kg_j", Title: "at this BSFC",
			Meaning: "Specific consumption at the speed of best power per kilogram of air.",
			Formula: "b at max(P/ṁ)", Source: ours, Range: computed,
		},
		{
			Key: "ceiling_lambda", Title: "and lambda",
			Meaning: "Lambda at the speed of best power per kilogram of air.",
			Formula: "λ at max(P/ṁ)", Source: ours, Range: computed,
		},
		{
			Key: "ceiling_rpm", Title: "as the engine has at",
			Meaning: "Speed of best power per kilogram of air.",
			Formula: "N at max(P/ṁ)", Source: ours, Range: "to the step between the speeds",
		},
		{
			Key: "choke_boost_pa", Title: "choke boost",
			Meaning: "Boost at which the restrictor chokes at this speed. It is all the boost there is, whatever the target.",
			Formula: "operating point with a target of 5 bar, where the restrictor binds",
			Source:  ours, Range: "the spec's other limits hold and may come first",
		},
		{
			Key: "throat_flow_fraction", Title: "of choke flow",
			Meaning: "Air flow over the flow at which the throat chokes.",
			Formula: "ṁ/ṁmax", Source: ours, Range: "0 to 1",
		},
		{
			Key: "restrictor_loss_pa", Title: "pressure lost",
			Meaning: "Pressure before the restrictor less pressure after its diffuser.",
			Formula: "p0 − p1", Source: ours, Range: "up to choke, with the pressure before it that the filter leaves at choke",
		},
		{
			Key: "throat_mach", Title: "Mach in the throat",
			Meaning: "Mach number in the throat, 1 at choke.",
			Formula: "M = √(2/(γ−1) ((p0/pt)^((γ−1)/γ) − 1))",
			Source:  "NACA Report 1135 (1953), isentropic flow of a perfect gas", Range: "one-dimensional flow of nearly constant γ, 1.05 to 1.7",
		},
	}
}
