package sheet

import (
	"fmt"

	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// CrankLoads returns what rods, pistons and crank pins carry at full load over engine speed. ok is false without a bottom end in the spec.
func (r *Run) CrankLoads() (t table.Table, ok bool, err error) {
	if !r.HasBottomEnd() {
		return table.Table{}, false, nil
	}
	cranks, err := run.NewCranks(r.Run)
	if err != nil {
		return table.Table{}, false, err
	}
	loads := make([]run.CrankLoad, len(r.Outcomes))
	for i := range loads {
		loads[i] = cranks.At(&r.Outcomes[i])
	}
	known := table.Known[run.CrankLoad](func(l run.CrankLoad) error { return l.Err })
	pinned := known.And(func(l run.CrankLoad) error {
		if l.PinArea == 0 {
			return run.ErrNoPin
		}
		return nil
	})
	limits := r.Trim.Limits
	force := func(key, title string, k run.LoadKind, limit float64) table.Field[run.CrankLoad] {
		return known.Cells(key, title, units.Force, func(l run.CrankLoad) table.Cell {
			x := l.Peak(k).Value
			return table.Num(x).Toned(failedIf(limit > 0 && check.Passes(x, limit)))
		}).WithDigits(table.Hundreds)
	}
	angle := func(key string, k run.LoadKind) table.Field[run.CrankLoad] {
		return known.Number(key, "at", units.Angle, func(l run.CrankLoad) float64 { return l.Peak(k).Angle }).WithDigits(0)
	}
	t = table.Of("crank train", loads,
		table.Number("rpm", "speed", units.Speed, func(l run.CrankLoad) float64 { return l.Speed }),
		force("rod_compression_n", "rod push", run.RodCompression, limits.RodCompression),
		angle("rod_compression_angle_deg", run.RodCompression),
		force("rod_tension_n", "rod pull", run.RodTension, limits.RodTension),
		angle("rod_tension_angle_deg", run.RodTension),
		force("side_thrust_n", "side thrust", run.SideThrust, 0),
		angle("side_thrust_angle_deg", run.SideThrust),
		pinned.Cells("pin_peak_pressure_pa", "crank pin peak", units.Stress, func(l run.CrankLoad) table.Cell {
			x := l.PinPressure()
			return table.Num(x).Toned(failedIf(limits.CrankPinPressure > 0 && check.Passes(x, limits.CrankPinPressure)))
		}),
		angle("pin_peak_angle_deg", run.PinLoad),
		pinned.Number("pin_mean_pressure_pa", "crank pin mean", units.Stress, func(l run.CrankLoad) float64 { return l.MeanPinPressure() }),
		known.Number("bolt_pull_n", "pull on rod bolts", units.Force,
			func(l run.CrankLoad) float64 { return l.Joint.Value }).WithDigits(table.Hundreds).InDetail(),
		known.Number("mean_indicated_torque_nm", "mean torque", units.Torque, func(l run.CrankLoad) float64 { return l.MeanTorque }).WithDigits(1).InDetail(),
	)
	t.Trim = r.Trim.Name
	end := r.Trim.Engine.BottomEnd
	t.Notes = []string{fmt.Sprintf("Full load, the mean cycle, one cylinder; %s in the crankcase. Angles after firing top dead centre.",
		units.Mark(end.CrankcasePressure, units.Pressure))}
	return t, true, nil
}

// worstLoads are the kinds of loads with their names.
var worstLoads = []struct {
	kind run.LoadKind
	name string
}{
	{run.RodCompression, "rod push"}, {run.RodTension, "rod pull"}, {run.SideThrust, "side thrust"}, {run.PinLoad, "load on the crank pin"},
	{run.BoltLoad, "pull on rod bolts"},
}

// WorstLoads returns the greatest loads over speed and on the overrun. ok is false without a bottom end, or where no point has a solution.
func (r *Run) WorstLoads() (t table.Table, ok bool) {
	if !r.HasBottomEnd() {
		return table.Table{}, false
	}
	v := r.Review()
	loads, overrun := v.CrankLoads(), v.Overrun()
	var rows []run.WorstLoad
	for _, k := range worstLoads {
		if w, ok := run.Worst(k.kind, loads, overrun); ok {
			rows = append(rows, w)
		}
	}
	if rows == nil {
		return table.Table{}, false
	}
	t = table.Of("worst loads", rows,
		table.Words("load", "load", func(w run.WorstLoad) string {
			for _, k := range worstLoads {
				if k.kind == w.Kind {
					return k.name
				}
			}
			return ""
		}),
		table.Number("load_n", "greatest", units.Force, func(w run.WorstLoad) float64 { return w.Value }).WithDigits(table.Hundreds),
		table.Number("worst_rpm", "worst at", units.Speed, func(w run.WorstLoad) float64 { return w.Load.Speed }),
		table.Number("load_angle_deg", "crank angle", units.Angle, func(w run.WorstLoad) float64 { return w.Angle }).WithDigits(0),
		table.Words("state", "state", func(w run.WorstLoad) string {
			if w.Overrun {
				return "overrun"
			}
			return "full load"
		}),
	)
	t.Trim = r.Trim.Name
	end := r.Trim.Engine.BottomEnd
	t.Notes = []string{fmt.Sprintf("Overrun: at the limiter with the throttle closed, %s in the cylinder at the top dead centre of gas exchange.",
		units.Mark(end.OverrunPressure, units.Pressure))}
	return t, true
}

// RodBolts returns the rod bolts under the greatest pull. ok is false without them.
func (r *Run) RodBolts() (t table.Table, ok bool) {
	if end := r.Trim.Engine.BottomEnd; end == nil || end.RodBolts == nil {
		return table.Table{}, false
	}
	v := r.Review()
	c, ok := v.Fine.RodClamp(v.CrankLoads(), v.Overrun())
	if !ok {
		return table.Table{}, false
	}
	t = clampTable("rod bolts", &c, r.Trim.Limits.RodBoltMargin, "pull on rod and cap")
	state := "at full load"
	if c.Overrun {
		state = "on the overrun"
	}
	t.Trim, t.Notes = r.Trim.Name, []string{fmt.Sprintf("The greatest pull is %s. Bending of the cap adds to the stress and is not in it.", state)}
	return t, true
}

// HeadBolts returns the head's bolts under the greatest peak pressure. ok is false without them.
func (r *Run) HeadBolts() (t table.Table, ok bool) {
	c, ok := r.Review().Fine.HeadClamp()
	if !ok {
		return table.Table{}, false
	}
	t = clampTable("head bolts", &c, r.Trim.Limits.HeadClampMargin, "lift of one cylinder")
	t.Trim = r.Trim.Name
	t.Notes = []string{"At the peak pressure of the mean cycle: single cycles go higher, and knocking ones far higher."}
	return t, true
}

func clampTable(name string, c *run.Clamp, least float64, force string) table.Table {
	fields := []table.Field[*run.Clamp]{
		table.Number("tightening_torque_nm", "tightening torque", units.Torque, func(c *run.Clamp) float64 { return c.Torque }).WithDigits(1),
		table.Number("bolt_preload_n", "preload of a bolt", units.Force, func(c *run.Clamp) float64 { return c.Preload.Nominal }).WithDigits(table.Hundreds),
		table.Number("least_bolt_preload_n", "  least, as tightening scatters", units.Force,
			func(c *run.Clamp) float64 { return c.Preload.Least }).WithDigits(table.Hundreds),
		table.Number("most_bolt_preload_n", "  greatest", units.Force, func(c *run.Clamp) float64 { return c.Preload.Most }).WithDigits(table.Hundreds),
		table.Number("bolts_sharing", "bolts that share the force", units.Number, func(c *run.Clamp) float64 { return c.Count }).WithDigits(1),
		table.Number("parting_force_n", force, units.Force, func(c *run.Clamp) float64 { return c.Force }).WithDigits(table.Hundreds),
		table.Number("parting_rpm", "  at", units.Speed, func(c *run.Clamp) float64 { return c.Speed }),
		table.Number("lift_off_force_n", "lifts off at", units.Force, func(c *run.Clamp) float64 { return c.LiftOff() }).WithDigits(table.Hundreds),
		table.Cells("clamp_margin", "margin, of the least clamp", units.Fraction, func(c *run.Clamp) table.Cell {
			return table.Num(c.Left()).Toned(failedIf(check.Lacks(c.Left(), least)))
		}),
		table.Number("stress_area_m2", "area that carries", units.Area, func(c *run.Clamp) float64 { return c.StressArea() }).WithDigits(3),
		table.Number("tightening_stress_pa", "stress while tightened", units.Stress,
			func(c *run.Clamp) float64 { return c.TighteningStress(c.Preload.Most) }).WithDigits(0),
		table.Number("working_stress_pa", "stress under load", units.Stress, func(c *run.Clamp) float64 { return c.Pull() }).WithDigits(0),
	}
	if c.Proof > 0 {
		fields = append(fields,
			table.Number("proof_stress_pa", "proof stress", units.Stress, func(c *run.Clamp) float64 { return c.Proof }).WithDigits(0),
			table.Cells("proof_share", "greatest stress, of it", units.Fraction, func(c *run.Clamp) table.Cell {
				x := check.BoltStress(c)
				return table.Num(x / c.Proof).Toned(failedIf(check.Passes(x, c.Proof)))
			}))
	}
	return table.One(name, c, fields...)
}

// loadsEntries explain the columns above.
func loadsEntries() []formula.Entry {
	const (
		crank = "slider-crank, closed form; Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 2, ch. 8; the rod as two point masses"
		mean  = "steady speed; the mean cycle; rigid parts, no friction"
		angle = "degrees after firing top dead centre, from -360 to 360; 360 is the top dead centre of gas exchange"
		vdi   = "VDI 2230:2001, from memory; its table of fine threads is met within 0.4 %"
		joint = "the bolted joint as two springs, closed form; VDI 2230:2001"
	)
	at := func(key, what string) formula.Entry {
		return formula.Entry{Key: key, Title: "at", Meaning: "Crank angle of " + what + ", after firing top dead centre.", Formula: "where it is greatest",
			Source: crank, Range: angle}
	}
	return []formula.Entry{
		{Key: "rod_compression_n", Title: "rod push", Meaning: "Greatest push along a rod within the cycle.",
			Formula: "F/cos β, F = (p − pc) Ap − (mp + mA) x″ N²", Source: crank, Range: mean},
		{Key: "rod_tension_n", Title: "rod pull", Meaning: "Greatest pull along a rod within the cycle, mostly at the top dead centre of gas exchange.",
			Formula: "−F/cos β, F = (p − pc) Ap − (mp + mA) x″ N²", Source: crank, Range: mean},
		{Key: "side_thrust_n", Title: "side thrust", Meaning: "Greatest force of a piston on its wall, on either side.",
			Formula: "|F tan β|, sin β = (a sin φ − e)/l", Source: crank, Range: mean},
		{Key: "pin_peak_pressure_pa", Title: "crank pin peak", Meaning: "Greatest load on a rod's bearing over its projected area, diameter times length.",
			Formula: "|rod + mB a N²|/(D L)", Source: crank, Range: mean + "; dimensions of engine.friction.crank_pin"},
		{Key: "pin_mean_pressure_pa", Title: "crank pin mean", Meaning: "Mean of the load on a rod's bearing over the cycle, over its projected area.",
			Formula: "mean of |rod + mB a N²| over crank angle/(D L)", Source: crank, Range: mean + "; dimensions of engine.friction.crank_pin"},
		at("rod_compression_angle_deg", "the greatest push on the rod"), at("rod_tension_angle_deg", "the greatest pull on the rod"),
		at("side_thrust_angle_deg", "the greatest side thrust"), at("pin_peak_angle_deg", "the greatest load on the crank pin"),
		{Key: "bolt_pull_n", Title: "pull on rod bolts", Meaning: "Greatest force that pulls rod and cap apart within the cycle, for all bolts of a rod.",
			Formula: "−rod + (mB − mc) a N² cos(φ + β)", Source: crank, Range: mean},
		{Key: "mean_indicated_torque_nm", Title: "mean torque",
			Meaning: "Mean torque of gas and masses of one cylinder over the cycle: its indicated work, gas exchange included.",
			Formula: "mean of F dx/dθ = (IMEP − PMEP) Vd/(4 π)", Source: "conservation of work", Range: mean},
		{Key: "load", Title: "load", Meaning: "What part of the crank train is loaded, and how.", Formula: seeRow, Source: crank, Range: mean},
		{Key: "load_n", Title: "greatest", Meaning: "The greatest of the load over all speeds at full load, and for pulls on the overrun too.",
			Formula: seeRow, Source: crank, Range: mean},
		{Key: "load_angle_deg", Title: "crank angle", Meaning: "Crank angle of the load, after firing top dead centre.", Formula: "where it is greatest",
			Source: crank, Range: angle},
		{Key: "state", Title: "state", Meaning: "Full load, or the overrun: at the limiter with the throttle closed.", Formula: "the worse of the two",
			Source: ours, Range: always},
		{Key: "tightening_torque_nm", Title: "tightening torque", Meaning: "Torque that each bolt is tightened with, or that its preload would take.",
			Formula: "MA = FM (0.16 P + 0.58 d2 µG + DKm/2 µK), DKm = (dw + dh)/2", Source: vdi, Range: "metric thread of 60°"},
		{Key: "bolt_preload_n", Title: "preload of a bolt", Meaning: "Pull in a bolt that is tightened as stated.",
			Formula: "FM = MA/(0.16 P + 0.58 d2 µG + DKm/2 µK)", Source: vdi, Range: "metric thread of 60°"},
		{Key: "least_bolt_preload_n", Title: "least, as tightening scatters", Meaning: "Preload of the bolt that got least of it.",
			Formula: "2 FM/(1 + αA)", Source: joint, Range: always},
		{Key: "most_bolt_preload_n", Title: "greatest", Meaning: "Preload of the bolt that got most of it.", Formula: "2 FM αA/(1 + αA)", Source: joint,
			Range: always},
		{Key: "bolts_sharing", Title: "bolts that share the force", Meaning: "Bolts of one rod, or those of the head over the number of cylinders.",
			Formula: "given", Source: ours, Range: always},
		{Key: "parting_force_n", Title: "pull on rod and cap", Also: []string{"lift of one cylinder"},
			Meaning: "Greatest force that pulls the joint apart: on the rod bolts gas and masses, on the head the peak pressure on its sealed area.",
			Formula: "−rod + (mB − mc) a N² cos(φ + β); (pmax − pa) π/4 ds²", Source: crank, Range: mean},
		{Key: "parting_rpm", Title: "at", Meaning: "Engine speed of that force.", Formula: "where it is greatest", Source: ours, Range: always},
		{Key: "lift_off_force_n", Title: "lifts off at", Meaning: "Force at which the parts of the joint lift off each other, all bolts at their least preload.",
			Formula: "n Fmin/(1 − Φ)", Source: joint, Range: "elastic parts, the force in line with the bolts"},
		{Key: "clamp_margin", Title: "margin, of the least clamp",
			Meaning: "What the force leaves of the clamp, as a share of the least preload. Below 0 the parts lift off each other.",
			Formula: "1 − (1 − Φ) F/(n Fmin)", Source: joint, Range: "elastic parts, the force in line with the bolts"},
		{Key: "stress_area_m2", Title: "area that carries", Meaning: "Area of the bolt that carries: that of the thread, or of a thinner shank.",
			Formula: "π/4 ((d2 + d3)/2)², d2 = d − 0.6495 P, d3 = d − 1.2269 P", Source: "ISO 898-1", Range: "metric thread of 60°"},
		{Key: "tightening_stress_pa", Title: "stress while tightened", Meaning: "Equivalent stress of a bolt of the greatest preload while it is turned.",
			Formula: "√(σ² + 3 τ²), τ = FM (0.16 P + 0.58 d2 µG)/(π/12 d0³)", Source: vdi, Range: "below yield"},
		{Key: "working_stress_pa", Title: "stress under load",
			Meaning: "Equivalent stress of a bolt of the greatest preload under its share of the force, half of the torsion left.",
			Formula: "√(((Fmax + Φ F/n)/A0)² + 3 (τ/2)²)", Source: vdi, Range: "below yield"},
		{Key: "proof_stress_pa", Title: "proof stress", Meaning: "Stress that the bolts may be pulled with.", Formula: "given", Source: ours, Range: always},
		{Key: "proof_share", Title: "greatest stress, of it", Meaning: "The greater of the two stresses over the proof stress.", Formula: "σ/σp",
			Source: ours, Range: always},
	}
}
