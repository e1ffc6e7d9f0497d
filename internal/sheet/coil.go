package sheet

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/run"
	"bellmouth/internal/spark"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// kept is the share of the coil's voltage that is kept back for worn plugs, damp leads and single cycles: common practice, no source.
const kept = 0.20

const keptText = "20 %, common practice, no source"

// coil returns the trim's ignition coil, or nil.
func (r *Run) coil() *spark.Coil {
	if r.Trim.Ignition == nil {
		return nil
	}
	return r.Trim.Ignition.Coil
}

// fire returns what the coil gives at an engine speed, rad/s, and a supply voltage, V.
func (r *Run) fire(speed, voltage float64) (spark.Firing, error) {
	dwell, _, err := r.Trim.Ignition.DwellAt(voltage)
	if err != nil {
		return spark.Firing{}, err
	}
	return r.coil().Fire(spark.Demand{Dwell: dwell, Voltage: voltage, Speed: speed})
}

// breakdown returns the voltage that the plug's gap wants at a point.
func (r *Run) breakdown(p *airpath.Point) (float64, error) {
	if !(p.SparkPressure > 0) {
		return 0, errors.New("the spark comes before the inlet valve has closed")
	}
	return spark.BreakdownVoltage(r.Trim.Ignition.Gap, sparkState(p))
}

func sparkState(p *airpath.Point) spark.State {
	return spark.State{Pressure: p.SparkPressure, Temperature: p.SparkTemperature}
}

// voltageMargin returns the share of the coil's voltage that the gap leaves at a point.
func (r *Run) voltageMargin(p *airpath.Point, voltage float64) (float64, error) {
	f, err := r.fire(p.Speed, voltage)
	if err != nil {
		return 0, err
	}
	wanted, err := r.breakdown(p)
	if err != nil {
		return 0, err
	}
	return spark.VoltageMargin(f.AvailableVoltage, wanted)
}

// leastMargin returns the least share of the coil's voltage that the gap leaves at full load, and where; nil where none is known.
func (r *Run) leastMargin(voltage float64) (least float64, at *boost.Outcome) {
	if !r.sparks() {
		return 0, nil
	}
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		if o.Err != nil {
			continue
		}
		if m, err := r.voltageMargin(&o.Point, voltage); err == nil && (at == nil || m < least) {
			least, at = m, o
		}
	}
	return least, at
}

// sparks reports whether the trim has a coil of which the voltage is known, and a gap that it is for.
func (r *Run) sparks() bool {
	return r.coil() != nil && r.coil().RatedCurrent > 0 && r.Trim.Ignition.Gap > 0
}

// marginCell is a share of the coil's voltage left, which stands out when it is less than is kept back.
func marginCell(margin float64) table.Cell {
	c := table.Num(margin)
	switch {
	case margin < 0:
		return c.Toned(table.Failed)
	case margin < kept:
		return c.Toned(table.Caution)
	}
	return c
}

// supplyVoltages returns the voltages, V, at which the coil is computed: a charging 12 V system's, a flat battery's, and the spec's own; those
// of a system of several times 12 V likewise.
func supplyVoltages(own float64) []float64 {
	system := math.Max(1, math.Round(own/13.5))
	voltages := []float64{own, 14 * system, 12 * system, 11 * system}
	slices.Sort(voltages)
	slices.Reverse(voltages)
	return slices.Compact(voltages)
}

// CoilVoltage returns the dwell over supply voltage and what it gives. ok is false without a coil in the spec.
func (r *Run) CoilVoltage() (t table.Table, ok bool) {
	c := r.coil()
	if c == nil {
		return table.Table{}, false
	}
	in := r.Trim.Ignition
	dwelt := func(key, title string, quantity units.Kind, get func(dwell, voltage float64) table.Cell) table.Field[float64] {
		return table.Cells(key, title, quantity, func(voltage float64) table.Cell {
			dwell, held, err := in.DwellAt(voltage)
			if err != nil {
				return table.Missing(err.Error())
			}
			cell := get(dwell, voltage)
			if held && key == "dwell_s" {
				return cell.Noted("dwell held at the end of its table")
			}
			return cell
		})
	}
	fields := []table.Field[float64]{
		table.Number("supply_voltage_v", "supply", units.Voltage, func(v float64) float64 { return v }).WithDigits(1),
		dwelt("dwell_s", "dwell", units.Time, func(dwell, _ float64) table.Cell { return table.Num(dwell) }),
		dwelt("coil_current_a", "current", units.Current, func(dwell, v float64) table.Cell { return table.Num(c.Current(dwell, v)) }),
		dwelt("coil_energy_j", "energy", units.Energy, func(dwell, v float64) table.Cell { return table.Num(c.Energy(c.Current(dwell, v))) }).WithDigits(0),
	}
	if c.RatedCurrent > 0 {
		fields = append(fields, dwelt("available_voltage_v", "voltage", units.HighVoltage, func(dwell, v float64) table.Cell {
			return table.Num(c.AvailableVoltage(c.Current(dwell, v)))
		}))
	}
	fields = append(fields, dwelt("full_dwell_rpm", "full dwell up to", units.Speed, func(dwell, _ float64) table.Cell {
		top := c.TopSpeed(dwell)
		return table.Num(top).Toned(cautionIf(top < r.Trim.Engine.Limiter))
	}).WithDigits(table.Hundreds))
	if c.RatedCurrent > 0 && in.Gap > 0 {
		none := "not known at any of these speeds"
		fields = append(fields,
			table.Cells("least_voltage_margin", "least margin", units.Fraction, func(v float64) table.Cell {
				least, at := r.leastMargin(v)
				if at == nil {
					return table.Missing(none)
				}
				return marginCell(least)
			}).WithDigits(0),
			table.Cells("least_margin_rpm", "at", units.Speed, func(v float64) table.Cell {
				_, at := r.leastMargin(v)
				if at == nil {
					return table.Missing(none)
				}
				return table.Num(at.Speed)
			}))
	}
	t = table.Of("coil over supply voltage", supplyVoltages(in.SupplyVoltage), fields...)
	t.Trim = r.Trim.Name
	text := fmt.Sprintf("At full dwell. The limiter is at %.0f rpm: above the speed of the full dwell the coil is charged for less.", run.RPM(r.Trim.Engine.Limiter))
	if c.RatedCurrent > 0 && in.Gap > 0 {
		text += " Least margin: of the coil's voltage over what the gap wants, at full load, with the dwell that fits."
	}
	t.Notes = []string{text}
	return t, true
}

func cautionIf(caution bool) table.Tone {
	if caution {
		return table.Caution
	}
	return table.Plain
}

// CoilSpeed returns what the coil gives over engine speed at the spec's supply voltage. ok is false without a coil in the spec.
func (r *Run) CoilSpeed() (t table.Table, ok bool) {
	c := r.coil()
	if c == nil {
		return table.Table{}, false
	}
	voltage := r.Trim.Ignition.SupplyVoltage
	type charge struct {
		speed float64
		spark.Firing
		err error
	}
	charges := make([]charge, len(r.Outcomes))
	for i := range r.Outcomes {
		charges[i].speed = r.Outcomes[i].Speed
		charges[i].Firing, charges[i].err = r.fire(charges[i].speed, voltage)
	}
	fired := func(key, title string, quantity units.Kind, get func(c *charge) float64) table.Field[charge] {
		return table.Cells(key, title, quantity, func(c charge) table.Cell {
			if c.err != nil {
				return table.Missing(c.err.Error())
			}
			return table.Num(get(&c)).Toned(cautionIf(c.Shortened))
		})
	}
	fields := []table.Field[charge]{
		table.Number("rpm", "speed", units.Speed, func(c charge) float64 { return c.speed }),
		table.Number("dwell_room_s", "room for dwell", units.Time, func(f charge) float64 { return c.DwellRoom(f.speed) }),
		fired("dwell_s", "dwell", units.Time, func(c *charge) float64 { return c.Dwell }),
		table.Truths("dwell_shortened", "cut short", func(c charge) bool { return c.Shortened }),
		fired("coil_current_a", "current", units.Current, func(c *charge) float64 { return c.Current }),
		fired("coil_energy_j", "energy", units.Energy, func(c *charge) float64 { return c.Energy }).WithDigits(0),
		fired("coil_duty", "duty", units.Fraction, func(c *charge) float64 { return c.Duty }).WithDigits(0),
		fired("coil_mean_current_a", "mean current", units.Current, func(c *charge) float64 { return c.MeanCurrent }).WithDigits(2),
		fired("coil_heat_w", "heat", units.SmallPower, func(c *charge) float64 { return c.Heat }).WithDigits(1),
	}
	if c.RatedCurrent > 0 {
		fields = append(fields, fired("available_voltage_v", "voltage", units.HighVoltage, func(c *charge) float64 { return c.AvailableVoltage }))
	}
	t = table.Of("coil over speed", charges, fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{fmt.Sprintf("Of one coil, at %s. Room for dwell: from the end of one spark of %s to the coil's next. Heat: of the primary's resistance; secondary and core add theirs.",
		units.Format(voltage, units.Voltage, units.Metric), units.Format(c.SparkTime, units.Time, units.Metric))}
	return t, true
}

// Gap returns the voltage that the plug's gap wants at full load against what the coil gives. ok is false without a gap in the spec.
func (r *Run) Gap() (t table.Table, ok bool) {
	if r.Trim.Ignition == nil || r.Trim.Ignition.Gap == 0 {
		return table.Table{}, false
	}
	in := r.Trim.Ignition
	given := func(key, title string, quantity units.Kind, get func(p *airpath.Point) (float64, error)) table.Field[row] {
		return cells(key, title, quantity, func(_ row, p *airpath.Point) table.Cell {
			x, err := get(p)
			if err != nil {
				return table.Missing(err.Error())
			}
			return table.Num(x)
		})
	}
	available := func(p *airpath.Point) (float64, error) {
		f, err := r.fire(p.Speed, in.SupplyVoltage)
		return f.AvailableVoltage, err
	}
	rated := r.coil() != nil && r.coil().RatedCurrent > 0
	at := func(title, key string, quantity units.Kind, get func(p *airpath.Point) float64) table.Field[row] {
		return given(key, title, quantity, func(p *airpath.Point) (float64, error) {
			if !(p.SparkPressure > 0) {
				return 0, errors.New("the spark comes before the inlet valve has closed")
			}
			return get(p), nil
		})
	}
	t = r.overSpeed("plug gap", join(
		[]table.Field[row]{
			speedField(airpath.NoteDelayHeld),
			sparkAdvance,
			at("pressure at spark", "spark_pressure_pa", units.Pressure, func(p *airpath.Point) float64 { return p.SparkPressure }).WithDigits(1),
			at("temperature at spark", "spark_temperature_k", units.Temperature, func(p *airpath.Point) float64 { return p.SparkTemperature }),
			given("breakdown_voltage_v", "voltage wanted", units.HighVoltage, r.breakdown),
		},
		when(rated,
			given("available_voltage_v", "voltage to be had", units.HighVoltage, available),
			cells("voltage_margin", "margin", units.Fraction, func(_ row, p *airpath.Point) table.Cell {
				m, err := r.voltageMargin(p, in.SupplyVoltage)
				if err != nil {
					return table.Missing(err.Error())
				}
				return marginCell(m)
			}).WithDigits(0),
			given("widest_gap_m", "widest gap", units.Length, func(p *airpath.Point) (float64, error) {
				v, err := available(p)
				if err != nil {
					return 0, err
				}
				return spark.WidestGap(v*(1-kept), sparkState(p))
			}).WithDigits(2),
		),
	)...)
	text := fmt.Sprintf("Full load, a gap of %.2f mm. The voltage wanted is that of a uniform field in air: worn, round electrodes want about it, sharp and hot ones less; "+
		"at the density of a boosted engine air gives way earlier too, so that it is on the high side of static breakdown.", in.Gap*1e3)
	if rated {
		text += fmt.Sprintf(" Widest gap: with a part of the coil's voltage kept back (%s), at %s.", keptText,
			units.Format(in.SupplyVoltage, units.Voltage, units.Metric))
	} else {
		text += " The spec states no rated voltage of a coil to hold it against."
	}
	t.Notes = []string{text}
	return t, true
}

// JudgeSpark returns the findings about the spark: whether the coil has the time to charge, the voltage for the gap, and the fuel the octane for
// the latest phasing.
func (r *Run) JudgeSpark() ([]check.Finding, error) {
	var findings []check.Finding
	if c := r.coil(); c != nil {
		findings = append(findings, r.judgeDwell(c)...)
	}
	if r.Trim.Ignition != nil {
		if least, at := r.leastMargin(r.Trim.Ignition.SupplyVoltage); at != nil {
			f := check.Finding{What: "ignition voltage margin", Speed: at.Speed, Kind: units.Fraction, Value: least, Limit: kept, Floor: true,
				Remark: "of the coil's voltage, kept back over what the plug's gap wants: " + keptText}
			switch {
			case least < 0:
				f.Verdict = check.Fail
				f.Remark = "the coil does not break the plug's gap down: misfire; the margin wanted is " + keptText
			case least < kept:
				f.Verdict = check.Note
			}
			findings = append(findings, f)
		} else if c := r.coil(); c != nil && c.RatedCurrent > 0 && r.Trim.Ignition.Gap > 0 {
			findings = append(findings, r.unknownMargin()...)
		}
	}
	knock, err := r.judgeOctane()
	return append(findings, knock...), err
}

// unknownMargin tells why no margin of the ignition voltage is known at any speed.
func (r *Run) unknownMargin() []check.Finding {
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		if o.Err != nil {
			continue
		}
		if _, err := r.voltageMargin(&o.Point, r.Trim.Ignition.SupplyVoltage); err != nil {
			return []check.Finding{{What: "ignition voltage margin", Speed: o.Speed, Kind: units.Fraction, Value: math.NaN(), Limit: kept, Floor: true,
				Verdict: check.Fail, Remark: "not known at any speed: " + err.Error()}}
		}
	}
	return nil
}

// judgeDwell tells whether the whole dwell fits between two sparks up to the limiter.
func (r *Run) judgeDwell(c *spark.Coil) []check.Finding {
	in, limiter := r.Trim.Ignition, r.Trim.Engine.Limiter
	dwell, _, err := in.DwellAt(in.SupplyVoltage)
	if err != nil {
		return nil // the spec has been refused for it
	}
	f := check.Finding{What: "coil has its full dwell up to", Speed: limiter, Kind: units.Speed, Value: c.TopSpeed(dwell), Limit: limiter, Floor: true}
	if f.Value >= limiter {
		return []check.Finding{f}
	}
	f.Verdict = check.Note
	switch cut, err := r.fire(limiter, in.SupplyVoltage); {
	case err != nil:
		f.Verdict, f.Remark = check.Fail, "at the limiter: "+err.Error()
	default:
		whole := c.Energy(c.Current(dwell, in.SupplyVoltage))
		f.Remark = fmt.Sprintf("at the limiter the coil is charged for %s instead of %s, to %s instead of %s",
			units.Format(cut.Dwell, units.Time, units.Metric), units.Format(dwell, units.Time, units.Metric),
			units.Format(cut.Energy, units.Energy, units.Metric), units.Format(whole, units.Energy, units.Metric))
	}
	return []check.Finding{f}
}

// An octaneNeed is the octane number that a full load wants at the latest phasing accepted.
type octaneNeed struct {
	octane float64
	known  bool // it knocks there, and the number can be told
}

// octanes returns what computes the octane numbers that full loads want where knock cuts the boost or is not held; nil where the engine
// cannot be set up for it.
func (r *Run) octanes() *remembered[octaneNeed] {
	setup := r.Engine.Setup
	setup.Combustion.BestCA50 = setup.Combustion.LatestCA50
	setup.Combustion.KnockLimit = freeOfKnock
	latest, err := airpath.New(setup)
	if err != nil {
		return nil
	}
	load := boost.FullLoad(latest, r.Trim.Boost.Target)
	return remember(func(o *boost.Outcome) (need octaneNeed) {
		if o.Point.Limit != airpath.Knock && o.Point.Notes&airpath.NoteKnockUnmet == 0 {
			return need
		}
		integral, index := o.Point.KnockIntegral, o.Point.KnockOctane
		if o.Point.Limit == airpath.Knock {
			asked := load(latest.NewSolver(), o.Speed, airpath.Near{})
			if asked.Err != nil {
				return need
			}
			integral, index = asked.Point.KnockIntegral, asked.Point.KnockOctane
		}
		var err error
		need.octane, _, err = spark.Knock{Octane: index, Integral: integral, Limit: r.Engine.Combustion.KnockLimit}.OctaneNeeded()
		need.octane += r.Engine.Fuel.KnockOctane() - index // as much more of the fuel's own number as of the index
		need.known = err == nil
		return need
	})
}

// judgeOctane tells the octane number that full load wants where knock cuts the boost or is not held.
func (r *Run) judgeOctane() ([]check.Finding, error) {
	var needs *remembered[octaneNeed]
	if r.at != nil {
		needs = r.at.octane
	} else {
		needs = r.octanes()
	}
	if needs == nil {
		return nil, fmt.Errorf("trim %q: the engine cannot be computed with the burn at its latest", r.Trim.Name)
	}
	f := check.Finding{What: "octane number for full load", Kind: units.Number, Value: r.Engine.Fuel.KnockOctane(), Floor: true, Verdict: check.Fail}
	var first, last float64
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		if o.Err != nil {
			continue
		}
		need := needs.of(o)
		if !need.known {
			continue
		}
		if first == 0 {
			first = o.Speed
		}
		last = o.Speed
		if need.octane > f.Limit {
			f.Limit, f.Speed = need.octane, o.Speed
		}
	}
	if first == 0 {
		return nil, nil
	}
	f.Remark = "it knocks even at the latest phasing accepted with the boost asked for, " + between(first, last) + ": less boost, a colder charge or more octane"
	if !r.Forced() {
		f.Remark = "it knocks even at the latest phasing accepted, " + between(first, last) + ": less compression or more octane"
	}
	return []check.Finding{f}, nil
}

// between names the speeds from the first to the last.
func between(first, last float64) string {
	if first == last {
		return fmt.Sprintf("at %.0f rpm", run.RPM(first))
	}
	return fmt.Sprintf("%.0f to %.0f rpm", run.RPM(first), run.RPM(last))
}
