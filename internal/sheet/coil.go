package sheet

import (
	"errors"
	"fmt"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// marginCell is a share of the coil's voltage left, which stands out when it is less than is kept back.
func marginCell(margin float64) table.Cell {
	return table.Num(margin).Toned(tone(check.VoltageShort(margin)))
}

var errMarginUnknown = errors.New("not known at any of these speeds")

func cautionIf(caution bool) table.Tone {
	if caution {
		return table.Caution
	}
	return table.Plain
}

// CoilVoltage returns the dwell over supply voltage and what it gives. ok is false without a coil in the spec.
func (r *Run) CoilVoltage() (t table.Table, ok bool) {
	if r.Coil() == nil {
		return table.Table{}, false
	}
	limiter := r.Trim.Engine.Limiter
	dwelt := table.Known[run.CoilCharge](func(c run.CoilCharge) error { return c.Err })
	fields := []table.Field[run.CoilCharge]{
		table.Number("supply_voltage_v", "supply", units.Voltage, func(c run.CoilCharge) float64 { return c.Voltage }).WithDigits(1),
		dwelt.Cells("dwell_s", "dwell", units.Time, func(c run.CoilCharge) table.Cell {
			if c.Held {
				return table.Num(c.Dwell).Noted("dwell held at the end of its table")
			}
			return table.Num(c.Dwell)
		}),
		dwelt.Number("coil_current_a", "current", units.Current, func(c run.CoilCharge) float64 { return c.Current }),
		dwelt.Number("coil_energy_j", "energy", units.Energy, func(c run.CoilCharge) float64 { return c.Energy }).WithDigits(0),
	}
	if r.CoilRated() {
		fields = append(fields, dwelt.Number("available_voltage_v", "coil voltage", units.HighVoltage, func(c run.CoilCharge) float64 {
			return c.AvailableVoltage
		}))
	}
	fields = append(fields, dwelt.Cells("full_dwell_rpm", "full dwell up to", units.Speed, func(c run.CoilCharge) table.Cell {
		return table.Num(c.TopSpeed).Toned(cautionIf(c.TopSpeed < limiter))
	}).WithDigits(table.Hundreds))
	if r.GapKnown() {
		margin := table.Known[run.CoilCharge](func(c run.CoilCharge) error {
			if c.LeastAt == nil {
				return errMarginUnknown
			}
			return nil
		})
		fields = append(fields,
			margin.Cells("least_voltage_margin", "least margin", units.Fraction, func(c run.CoilCharge) table.Cell {
				return marginCell(c.LeastMargin)
			}).WithDigits(0),
			margin.Number("least_margin_rpm", "at", units.Speed, func(c run.CoilCharge) float64 { return c.LeastAt.Speed }))
	}
	charges := r.CoilCharges()
	t = table.Of("coil over supply voltage", charges, fields...)
	t.Trim = r.Trim.Name
	for i := range charges {
		if c := &charges[i]; c.Err == nil && c.TopSpeed < limiter {
			t.Notes = []string{fmt.Sprintf("The limiter is at %s: above the speed of the full dwell the coil is charged for less.", run.Speed(limiter))}
			break
		}
	}
	return t, true
}

// CoilSpeed returns what the coil gives over engine speed at the spec's supply voltage. ok is false without a coil in the spec.
func (r *Run) CoilSpeed() (t table.Table, ok bool) {
	c := r.Coil()
	if c == nil {
		return table.Table{}, false
	}
	known := table.Known[run.CoilFiring](func(f run.CoilFiring) error { return f.Err })
	fired := func(key, title string, quantity units.Kind, get func(f *run.CoilFiring) float64) table.Field[run.CoilFiring] {
		return known.Cells(key, title, quantity, func(f run.CoilFiring) table.Cell { return table.Num(get(&f)).Toned(cautionIf(f.Shortened)) })
	}
	fields := []table.Field[run.CoilFiring]{
		table.Number("rpm", "speed", units.Speed, func(f run.CoilFiring) float64 { return f.Speed }),
		table.Number("dwell_room_s", "room for dwell", units.Time, func(f run.CoilFiring) float64 { return f.Room }),
		fired("dwell_s", "dwell", units.Time, func(f *run.CoilFiring) float64 { return f.Dwell }),
		table.Truths("dwell_shortened", "cut short", func(f run.CoilFiring) bool { return f.Shortened }),
		fired("coil_current_a", "current", units.Current, func(f *run.CoilFiring) float64 { return f.Current }),
		fired("coil_energy_j", "energy", units.Energy, func(f *run.CoilFiring) float64 { return f.Energy }).WithDigits(0),
		fired("coil_duty", "duty", units.Fraction, func(f *run.CoilFiring) float64 { return f.Duty }).WithDigits(0),
		fired("coil_mean_current_a", "mean current", units.Current, func(f *run.CoilFiring) float64 { return f.MeanCurrent }).WithDigits(2),
		fired("coil_heat_w", "heat", units.SmallPower, func(f *run.CoilFiring) float64 { return f.Heat }).WithDigits(1),
	}
	if r.CoilRated() {
		fields = append(fields, fired("available_voltage_v", "coil voltage", units.HighVoltage, func(f *run.CoilFiring) float64 { return f.AvailableVoltage }))
	}
	t = table.Of("coil over speed", r.CoilFirings(), fields...)
	t.Trim = r.Trim.Name
	t.Notes = []string{fmt.Sprintf("One coil, at %s, with a spark of %s.",
		units.Mark(r.Trim.Ignition.SupplyVoltage, units.Voltage), units.Mark(c.SparkTime, units.Time))}
	return t, true
}

// Gap returns the voltage that the plug's gap needs at full load against what the coil gives. ok is false without a gap in the spec.
func (r *Run) Gap() (t table.Table, ok bool) {
	in := r.Trim.Ignition
	if in == nil || in.Gap == 0 {
		return table.Table{}, false
	}
	atSpark := solvedRow.And(func(o row) error {
		_, err := run.SparkState(&o.Point)
		return err
	})
	t = r.overSpeed("plug gap", join(
		[]table.Field[row]{
			speedField(airpath.NoteDelayHeld),
			sparkAdvance,
			atSpark.Number("spark_pressure_pa", "pressure at spark", units.Pressure, func(o row) float64 { return o.Point.SparkPressure }).WithDigits(1),
			atSpark.Number("spark_temperature_k", "temperature at spark", units.Temperature, func(o row) float64 { return o.Point.SparkTemperature }),
			solvedRow.Answer("breakdown_voltage_v", "voltage needed", units.HighVoltage, func(o row) (float64, error) { return r.BreakdownVoltage(&o.Point) }),
		},
		when(r.CoilRated(),
			solvedRow.Answer("available_voltage_v", "coil voltage", units.HighVoltage, func(o row) (float64, error) {
				f, err := r.Fire(o.Point.Speed, in.SupplyVoltage)
				return f.AvailableVoltage, err
			}),
			cells("voltage_margin", "margin", units.Fraction, func(_ row, p *airpath.Point) table.Cell {
				m, err := r.VoltageMargin(p, in.SupplyVoltage)
				if err != nil {
					return table.Missing(err.Error())
				}
				return marginCell(m)
			}).WithDigits(0),
			solvedRow.Answer("widest_gap_m", "widest gap", units.Length, func(o row) (float64, error) {
				return r.WidestGap(&o.Point, in.SupplyVoltage, check.VoltageKept)
			}).WithDigits(2),
		),
	)...)
	gap := units.Figure{Value: in.Gap, Kind: units.Length, Digits: 2}.Mark()
	if r.CoilRated() {
		t.Notes = []string{fmt.Sprintf("Full load, a gap of %s, %s at the coil.", gap, units.Mark(in.SupplyVoltage, units.Voltage))}
	} else {
		t.Notes = []string{fmt.Sprintf("Full load, a gap of %s. The spec states no rated voltage of a coil to compare with.", gap)}
	}
	t.Notes = append(t.Notes, "Worn, round electrodes need about this voltage, sharp and hot ones less.")
	if r.Forced() {
		t.Notes[len(t.Notes)-1] += " With boost it is on the high side."
	}
	return t, true
}

// Texts that several explanations of these columns share.
const (
	unsaturated  = "a core that does not saturate; R at working temperature"
	breakdownLaw = "Kuffel, Zaengl and Kuffel, High Voltage Engineering: Fundamentals (2nd ed., 2000), ch. 5, after Schumann (1923), from memory"
)

// coilEntries explain the columns above.
func coilEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "supply_voltage_v", Title: "supply",
			Meaning: "Voltage at the coil.",
			Formula: "the spec's, and 14, 12 and 11 V; of a system of several times 12 V so many times that", Source: given, Range: always,
		},
		{
			Key: "dwell_s", Title: "dwell",
			Meaning: "Time for which the coil is charged before each spark: the spec's, the one for its current, or what fits between two sparks.",
			Formula: "t = −L/R ln(1 − i R/(U − U0)), at most 4π/(N k) − spark time; k sparks of the coil a cycle, U0 the driver's drop",
			Source:  "step response of a series inductance and resistance", Range: unsaturated,
		},
		{
			Key: "coil_current_a", Title: "current",
			Meaning: "Current in the coil's primary at the spark.",
			Formula: "i = (U − U0)/R (1 − exp(−t R/L)), at most the driver's limit",
			Source:  "step response of a series inductance and resistance", Range: unsaturated,
		},
		{
			Key: "coil_energy_j", Title: "energy",
			Meaning: "Energy stored in the coil at the spark; the spark gets the part that the secondary side does not lose.",
			Formula: "½ L i²", Source: "energy of a constant inductance", Range: unsaturated,
		},
		{
			Key: "available_voltage_v", Title: "coil voltage",
			Meaning: "Peak secondary voltage that the coil raises with the current it has, before the gap breaks down.",
			Formula: "Ur min(1, i/Ir), Ur the rated voltage at the rated current Ir",
			Source:  "½ L i² into a constant capacitance; constant above the rated current: common practice, no source",
			Range:   "the plug and lead that the rating is stated with",
		},
		{
			Key: "full_dwell_rpm", Title: "full dwell up to",
			Meaning: "Engine speed above which the full dwell no longer fits and the coil's energy falls.",
			Formula: "4π/(k (t + spark time)); k sparks of the coil a cycle", Source: "definition, four-stroke", Range: "sparks evenly apart",
		},
		{
			Key: "least_voltage_margin", Title: "least margin",
			Meaning: "The least of the voltage margins at full load, with the dwell that fits at each speed. " +
				"To be kept back: " + check.VoltageKeptText() + ".",
			Formula: "min (U available − U breakdown)/U available", Source: ours, Range: computed,
		},
		{
			Key: "least_margin_rpm", Title: "at",
			Meaning: "Engine speed at which the voltage margin is the least.",
			Formula: "N at the least margin", Source: ours, Range: computed,
		},
		{
			Key: "dwell_room_s", Title: "room for dwell",
			Meaning: "Longest dwell that fits between the end of one spark of the coil and its next.",
			Formula: "4π/(N k) − spark time; k sparks of the coil a cycle", Source: "definition, four-stroke", Range: "sparks evenly apart",
		},
		{
			Key: "dwell_shortened", Title: "cut short",
			Meaning: "Whether the full dwell does not fit between two sparks of the coil.",
			Formula: "full dwell > dwell_room_s", Source: ours, Range: "sparks evenly apart",
		},
		{
			Key: "coil_duty", Title: "duty",
			Meaning: "Share of the time for which the coil is charged.",
			Formula: "t k N/(4π); k sparks of the coil a cycle", Source: "definition, four-stroke", Range: "0 to 1",
		},
		{
			Key: "coil_mean_current_a", Title: "mean current",
			Meaning: "Mean current that one coil draws from the supply.",
			Formula: "k N/(4π) ∫i dt over the dwell",
			Source:  "step response of a series inductance and resistance", Range: unsaturated,
		},
		{
			Key: "coil_heat_w", Title: "heat",
			Meaning: "Mean heating power in the resistance of one coil's primary; secondary and core add theirs.",
			Formula: "k N/(4π) R ∫i² dt over the dwell",
			Source:  "step response of a series inductance and resistance", Range: unsaturated,
		},
		{
			Key: "breakdown_voltage_v", Title: "voltage needed",
			Meaning: "Voltage at which the plug's gap breaks down, as of air in a uniform field; " +
				"sharp and hot electrodes need less, worn ones about this. " +
				"At the density of a boosted engine air breaks down earlier too, so that it is on the high side.",
			Formula: "U = 24.36 δ + 6.72 √δ kV, δ = p d (293.15 K/T) in bar cm",
			Source:  breakdownLaw, Range: "p d (293.15 K/T) of 15 to 2000 Pa m, 200 to 1500 K; too high above some 10 bar at 20 °C",
		},
		{
			Key: "voltage_margin", Title: "margin",
			Meaning: "Part of the available voltage that the gap leaves; negative when it does not break down.",
			Formula: "(U available − U breakdown)/U available", Source: ours, Range: "as the two voltages",
		},
		{
			Key: "widest_gap_m", Title: "widest gap",
			Meaning: "Widest plug gap that breaks down with a part of the coil's voltage kept back (" + check.VoltageKeptText() + ").",
			Formula: "the gap at which 24.36 δ + 6.72 √δ kV, δ = p d (293.15 K/T) in bar cm, is what is left of the coil's voltage",
			Source:  breakdownLaw, Range: "as breakdown_voltage_v",
		},
	}
}
