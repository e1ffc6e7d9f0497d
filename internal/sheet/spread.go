package sheet

import (
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/manifold"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// sharesFrom says where the shares come from.
func sharesFrom(s *run.Shares) string {
	switch s.Source {
	case run.SharesFromLambda:
		return "lambda by cylinder with the same fuel for all"
	case run.SharesFromExhaust:
		return fmt.Sprintf("exhaust temperature by cylinder, taken as of full load at %s, where the model's rises by %s for 0.01 of lambda",
			run.Speed(s.Speed), units.Whole(s.Slope/100, units.TemperatureDifference))
	}
	return "flow by cylinder"
}

// withoutShares says why there are no tables of the cylinders' shares; empty where there are, or where one cylinder has it all.
func (r *Run) withoutShares() (string, error) {
	_, err := r.Shares()
	doubt := run.Unread(err)
	switch {
	case doubt != nil:
		return fmt.Sprintf("At %s %s. Shares and what they cost are left out.", run.Speed(doubt.Speed), doubt), nil
	case err != nil:
		return "", err
	case r.Trim.Manifold.Spread == nil && r.Trim.Engine.Cylinders > 1:
		return noSpread, nil
	}
	return "", nil
}

// readShares returns the shares where they can be read, and nil where they cannot: withoutShares tells.
func (r *Run) readShares() (*run.Shares, error) {
	shares, err := r.Shares()
	if run.Unread(err) != nil {
		return nil, nil
	}
	return shares, err
}

// lambdaCell is a cylinder's λ, with a note where burn angle and knock delay are not known to hold, as at an operating point.
func lambdaCell(lambda float64) table.Cell {
	switch c := table.Num(lambda); {
	case lambda < airpath.LowestLambda:
		return c.Noted("below lambda 0.7, where burn angle and knock delay are not known to hold")
	case lambda > airpath.HighestLambda:
		return c.Noted("above lambda 1.3, where burn angle and knock delay are not known to hold")
	default:
		return c
	}
}

// A cylinderRow is one cylinder with its share of the air.
type cylinderRow struct {
	*run.SpreadCost
	i      int     // from 0
	figure float64 // the spec's
}

// of returns the cylinder with a correction.
func (c cylinderRow) of(k manifold.Correction) *manifold.Cylinder {
	return &c.Corrected[k].Cylinders[c.i]
}

// Cylinders returns how the cylinders share the air by the spec's figures, and how they run at the speed of peak torque. ok is
// false where the spec has no figures, where they cannot be read or no point is solved.
func (r *Run) Cylinders() (t table.Table, ok bool, err error) {
	shares, err := r.readShares()
	if err != nil || shares == nil {
		return table.Table{}, false, err
	}
	o := r.peak(run.Torque)
	if o == nil {
		return table.Table{}, false, nil
	}
	cost := r.SpreadCostAt(o, shares.Air)
	if cost.Err != nil {
		return table.Table{}, false, fmt.Errorf("trim %q: %w", r.Trim.Name, cost.Err)
	}
	rows := make([]cylinderRow, len(cost.Parts))
	for i := range rows {
		rows[i] = cylinderRow{&cost, i, shares.Figures[i]}
	}
	tuned := func(k manifold.Correction) table.Known[cylinderRow] {
		return func(c cylinderRow) error { return c.Corrected[k].Err }
	}
	integral := func(k manifold.Correction) func(c cylinderRow) float64 {
		return func(c cylinderRow) float64 {
			knock, err := c.SpreadCost.Cylinders.KnockIntegral(c.of(k).Charge)
			if err != nil {
				return math.NaN()
			}
			return knock
		}
	}
	t = table.Of("air by cylinder", rows,
		table.Counts("cylinder", "cylinder", func(c cylinderRow) int { return c.i + 1 }),
		measuredField(shares.Source),
		table.Number("air_share", "air", units.Fraction, func(c cylinderRow) float64 { return c.of(manifold.CommonFuel).AirShare }).WithDigits(2),
		table.Number("air_deviation", "against mean", units.Fraction, func(c cylinderRow) float64 { return c.of(manifold.CommonFuel).Air - 1 }),
		table.Cells("cylinder_lambda", "lambda, one fuel", units.Number, func(c cylinderRow) table.Cell {
			return lambdaCell(c.of(manifold.CommonFuel).Lambda)
		}).WithDigits(3),
		tuned(manifold.CommonFuel).Number("cylinder_knock_integral", "knock integral, one fuel", units.Number, integral(manifold.CommonFuel)).WithDigits(2),
		table.Lists("spread_limits", "limits", func(c cylinderRow) []string { return partWords(c.Parts[c.i]) }),
		table.Number("fuel_correction", "fuel correction", units.Fraction, func(c cylinderRow) float64 { return c.of(manifold.OwnFuel).FuelCorrection }),
		tuned(manifold.OwnFuel).Number("own_fuel_knock_integral", "knock integral, own fuel", units.Number, integral(manifold.OwnFuel)).
			WithDigits(2).InDetail(),
		tuned(manifold.OwnFuel).And(tuned(manifold.OwnFuelSpark)).Number("spark_correction_deg", "spark correction", units.Angle, func(c cylinderRow) float64 {
			return c.of(manifold.OwnFuel).CA50 - c.of(manifold.OwnFuelSpark).CA50
		}),
	)
	t.Trim = r.Trim.Name
	t.Notes = r.shareNotes(&cost, shares)
	return t, true, nil
}

// shareNotes says what the table of the cylinders rests on.
func (r *Run) shareNotes(c *run.SpreadCost, shares *run.Shares) []string {
	target, common := c.Point.Lambda, &c.Corrected[manifold.CommonFuel]
	notes := []string{
		fmt.Sprintf("Full load at %s, peak torque. The shares of the air are from %s.", run.Speed(c.Speed), sharesFrom(shares)),
		"Put the fuel correction on the fuel, not on the pulse with its dead time.",
	}
	if common.Lambda < target*(1-1e-9) {
		notes = append(notes, fmt.Sprintf("With one fuel quantity for all the engine runs at lambda %.3f where the target is %.3f, "+
			"so that no cylinder is leaner than %.3f.",
			common.Lambda, target, c.Cylinders.Engine.Leanest))
	}
	if own := &c.Corrected[manifold.OwnFuel]; common.Err == nil && own.Err == nil && c.Corrected[manifold.OwnFuelSpark].Err == nil {
		even, late, own := c.Point.CA50, common.Cylinders[0].CA50, own.Cylinders[0].CA50
		if check.Late(late, even) || check.Late(own, even) {
			notes = append(notes, fmt.Sprintf("The one spark that suits all is %s later than with an even manifold, with fuel by cylinder %s.",
				units.Mark(late-even, units.Angle), units.Mark(own-even, units.Angle)))
		}
	}
	if s := r.Trim.Manifold.Spread; s.Leanest > 0 && s.Leanest < target {
		notes = append(notes, fmt.Sprintf("fuel.lambda, %.3f, is leaner than manifold.spread.leanest, %.3f: fuel.lambda is taken.", target, s.Leanest))
	}
	return notes
}

// measuredField is the column of the figures that the spec gives.
func measuredField(source run.ShareSource) table.Field[cylinderRow] {
	get := func(c cylinderRow) float64 { return c.figure }
	switch source {
	case run.SharesFromLambda:
		return table.Number("measured_lambda", "measured lambda", units.Number, get).WithDigits(3)
	case run.SharesFromExhaust:
		return table.Number("measured_exhaust_temperature_k", "measured EGT", units.Temperature, get)
	}
	return table.Number("measured_flow", "measured flow", units.Number, get).WithDigits(1)
}

// partWords says what a cylinder sets for all of them.
func partWords(p run.CylinderPart) []string {
	var words []string
	for _, part := range []struct {
		plays bool
		word  string
	}{{p.Lean, "lean"}, {p.Rich, "rich"}, {p.Knock, "knock"}, {p.Pressure, "pressure"}} {
		if part.plays {
			words = append(words, part.word)
		}
	}
	return words
}

// limited names the cylinders that limit the engine with one fuel quantity and one spark, and by what.
func limited(c run.SpreadCost) []string {
	var texts []string
	for i, part := range c.Parts {
		for _, word := range partWords(part) {
			texts = append(texts, fmt.Sprintf("%d %s", i+1, word))
		}
	}
	if texts == nil {
		return []string{"none"}
	}
	return texts
}

// SpreadCost returns what the uneven air costs at full load over engine speed. ok is false where the spec has no figures of it, and where they
// cannot be read.
func (r *Run) SpreadCost() (t table.Table, ok bool, err error) {
	shares, err := r.readShares()
	if err != nil || shares == nil {
		return table.Table{}, false, err
	}
	solved := table.Known[run.SpreadCost](func(c run.SpreadCost) error { return c.Err })
	tuned := func(k manifold.Correction) table.Known[run.SpreadCost] {
		return solved.And(func(c run.SpreadCost) error { return c.Corrected[k].Err })
	}
	power := func(key, title string, k manifold.Correction) table.Field[run.SpreadCost] {
		return tuned(k).Number(key, title, units.Power, func(c run.SpreadCost) float64 { return c.Corrected[k].Power })
	}
	cost := func(key, title string, k manifold.Correction) table.Field[run.SpreadCost] {
		return solved.Answer(key, title, units.Power, func(c run.SpreadCost) (float64, error) { return c.Lost(k) })
	}
	costs := r.SpreadCosts(shares.Air)
	t = table.Of("cost of the spread", costs,
		table.Number("rpm", "speed", units.Speed, func(c run.SpreadCost) float64 { return c.Speed }),
		solved.Number("lambda", "target lambda", units.Number, func(c run.SpreadCost) float64 { return c.Point.Lambda }).WithDigits(3),
		solved.Number("common_lambda", "lambda, one fuel", units.Number, func(c run.SpreadCost) float64 {
			return c.Corrected[manifold.CommonFuel].Lambda
		}).WithDigits(3),
		tuned(manifold.CommonFuel).Cells("limited_cylinders", "limited by", units.Number, func(c run.SpreadCost) table.Cell {
			return table.List(limited(c)...)
		}),
		solved.Answer("even_power_w", "even", units.Power, func(c run.SpreadCost) (float64, error) { return c.Even.Power, c.Even.Err }),
		power("common_fuel_power_w", "one fuel", manifold.CommonFuel),
		power("own_fuel_power_w", "own fuel", manifold.OwnFuel),
		power("own_fuel_spark_power_w", "own fuel and spark", manifold.OwnFuelSpark),
		cost("spread_cost_w", "costs", manifold.CommonFuel),
		solved.Answer("spread_cost_fraction", "of even", units.Fraction, func(c run.SpreadCost) (float64, error) {
			return c.LostShare(manifold.CommonFuel)
		}).InDetail(),
		cost("own_fuel_cost_w", "costs, own fuel", manifold.OwnFuel),
		cost("own_fuel_spark_cost_w", "costs, both", manifold.OwnFuelSpark),
	)
	t.Trim = r.Trim.Name
	if gains(costs) {
		t.Notes = []string{"Where a cost is below 0, a richer mixture or a later burn than the spec's gives more power in any case."}
	}
	if o := r.peak(run.Power); o != nil {
		t.Notes = append(t.Notes, costAtPeak(r.SpreadCostAt(o, shares.Air), shares))
	}
	return t, true, nil
}

// gains reports whether the spread gives power at some speed, by more than what the two solutions differ.
func gains(costs []run.SpreadCost) bool {
	const least = -50 // W
	for i := range costs {
		for k := range costs[i].Corrected {
			if lost, err := costs[i].Lost(manifold.Correction(k)); err == nil && lost < least {
				return true
			}
		}
	}
	return false
}

// costAtPeak says how far the shares are apart, and what they cost at peak power, which lies between the rows.
func costAtPeak(c run.SpreadCost, shares *run.Shares) string {
	text := fmt.Sprintf("No cylinder's air is further than %s from the mean. At peak power, %s, ",
		units.Mark(manifold.Deviation(shares.Air), units.Fraction), run.Speed(c.Speed))
	lost, err := c.Lost(manifold.CommonFuel)
	if err != nil {
		return text + "what that costs is not known: " + err.Error() + "."
	}
	part, err := c.LostShare(manifold.CommonFuel)
	if err != nil {
		return text + err.Error() + "."
	}
	return text + fmt.Sprintf("that costs %s of %s with one fuel quantity and one spark, %s.", units.Mark(lost, units.Power),
		units.Mark(c.Even.Power, units.Power), units.Mark(part, units.Fraction))
}

// Texts that several explanations of these columns share.
const (
	byCylinder = "bookkeeping over the cylinder's cycle; common practice, no source, for the tuner's rule"
	asEven     = "air, MAP and exhaust pressure as with an even manifold"
)

// spreadEntries explain the columns above.
func spreadEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "cylinder", Title: "cylinder",
			Meaning: "Number of the cylinder, from 1.",
			Formula: "count", Source: ours, Range: always,
		},
		{
			Key: "air_share", Title: "air",
			Meaning: "Part of the engine's air that the cylinder gets.",
			Formula: "s = f/Σf from flow; λ q/Σ(λ q) from λ and fuel q; from EGT with λi = λ + (Ti − T̄)/(dT/dλ)",
			Source:  "definition of the relative air–fuel ratio; the way from EGT linearised, common practice, no source",
			Range:   "λ 0.5 to 2; from EGT within 0.1 of the engine's λ and with a slope of 100 K or more",
		},
		{
			Key: "air_deviation", Title: "against mean",
			Meaning: "By how much the cylinder's air differs from the mean.",
			Formula: "n s − 1", Source: ours, Range: "shares above 0; two cylinders or more",
		},
		{
			Key: "cylinder_lambda", Title: "lambda, one fuel",
			Meaning: "Relative air–fuel ratio of the cylinder. With one fuel quantity for all it goes with the air, and the leanest is at what is allowed.",
			Formula: "λi = n si min(target, leanest/max(n s)); with fuel by cylinder the target",
			Source:  "definition of the relative air–fuel ratio", Range: "λ 0.5 to 2 for the target",
		},
		{
			Key: "cylinder_knock_integral", Title: "knock integral, one fuel",
			Meaning: "Knock integral of the cylinder when all have one fuel quantity and the one spark that suits the worst.",
			Formula: "∫ dt/τ at its air, λ and CA50",
			Source:  "Livengood and Wu (1955), Douaud and Eyzat (1978)", Range: asEven,
		},
		{
			Key: "spread_limits", Title: "limits",
			Meaning: "What the cylinder sets for all when they have one fuel quantity and one spark. Lean: it sets the mixture. " +
				"Knock, or the pressure in it: it holds the spark of all back. Rich: its own mixture is below what runs cleanly.",
			Formula: "lean: highest λi and λ below target; knock, pressure: largest of value over limit, on the limit; rich: λi < richest",
			Source:  byCylinder, Range: asEven,
		},
		{
			Key: "fuel_correction", Title: "fuel correction",
			Meaning: "By how much the cylinder's fuel is to differ from the mean for all to have the same lambda. " +
				"It is of the fuel and not of the pulse with its dead time. " +
				"The corrections add up to 0 and leave the engine's fuel as it is.",
			Formula: "n s − 1", Source: "definition of the relative air–fuel ratio", Range: "shares above 0; two cylinders or more",
		},
		{
			Key: "own_fuel_knock_integral", Title: "knock integral, own fuel",
			Meaning: "Knock integral of the cylinder when each has its own fuel and all the one spark that suits the worst.",
			Formula: "∫ dt/τ at its air, λ and CA50",
			Source:  "Livengood and Wu (1955), Douaud and Eyzat (1978)", Range: asEven,
		},
		{
			Key: "spark_correction_deg", Title: "spark correction",
			Meaning: "How much earlier than the one spark that suits all cylinders with their own fuel this one may fire; " +
				"one degree of CA50 taken as one of spark.",
			Formula: "CA50 of all − CA50 of its own, each the earliest, not before the best, within the limits of knock and cylinder pressure",
			Source:  byCylinder, Range: asEven,
		},
		{
			Key: "measured_lambda", Title: "measured lambda",
			Meaning: "Lambda of the cylinder while all have the same fuel.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "measured_exhaust_temperature_k", Title: "measured EGT",
			Meaning: "Exhaust gas temperature of the cylinder while all have the same fuel and spark.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "measured_flow", Title: "measured flow",
			Meaning: "Figure in proportion to the cylinder's air, such as that of a flow bench.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "common_lambda", Title: "lambda, one fuel",
			Meaning: "Lambda of the engine when all cylinders have one fuel quantity and none is leaner than allowed.",
			Formula: "min(target, leanest/max(n s))", Source: "definition of the relative air–fuel ratio", Range: always,
		},
		{
			Key: "limited_cylinders", Title: "limited by",
			Meaning: "The cylinders that set mixture or spark for all when they have one fuel quantity and one spark, and by what.",
			Formula: "see spread_limits",
			Source:  byCylinder, Range: asEven,
		},
		{
			Key: "even_power_w", Title: "even",
			Meaning: "Power of the engine when every cylinder is filled alike.",
			Formula: "Σ Pi, that of the operating point", Source: "the operating point", Range: "full load, at the speeds computed",
		},
		{
			Key: "common_fuel_power_w", Title: "one fuel",
			Meaning: "Power with the spec's spread, one fuel quantity and one spark for all.",
			Formula: "Σ Pi at n si, λi = n si λ and the earliest CA50 that suits the worst cylinder",
			Source:  byCylinder, Range: asEven,
		},
		{
			Key: "own_fuel_power_w", Title: "own fuel",
			Meaning: "Power with the spec's spread, fuel by cylinder and one spark for all.",
			Formula: "Σ Pi at n si, the target λ and the earliest CA50 that suits the worst cylinder",
			Source:  byCylinder, Range: asEven,
		},
		{
			Key: "own_fuel_spark_power_w", Title: "own fuel and spark",
			Meaning: "Power with the spec's spread, fuel and spark by cylinder.",
			Formula: "Σ Pi at n si, the target λ and each its own earliest CA50",
			Source:  byCylinder, Range: asEven,
		},
		{
			Key: "spread_cost_w", Title: "costs",
			Meaning: "Power that the engine has less than with an even manifold. " +
				"One cylinder sets mixture and spark, and the others are richer and later than they need be. " +
				"The engine's air is the same, as behind a choked restrictor or with a boost control that holds it.",
			Formula: "Peven − P, each the sum of its cylinders at their air, λ and the earliest CA50 at which none passes the knock limit",
			Source:  byCylinder, Range: "the same air, as behind a choked restrictor; as the cylinder's model",
		},
		{
			Key: "spread_cost_fraction", Title: "of even",
			Meaning: "Power that the spec's spread costs with one fuel quantity and one spark, over that of an even manifold.",
			Formula: "cost/even power", Source: ours, Range: asEven,
		},
		{
			Key: "own_fuel_cost_w", Title: "costs, own fuel",
			Meaning: "Power lost against an even manifold with fuel by cylinder.",
			Formula: "even power − own fuel power",
			Source:  byCylinder, Range: asEven,
		},
		{
			Key: "own_fuel_spark_cost_w", Title: "costs, both",
			Meaning: "Power lost against an even manifold with fuel and spark by cylinder.",
			Formula: "even power − own fuel and spark power",
			Source:  byCylinder, Range: asEven,
		},
	}
}
