package sheet

import (
	"errors"
	"slices"

	"bellmouth/internal/airpath"
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
			return "ISO 9300, toroidal throat: an upper bound, measured ones come out lower"
		}),
		table.Number("throat_reynolds", "throat Reynolds number", units.Number, func(*Run) float64 { return th.Discharge.Reynolds }).InDetail(),
		table.Number("diffuser_recovery", "diffuser recovery", units.Fraction, func(*Run) float64 { return res.Recovery }).WithDigits(0),
		table.Number("max_flow_kg_s", "most air it passes", units.MassFlow, func(*Run) float64 { return th.MaxFlow }),
		table.Number("one_max_flow_kg_s", "  one of them", units.MassFlow, func(*Run) float64 { return th.MaxFlow / several }),
		table.Number("upstream_pressure_pa", "pressure before it, choked", units.Pressure, func(*Run) float64 { return th.Upstream.Pressure }).WithDigits(3),
		table.Number("throat_pressure_pa", "pressure in the throat, choked", units.Pressure, func(*Run) float64 { return th.Pressure() }).WithDigits(3),
		table.Number("throat_temperature_k", "temperature in the throat, choked", units.Temperature, func(*Run) float64 { return th.Temperature() }),
		table.Number("restrictor_outlet_pressure_pa", "pressure behind it as it chokes", units.Pressure, func(*Run) float64 { return th.Onset }).WithDigits(3),
		ceiling.Number("power_ceiling_w", "power this air can make", units.Power, func(*Run) float64 { return power }).WithDigits(0),
		ceiling.Number("one_power_ceiling_w", "  with the air of one", units.Power, func(*Run) float64 { return power / several }).WithDigits(0),
		ceiling.Number("ceiling_bsfc_kg_j", "  at this BSFC", units.FuelConsumption, func(*Run) float64 { return at.Point.Consumption }),
		ceiling.Number("ceiling_lambda", "  and lambda", units.Number, func(*Run) float64 { return at.Point.Lambda }).WithDigits(2),
		ceiling.Number("ceiling_rpm", "  as the engine has at", units.Speed, func(*Run) float64 { return at.Speed }),
	}
	if several == 1 { // what holds for all holds for the one
		fields = slices.DeleteFunc(fields, func(f table.Field[*Run]) bool {
			return f.Key == "restrictor_count" || f.Key == "one_max_flow_kg_s" || f.Key == "one_power_ceiling_w"
		})
	}
	t := table.One("restrictor", r, fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Power ceiling: the most air, times the best power per kilogram of air that the engine has at any of the speeds computed " +
		"(lambda, BSFC and speed as listed). Friction and back pressure at the speed that takes all this air leave less."}
	return t, nil
}

// ChokeBoost returns, over engine speed, the boost at which the restrictor chokes: what the engine reaches when far more is
// asked for. Where something else comes first, it says what.
func (r *Run) ChokeBoost() table.Table {
	all := &Run{Run: r.Everything()}
	t := all.overSpeed("choke boost",
		speedField(allNotes),
		cells("choke_boost_pa", "choke boost", units.GaugePressure, func(o row, p *airpath.Point) table.Cell {
			if !p.Limits.Has(airpath.Restrictor) {
				return table.Missing("does not choke: another limit comes first")
			}
			return table.Num(o.Boost(o.run.Trim.Venue.Pressure))
		}),
		table.Cells("limits", "limited by", units.Number, limitCell),
		cells("boost_pa", "most boost", units.GaugePressure, func(o row, _ *airpath.Point) table.Cell {
			return table.Num(o.Boost(o.run.Trim.Venue.Pressure))
		}),
		figure("air_flow_kg_s", "air", units.MassFlow, func(p *airpath.Point) float64 { return p.AirFlow }),
		cells("throat_flow_fraction", "of choke flow", units.Fraction, func(_ row, p *airpath.Point) table.Cell {
			return table.Num(p.AirFlow / p.RestrictorFlow)
		}),
		figure("torque_nm", "torque", units.Torque, func(p *airpath.Point) float64 { return p.Torque }).WithDigits(0),
		figure("power_w", "power", units.Power, func(p *airpath.Point) float64 { return p.Power }),
	)
	if r.Forced() {
		t.Notes = []string{"The boost at which the restrictor chokes: all the boost there is, whatever the spec's target. The other limits of the spec hold."}
	} else {
		t.Columns[1].Title, t.Columns[3].Title = "choke, manifold", "manifold"
		t.Notes = []string{"Manifold pressure above the venue's: negative here."}
	}
	return t
}

// RestrictorLoss returns the pressure behind the restrictor below choke.
func (r *Run) RestrictorLoss() (table.Table, error) {
	th, err := r.Throat()
	if err != nil {
		return table.Table{}, err
	}
	shares := []float64{0.2, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 1}
	t := table.Of("restrictor loss", shares,
		table.Number("throat_flow_fraction", "of choke flow", units.Fraction, func(s float64) float64 { return s }).WithDigits(0),
		table.Number("air_flow_kg_s", "air", units.MassFlow, func(s float64) float64 { return s * th.MaxFlow }),
		table.Number("restrictor_outlet_pressure_pa", "behind it", units.Pressure, func(s float64) float64 { return th.OutletPressure(s * th.MaxFlow) }).WithDigits(3),
		table.Number("restrictor_loss_pa", "lost", units.PressureDifference, func(s float64) float64 { return th.Loss(s * th.MaxFlow) }).WithDigits(3),
		table.Number("throat_mach", "Mach in the throat", units.Number, func(s float64) float64 { return th.ThroatMach(s * th.MaxFlow) }).WithDigits(2),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{"Below choke, with the pressure before it that the filter leaves at choke."}
	return t, nil
}
