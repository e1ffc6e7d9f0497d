package sheet

import (
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A Spark is a run with what its phasing would be if the fuel did not knock, whose tables are asked for.
type Spark struct {
	*Run
	free *run.KnockFree
}

// Spark returns the run made ready for the tables about the spark.
func (r *Run) Spark() (*Spark, error) {
	free, err := r.KnockFree()
	if err != nil {
		return nil, err
	}
	return &Spark{r, free}, nil
}

// bestMargin makes the cell of octane numbers to spare at the best phasing, which stands out where they are short.
func bestMargin(octane float64, err error) table.Cell {
	switch {
	case err != nil:
		return table.Missing(err.Error())
	case octane < -check.OctaneSlack:
		return table.Num(octane).Toned(table.Caution)
	}
	return table.Num(octane)
}

// A sparkRow is one engine speed of a Spark.
type sparkRow struct {
	row
	freed  *run.Freed
	border run.Border
}

// FullLoad returns the spark and the burn that follows it at full load, over engine speed.
func (s *Spark) FullLoad() table.Table {
	rows := make([]sparkRow, len(s.Outcomes))
	borders := s.Borders()
	for i, o := range s.rows() {
		rows[i] = sparkRow{o, &s.free.Full[i], borders[i]}
	}
	solved := table.Known[sparkRow](func(r sparkRow) error { return solvedRow(r.row) })
	bordered := table.Known[sparkRow](func(r sparkRow) error { return r.border.Err })
	plain := func(f table.Field[row]) table.Field[sparkRow] {
		return table.Field[sparkRow]{Column: f.Column, Get: func(r sparkRow) table.Cell { return f.Get(r.row) }}
	}
	best := s.Engine.Combustion.BestCA50
	fields := []table.Field[sparkRow]{
		plain(speedField(airpath.NoteBurnHeld | airpath.NoteDelayHeld | airpath.NoteKnockUnmet | airpath.NotePeakPressureUnmet | airpath.NoteLambdaFar | airpath.NoteFlame | airpath.NoteAngleLongest)),
		plain(figure("manifold_pressure_pa", "manifold", units.Pressure, func(p *airpath.Point) float64 { return p.ManifoldPressure })),
		plain(detailIf(!s.Forced(), cells("boost_pa", "boost", units.GaugePressure, func(o row, _ *airpath.Point) table.Cell {
			return table.Num(o.Boost(s.Trim.Venue.Pressure))
		}))),
		plain(figure("torque_nm", "torque", units.Torque, func(p *airpath.Point) float64 { return p.Torque }).WithDigits(0)),
		plain(cells("spark_advance_deg", "spark", units.Angle, func(_ row, p *airpath.Point) table.Cell {
			c := table.Num(-p.SparkAngle)
			if p.Notes&airpath.NoteKnockUnmet != 0 {
				return c.Noted(noteUnmet).Toned(table.Failed)
			}
			return c
		})),
		plain(figure("ignition_delay_deg", "delay", units.Angle, func(p *airpath.Point) float64 { return p.BurnStart - p.SparkAngle })),
		plain(burnStart.InDetail()),
		plain(cells("ca50_deg", "CA50", units.Angle, func(_ row, p *airpath.Point) table.Cell { return lateCell(p, best) })),
		bordered.Number("border_spark_deg", "spark at limit", units.Angle, func(r sparkRow) float64 { return -r.border.Spark }),
		bordered.Number("border_ca50_deg", "CA50 at limit", units.Angle, func(r sparkRow) float64 { return r.border.CA50 }),
		plain(knockIntegral),
		solved.Answer("octane_margin", "octane to spare", units.Number, func(r sparkRow) (float64, error) {
			return s.OctaneMargin(&r.Point)
		}).WithDigits(1).InDetail(),
		solved.Cells("best_octane_margin", "octane to spare", units.Number, func(r sparkRow) table.Cell { return bestMargin(s.MarginAtBest(r.freed)) }).WithDigits(1),
		plain(peakPressure),
		plain(figure("peak_angle_deg", "peak at", units.Angle, func(p *airpath.Point) float64 { return p.PeakAngle })),
		plain(exhaustTemperature),
		plain(figure("charge_temperature_k", "charge", units.Temperature, func(p *airpath.Point) float64 { return p.ChargeTemperature })),
		plain(figure("octane_index", "octane index", units.Number, func(p *airpath.Point) float64 { return p.KnockOctane }).WithDigits(1)),
	}
	t := table.Of("spark at full load", rows, fields...)
	t.Trim = s.Trim.Name
	delay := "The ignition delay from spark to start of burning is the spec's table."
	if !run.DelayGiven(s.Trim) {
		delay = "The ignition delay from spark to start of burning is not in the spec: 4 deg at 2000 rpm for the stated condition, with the cube root of speed, is taken (common practice), and follows the charge. " +
			"Shift the whole spark by what a measured one differs."
	}
	t.Notes = append(s.knockRemarks(), fmt.Sprintf("Spark before firing top dead centre, CA50 and the peak's angle after it. CA50, half the charge burned, is best at %.1f deg; "+
		"knock or cylinder pressure hold it later. Manifold pressure absolute.", best*180/math.Pi),
		s.bandNote(),
		"Octane to spare: at this manifold pressure with the best phasing that the cylinder pressure limit leaves; negative, what the fuel would need more for it. Far from 0 it is a long extrapolation.", delay)
	if m := s.Trim.Manifold; m != nil && m.Spread != nil {
		t.Notes = append(t.Notes, "For cylinders that all have the same air: how much later the worst of manifold.spread wants it, the manifold command tells.")
	}
	return t
}

// bandNote says how far from knock the tables keep.
func (s *Spark) bandNote() string {
	c := s.Trim.Engine.Combustion
	return fmt.Sprintf("All of this, the base table too, keeps %.3g octane numbers clear of the knock limit: an integral of %.3f instead of %.3g, where the fastest cycles begin to knock. "+
		"At limit: the same charge burned as early as that.", c.KnockMargin, s.Engine.Combustion.KnockLimit, c.KnockLimit)
}

var (
	sparkAdvance = figure("spark_advance_deg", "spark", units.Angle, func(p *airpath.Point) float64 { return -p.SparkAngle })
	burnStart    = figure("burn_start_deg", "burn starts", units.Angle, func(p *airpath.Point) float64 { return p.BurnStart })
)

// lateCell is a point's CA50, which stands out when it is later than the best.
func lateCell(p *airpath.Point, best float64) table.Cell {
	c := table.Num(p.CA50)
	if check.Late(p.CA50, best) {
		return c.Toned(table.Caution)
	}
	return c
}

// changeWords names a change with its step.
func changeWords(c run.SparkChange) string {
	switch c {
	case run.MoreOctane:
		return fmt.Sprintf("octane number %v higher", run.OctaneStep)
	case run.WarmerCoolant:
		return fmt.Sprintf("coolant of the charge cooler %v K warmer", run.WarmerStep)
	case run.WarmerAir:
		return fmt.Sprintf("air %v K warmer, as moist", run.WarmerStep)
	case run.MoreCompression:
		return fmt.Sprintf("compression ratio %v higher", run.CompressionStep)
	}
	return fmt.Sprintf("lambda %v richer", run.LambdaStep)
}

// Effects returns what steps of the fuel, the charge's temperature, the compression and the mixture do to spark and torque at full load, at
// the speeds of peak torque and peak power: the engine solved anew with each. ok is false where no point has a solution.
func (s *Spark) Effects() (t table.Table, ok bool) {
	effects := s.free.SparkEffects()
	if effects == nil {
		return table.Table{}, false
	}
	known := table.Known[run.SparkEffect](func(e run.SparkEffect) error { return e.Err })
	by := func(key, title string, kind units.Kind, get func(p *airpath.Point) float64) table.Field[run.SparkEffect] {
		return known.Number(key, title, kind, func(e run.SparkEffect) float64 { return get(&e.After.Point) - get(&e.Before.Point) })
	}
	fields := []table.Field[run.SparkEffect]{
		table.Number("rpm", "speed", units.Speed, func(e run.SparkEffect) float64 { return e.Before.Speed }),
		table.Words("change", "change", func(e run.SparkEffect) string { return changeWords(e.Change) }),
		by("spark_change_deg", "spark by", units.Angle, func(p *airpath.Point) float64 { return -p.SparkAngle }),
		by("ca50_change_deg", "CA50 by", units.Angle, func(p *airpath.Point) float64 { return p.CA50 }),
		by("torque_change_nm", "torque by", units.Torque, run.Torque).WithDigits(1),
	}
	if s.Forced() {
		fields = append(fields, by("boost_change_pa", "boost by", units.PressureDifference, func(p *airpath.Point) float64 { return p.ManifoldPressure }).WithDigits(3))
	}
	fields = append(fields,
		known.Answer("octane_change", "octane to spare by", units.Number, func(e run.SparkEffect) (float64, error) { return e.OctaneChange() }).WithDigits(1),
		by("exhaust_change_k", "exhaust by", units.TemperatureDifference, func(p *airpath.Point) float64 { return p.TurbineInletTemperature }).WithDigits(0))
	t = table.Of("spark effects", effects, fields...)
	t.Trim = s.Trim.Name
	where := "At peak torque"
	if effects[0].Before != effects[len(effects)-1].Before {
		where = "At peak torque, then at peak power"
	}
	t.Notes = []string{where + ", full load: the engine solved anew with each change by itself. Where neither knock nor cylinder pressure holds the burn, the spark stays. " +
		"Octane to spare: as at full load. Lambda acts through temperatures, flame speed and, lean, knock delay."}
	return t, true
}
