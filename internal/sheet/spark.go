package sheet

import (
	"fmt"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A Spark is a run with where its burn would be if the fuel did not knock, whose tables are asked for.
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

// octaneCell makes a cell of the octane at best CA50, which stands out where the fuel has too little.
func (s *Spark) octaneCell(f *run.Freed, octane func(f *run.Freed) (float64, error)) table.Cell {
	value, err := octane(f)
	if err != nil {
		return table.Missing(err.Error())
	}
	c := table.Num(value)
	if margin, err := s.MarginAtBest(f); err == nil && margin < -check.OctaneSlack {
		c = c.Toned(table.Caution)
	}
	return c
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
		plain(speedField(airpath.NoteBurnHeld | airpath.NoteDelayHeld | airpath.NoteKnockUnmet | airpath.NotePeakPressureUnmet |
			airpath.NoteLambdaFar | airpath.NoteFlame | airpath.NoteAngleLongest)),
		plain(manifoldPressure),
		plain(detailIf(!s.Forced(), boostReached)),
		plain(figure("torque_nm", "torque", units.Torque, func(p *airpath.Point) float64 { return p.Torque }).WithDigits(0)),
		plain(cells("spark_advance_deg", "spark", units.Angle, func(_ row, p *airpath.Point) table.Cell {
			c := table.Num(-p.SparkAngle)
			if p.Notes&airpath.NoteKnockUnmet != 0 {
				return c.Noted(noteUnmet).Toned(table.Failed)
			}
			return c
		})),
		plain(figure("ignition_delay_deg", "ignition delay", units.Angle, func(p *airpath.Point) float64 { return p.BurnStart - p.SparkAngle }).InDetail()),
		plain(burnStart.InDetail()),
		plain(cells("ca50_deg", "CA50", units.Angle, func(_ row, p *airpath.Point) table.Cell { return lateCell(p, best) })),
		bordered.Number("border_spark_deg", "spark at limit", units.Angle, func(r sparkRow) float64 { return -r.border.Spark }),
		bordered.Number("border_ca50_deg", "CA50 at limit", units.Angle, func(r sparkRow) float64 { return r.border.CA50 }).InDetail(),
		plain(knockIntegral),
		solved.Answer("octane_margin", "octane to spare", units.Number, func(r sparkRow) (float64, error) {
			return s.OctaneMargin(&r.Point)
		}).WithDigits(1).InDetail(),
		solved.Cells("best_octane_margin", spareAtBest, units.Number, func(r sparkRow) table.Cell {
			return s.octaneCell(r.freed, s.MarginAtBest)
		}).WithDigits(1).InDetail(),
		solved.Cells("best_octane_index", octaneForBest, units.Number, func(r sparkRow) table.Cell {
			return s.octaneCell(r.freed, s.IndexForBest)
		}).WithDigits(1),
		plain(figure("octane_index", "octane index", units.Number, func(p *airpath.Point) float64 { return p.KnockOctane }).WithDigits(1)),
		plain(peakPressure),
		plain(figure("peak_angle_deg", "peak at", units.Angle, func(p *airpath.Point) float64 { return p.PeakAngle }).InDetail()),
		plain(exhaustTemperature),
		plain(figure("charge_temperature_k", "charge", units.Temperature, func(p *airpath.Point) float64 { return p.ChargeTemperature }).InDetail()),
	}
	t := table.Of("spark at full load", rows, fields...)
	t.Trim = s.Trim.Name
	t.Notes = append(s.knockRemarks(), bestNote(best), s.bandNote(), farNote)
	if !run.DelayGiven(s.Trim) {
		t.Notes = append(t.Notes, "The spec has no ignition.delay, so a common one is taken: shift the whole spark by what a measured one differs.")
	}
	if m := s.Trim.Manifold; m != nil && m.Spread != nil {
		t.Notes = append(t.Notes, "The manifold command tells how much later the spark has to be for the worst cylinder of manifold.spread.")
	}
	return t
}

// The heads of the octane at best CA50: the number that is needed, and what the fuel has more than that.
const (
	octaneForBest = "octane for best CA50"
	spareAtBest   = "octane to spare at best CA50"
)

// farNote stands below tables of the octane for best CA50.
const farNote = "An octane for best CA50 far from the octane index is a long extrapolation: it tells which way, not how far."

// bestNote says which CA50 is the best.
func bestNote(best float64) string {
	return fmt.Sprintf("Best CA50 is %s. Knock or cylinder pressure holds a later one, which costs torque.", units.Mark(best, units.Angle))
}

// bandNote says how far from knock the tables keep.
func (s *Spark) bandNote() string {
	c := s.Trim.Engine.Combustion
	return fmt.Sprintf("Spark and base table keep %.3g octane numbers clear of knock, at a knock integral of %.3f; the fastest cycles begin to knock at %.3g.",
		c.KnockMargin, s.Engine.Combustion.KnockLimit, c.KnockLimit)
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
	warmer := units.Whole(run.WarmerStep, units.TemperatureDifference)
	switch c {
	case run.MoreOctane:
		return fmt.Sprintf("octane number %v higher", run.OctaneStep)
	case run.WarmerCoolant:
		return fmt.Sprintf("coolant of the charge cooler %s warmer", warmer)
	case run.WarmerAir:
		return fmt.Sprintf("air %s warmer, as moist", warmer)
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
		fields = append(fields, by("boost_change_pa", "boost by", units.PressureDifference, func(p *airpath.Point) float64 { return p.ManifoldPressure }).
			WithDigits(3))
	}
	fields = append(fields,
		known.Answer("octane_change", "octane to spare by", units.Number, func(e run.SparkEffect) (float64, error) { return e.OctaneChange() }).
			WithDigits(1).InDetail(),
		known.Answer("best_octane_index_change", octaneForBest+" by", units.Number, func(e run.SparkEffect) (float64, error) { return e.IndexChange() }).
			WithDigits(1),
		by("exhaust_change_k", "EGT by", units.TemperatureDifference, func(p *airpath.Point) float64 { return p.TurbineInletTemperature }).WithDigits(0))
	t = table.Of("spark effects", effects, fields...)
	t.Trim = s.Trim.Name
	where := "At peak torque"
	if effects[0].Before != effects[len(effects)-1].Before {
		where = "At peak torque, then at peak power"
	}
	t.Notes = []string{where + ", full load. Where neither knock nor cylinder pressure holds the burn, the spark stays as it is."}
	return t, true
}

// sparkEntries explain the columns above.
func sparkEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "spark_advance_deg", Title: "spark",
			Meaning: "Crank angle of the spark before firing top dead centre, negative after it. " +
				"It is a starting point for a dynamometer with knock detection, not a calibration. " +
				"It is the earliest, not before best CA50, that keeps engine.combustion.knock_margin octane numbers clear of knock, " +
				"the same for all cylinders. " +
				"Light load burns slower and has an earlier spark, boost burns faster.",
			Formula: "α = δ − θs, δ the ignition delay, θs the start of burning after top dead centre",
			Source:  ours, Range: "as the start of burning and the ignition delay",
		},
		{
			Key: "ignition_delay_deg", Title: "ignition delay",
			Meaning: "Crank angle from the spark to the start of the Wiebe burn. " +
				"The spec gives it, or a common one is taken, for the stated condition; it follows the charge from there.",
			Formula: "the spec's table, or 4° (N/2000 rpm)^(1/3), for the stated condition; × ignition_delay_factor for the charge",
			Source: "exponent and factor: Hires, Tabaczynski and Novak, SAE 780232 (1978), from memory; " +
				"the 4° are common practice, no source",
			Range: "1000 to 10000 rpm for the default",
		},
		{
			Key: "border_spark_deg", Title: "spark at limit",
			Meaning: "Spark before firing top dead centre with which the fastest cycles of this charge begin to knock; no earlier than at best CA50. " +
				"The spark of the table is later by what engine.combustion.knock_margin keeps clear.",
			Formula: "the spark at which the mean cycle's knock integral is engine.combustion.knock_limit, air and exhaust as they are",
			Source:  "as knock_integral; the limit below 1 is common practice, no source", Range: "within best and latest CA50",
		},
		{
			Key: "border_ca50_deg", Title: "CA50 at limit",
			Meaning: "CA50 with which the fastest cycles of this charge begin to knock; no earlier than the best.",
			Formula: "as border_spark_deg", Source: "as border_spark_deg", Range: "within best and latest CA50",
		},
		{
			Key: "octane_margin", Title: "octane to spare",
			Meaning: "Octane numbers to spare with the spark as it is, before the knock integral meets the one accepted; " +
				"negative where they are short, 0 where knock holds the burn late.",
			Formula: "ON (1 − (K/Kl)^(1/3.402)), K the knock integral, Kl its limit",
			Source:  "τ ~ ON^3.402: Douaud and Eyzat, SAE 780080 (1978); derived",
			Range:   "same spark, charge and speed; octane 80 to 100, else an extrapolation",
		},
		{
			Key: "best_octane_margin", Title: spareAtBest,
			Meaning: "Octane index that the fuel has less the one that best CA50 needs at the same MAP; negative where the fuel has too little.",
			Formula: "OI (1 − (K/Kl)^(1/3.402)), as best_octane_index",
			Source:  "as octane_margin", Range: "as best_octane_index",
		},
		{
			Key: "best_octane_index", Title: octaneForBest,
			Meaning: "Octane index that a fuel needs at this MAP for best CA50, or for the earliest that the cylinder pressure limit leaves, " +
				"with engine.combustion.knock_margin kept clear. " +
				"The octane index is what the fuel has there. Where that is less, knock holds the burn later than best, which costs torque; " +
				"the knock integral keeps its limit all the same.",
			Formula: "OI (K/Kl)^(1/3.402), OI and K octane index and knock integral of the engine solved anew with a knock limit of 10, " +
				"Kl the limit accepted",
			Source: "τ ~ ON^3.402: Douaud and Eyzat, SAE 780080 (1978); derived",
			Range:  "octane 80 to 100; else an extrapolation, the longer the further it is from octane_index",
		},
		{
			Key: "octane_index", Title: "octane index",
			Meaning: "What the fuel has: octane number of the primary reference fuel that knocks as it does in this engine. " +
				"An alcohol's RON counts without the cold charge that it makes in its test, since the cycle computes that.",
			Formula: "OI = RON − K (RON − MON); or the octane number stated for knock",
			Source: "Kalghatgi, SAE 2001-01-3584; Zhou et al., SAE 2017-01-0666; " +
				"cooling of alcohols estimated, 7 K to an octane number by SAE 960497 (1996)",
			Range: "petrol and alcohols; over 100 the delay is an extrapolation",
		},
		{
			Key: "burn_start_deg", Title: "burn starts",
			Meaning: "Crank angle at which burning starts, negative before firing top dead centre. The spark is earlier by the ignition delay.",
			Formula: "from CA50 by the Wiebe function xb = 1 − exp(−5 y³)",
			Source:  "Heywood, Internal Combustion Engine Fundamentals (1988), eq. 9.30", Range: always,
		},
		{
			Key: "change", Title: "change",
			Meaning: "What is changed, by itself; the rest stays as the spec has it. " +
				"Lambda acts through temperatures, flame speed and, lean, the knock delay.",
			Formula: "octane number + 1; coolant of the charge cooler, or the venue's air at the same share of water, + 10 K; " +
				"compression ratio + 0.2; λ − 0.02",
			Source: ours, Range: always,
		},
		{
			Key: "spark_change_deg", Title: "spark by",
			Meaning: "By how much the change lets the spark be earlier; negative later.",
			Formula: "the engine solved anew with the change, less the engine as it is",
			Source:  ours, Range: "steady full load with the spec's target boost",
		},
		{
			Key: "ca50_change_deg", Title: "CA50 by",
			Meaning: "By how much the change moves CA50; negative earlier.",
			Formula: "the engine solved anew with the change, less the engine as it is",
			Source:  ours, Range: "steady full load with the spec's target boost",
		},
		{
			Key: "torque_change_nm", Title: "torque by",
			Meaning: "What the change adds to the torque.",
			Formula: "the engine solved anew with the change, less the engine as it is",
			Source:  ours, Range: "steady full load with the spec's target boost",
		},
		{
			Key: "boost_change_pa", Title: "boost by",
			Meaning: "What the change adds to the boost.",
			Formula: "the engine solved anew with the change, less the engine as it is",
			Source:  ours, Range: "steady full load with the spec's target boost",
		},
		{
			Key: "octane_change", Title: "octane to spare by",
			Meaning: "What the change adds to the octane numbers to spare at best CA50.",
			Formula: "the engine solved anew with the change, less the engine as it is",
			Source:  ours, Range: "steady full load with the spec's target boost",
		},
		{
			Key: "best_octane_index_change", Title: octaneForBest + " by",
			Meaning: "What the change adds to the octane index that best CA50 needs. " +
				"A better fuel changes what there is and next to nothing of what is needed.",
			Formula: "the engine solved anew with the change, less the engine as it is",
			Source:  ours, Range: "as best_octane_index",
		},
		{
			Key: "exhaust_change_k", Title: "EGT by",
			Meaning: "What the change adds to EGT, before the turbine.",
			Formula: "the engine solved anew with the change, less the engine as it is",
			Source:  ours, Range: "steady full load with the spec's target boost",
		},
	}
}
