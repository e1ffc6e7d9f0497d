package sheet

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/fuel"
	"bellmouth/internal/manifold"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// limitSlack is the share of a limit by which a value may pass it and still count as on it, as the solver meets limits.
const limitSlack = 1e-4

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

var errBeyond = errors.New("the engine passes its limit of knock or cylinder pressure there with an even manifold too")

// A bench is the engine at one speed, with one cylinder of it to ask.
type bench struct {
	manifold.Engine
	one   *airpath.Single
	point *airpath.Point
	knock float64 // integral accepted
	peak  float64 // pressure accepted in the cylinder, Pa; 0: no limit
	past  error   // why the phasing cannot be judged; nil when it can
}

// bench returns the engine at a solved point as the cylinders' shares are judged with.
//
// What holds the spark back is knock or cylinder pressure, whichever is nearer to its limit: the larger of the two ratios of
// value to limit stands for the knock integral, and 1 for its limit. Both fall as the burn comes later.
func (r *Run) bench(o *boost.Outcome) (*bench, error) {
	one, err := r.Engine.SingleAt(&o.Point)
	if err != nil {
		return nil, err
	}
	c := r.Engine.Combustion
	b := &bench{one: one, point: &o.Point, knock: c.KnockLimit, peak: r.Trim.Limits.PeakCylinderPressure}
	b.Engine = manifold.Engine{
		Target: o.Point.Lambda, Leanest: o.Point.Lambda, KnockLimit: 1, BestCA50: c.BestCA50, LatestCA50: c.LatestCA50,
		Cylinder: func(c manifold.Charge) (manifold.Answer, error) {
			res, err := one.Run(c.Air, c.Lambda, c.CA50)
			return manifold.Answer{Power: res.Power, Knock: max(b.ratios(res))}, err
		},
	}
	if m := r.Trim.Manifold; m != nil && m.Spread != nil {
		b.Leanest = math.Max(m.Spread.Leanest, b.Target) // a target leaner than that is the spec's own, and a finding
		b.Richest = math.Min(m.Spread.Richest, b.Target)
	}
	own, err := one.Run(1, o.Point.Lambda, o.Point.CA50)
	if err != nil {
		return nil, err
	}
	switch now := max(b.ratios(own)); {
	case !(now <= 1+limitSlack):
		b.past, b.KnockLimit = errBeyond, math.MaxFloat64 // the mixtures can still be told
	case now > 1: // by what the solver leaves: the even engine is at its limit, not past it
		b.KnockLimit = now
	}
	return b, nil
}

// ratios returns knock integral and peak pressure over what is accepted of them.
func (b *bench) ratios(res airpath.SingleResult) (knock, peak float64) {
	knock = res.KnockIntegral / b.knock
	if b.peak > 0 {
		peak = res.PeakPressure / b.peak
	}
	return knock, peak
}

// held says what holds the spark back in a cylinder.
func (b *bench) held(c manifold.Charge) string {
	res, err := b.one.Run(c.Air, c.Lambda, c.CA50)
	if err != nil {
		return "knock"
	}
	if knock, peak := b.ratios(res); peak > knock {
		return "pressure"
	}
	return "knock"
}

// run returns how the engine runs with its air shared this way, with what stands against it in the tuner's words. With an error
// the cylinders' air and mixture hold all the same.
func (b *bench) run(shares []float64, t manifold.Trim) (manifold.Running, error) {
	run, err := b.Engine.Run(shares, t)
	var late *manifold.KnockError
	var stuck *airpath.PointError
	switch {
	case err == nil:
		return run, b.past
	case errors.As(err, &late):
		return run, fmt.Errorf("cylinder %d passes the limit of knock or cylinder pressure even with the latest burn: less boost is needed", late.Cylinder+1)
	case errors.As(err, &stuck):
		for i, c := range run.Cylinders {
			if c.Lambda < fuel.LowestLambda {
				return run, fmt.Errorf("cylinder %d would run at lambda %.2f: below 0.5 the model ends", i+1, c.Lambda)
			}
		}
		return run, fmt.Errorf("the model does not know a cylinder with so much or so little air: %s", stuck.Reason) // its speed is the row's
	}
	return run, err
}

// Spread returns each cylinder's share of the engine's air as the spec's figures have it, and in words where it comes from.
// It is nil where the spec has no section manifold.spread, and where the figures need a solved point and there is none.
func (r *Run) Spread() (shares []float64, from string, err error) {
	m := r.Trim.Manifold
	if m == nil || m.Spread == nil {
		return nil, "", nil
	}
	switch s := m.Spread; {
	case s.Lambda != nil:
		from = "lambda by cylinder with the same fuel for all"
		shares, err = manifold.AirSharesFromLambda(s.Lambda, nil)
	case s.ExhaustTemperature != nil:
		return r.exhaustSpread(s)
	default:
		from = "flow by cylinder"
		shares, err = manifold.AirShares(s.Flow)
	}
	if err != nil {
		return nil, "", fmt.Errorf("trim %q: manifold.spread: %w", r.Trim.Name, err)
	}
	return shares, from, nil
}

// An unreadSpread says why the spec's exhaust temperatures tell no shares of the air. Whether they do hangs on the solved point,
// so that it is a doubt about the result rather than a fault of the spec.
type unreadSpread struct {
	at     int // of the outcome they were taken as of
	reason string
}

func (e *unreadSpread) Error() string {
	return "manifold.spread.exhaust_temperature tells no shares of the air: " + e.reason
}

// unread returns the doubt that an error of Spread is, or nil.
func unread(err error) *unreadSpread {
	var doubt *unreadSpread
	errors.As(err, &doubt)
	return doubt
}

// exhaustSpread reads the shares from exhaust temperatures, with the model's own slope at peak power: with the same fuel a
// cylinder with more air is leaner by as much.
func (r *Run) exhaustSpread(s *spec.Spread) (shares []float64, from string, err error) {
	grid := r.asked().Outcomes // a refined run has the shares of the one that it refines
	i := boost.Highest(grid, run.Power)
	if i < 0 {
		return nil, "", nil
	}
	p := &grid[i].Point
	one, err := r.Engine.SingleAt(p)
	if err != nil {
		return nil, "", err
	}
	const step = 0.01 // of the air: about what a cylinder differs by
	ends := [2]float64{1 - step, 1 + step}
	if p.Lambda*ends[0] < fuel.LowestLambda { // to one side alone at the end of what the model knows
		ends[0] = 1
	}
	if p.Lambda*ends[1] > fuel.HighestLambda {
		ends[1] = 1
	}
	var t [2]float64
	for k, more := range ends {
		res, err := one.Run(more, p.Lambda*more, p.CA50)
		if err != nil {
			return nil, "", &unreadSpread{at: i, reason: "the model has no slope there: " + err.Error()}
		}
		t[k] = res.ExhaustTemperature
	}
	slope := (t[1] - t[0]) / ((ends[1] - ends[0]) * p.Lambda)
	shares, err = manifold.AirSharesFromExhaust(s.ExhaustTemperature, manifold.ExhaustResponse{Lambda: p.Lambda, Slope: slope})
	if err != nil {
		return nil, "", &unreadSpread{at: i, reason: err.Error()}
	}
	return shares, fmt.Sprintf("exhaust temperature by cylinder, taken as of full load at %.0f rpm, where the model's rises by %.0f K for 0.01 of lambda", run.RPM(p.Speed), slope/100), nil
}

// A share is one cylinder's part of the air and how it runs.
type share struct {
	cylinder          int // from 1
	figure            float64
	common, own, both manifold.Cylinder // with one fuel quantity, with fuel of its own, and with fuel and spark of its own
	bench             *bench
	limits            []string
	err               [3]error // of the three
}

// Cylinders returns how the cylinders share the air by the spec's figures, and how they run at the speed of peak torque. ok is
// false where the spec has no figures or no point is solved.
func (r *Run) Cylinders() (t table.Table, ok bool, err error) {
	shares, from, err := r.Spread()
	if unread(err) != nil {
		return table.Table{}, false, nil // the table of the manifold tells
	}
	if err != nil || shares == nil {
		return table.Table{}, false, err
	}
	o := r.peak(run.Torque)
	if o == nil {
		return table.Table{}, false, nil
	}
	rows, lambda, err := r.shareOut(o, shares)
	if err != nil {
		return table.Table{}, false, err
	}
	measured := r.measured()
	charged := func(key, title string, quantity units.Kind, which int, get func(s share, c manifold.Cylinder) float64) table.Field[share] {
		return table.Cells(key, title, quantity, func(s share) table.Cell {
			if s.err[which] != nil {
				return table.Missing(s.err[which].Error())
			}
			return table.Num(get(s, [3]manifold.Cylinder{s.common, s.own, s.both}[which]))
		})
	}
	integral := func(s share, c manifold.Cylinder) float64 {
		res, err := s.bench.one.Run(c.Air, c.Lambda, c.CA50)
		if err != nil {
			return math.NaN()
		}
		return res.KnockIntegral
	}
	t = table.Of("air by cylinder", rows,
		table.Counts("cylinder", "cylinder", func(s share) int { return s.cylinder }),
		measured,
		table.Number("air_share", "air", units.Fraction, func(s share) float64 { return s.common.AirShare }).WithDigits(2),
		table.Number("air_deviation", "against mean", units.Fraction, func(s share) float64 { return s.common.Air - 1 }),
		table.Cells("cylinder_lambda", "lambda, one fuel", units.Number, func(s share) table.Cell {
			return lambdaCell(s.common.Lambda)
		}).WithDigits(3),
		charged("cylinder_knock_integral", "knock, one fuel", units.Number, 0, integral).WithDigits(2),
		table.Lists("spread_limits", "limits", func(s share) []string { return s.limits }),
		table.Number("fuel_trim", "fuel trim", units.Fraction, func(s share) float64 { return s.own.FuelTrim }),
		charged("own_fuel_knock_integral", "knock, own fuel", units.Number, 1, integral).WithDigits(2),
		table.Cells("spark_trim_deg", "spark trim", units.Angle, func(s share) table.Cell {
			for _, err := range s.err[1:] {
				if err != nil {
					return table.Missing(err.Error())
				}
			}
			return table.Num(s.own.CA50 - s.both.CA50)
		}),
	)
	t.Trim = r.Trim.Name
	t.Notes = r.shareNotes(o, from, lambda, rows)
	return t, true, nil
}

// shareNotes says what the table of the cylinders rests on.
func (r *Run) shareNotes(o *boost.Outcome, from string, lambda float64, rows []share) []string {
	target := fmt.Sprintf("With one fuel quantity for all the engine runs at lambda %.3f, as the spec asks.", lambda)
	if lambda < o.Point.Lambda*(1-1e-9) {
		target = fmt.Sprintf("With one fuel quantity for all the engine runs at lambda %.3f where %.3f is asked for, so that no cylinder is leaner than %.3f.",
			lambda, o.Point.Lambda, rows[0].bench.Leanest)
	}
	notes := []string{
		fmt.Sprintf("Shares from %s. Full load at %.0f rpm, peak torque.", from, run.RPM(o.Speed)),
		target + " Limits: the cylinder that sets the mixture (lean) or holds the spark of all back (knock; pressure, that in the cylinder); rich: below what runs cleanly.",
		"Fuel trim, of the fuel and not of the pulse with its dead time, gives every cylinder one lambda and leaves the engine's fuel as it is. Spark trim is how much earlier than the one spark that suits all a cylinder with its own fuel may fire.",
	}
	if rows[0].err == [3]error{} {
		const deg = math.Pi / 180
		if late, own := rows[0].common.CA50-o.Point.CA50, rows[0].own.CA50-o.Point.CA50; late > lateBy || own > lateBy {
			notes = append(notes, fmt.Sprintf("The one spark that suits all is %.1f deg later than with an even manifold, with fuel by cylinder %.1f deg.", late/deg, own/deg))
		}
	}
	if s := r.Trim.Manifold.Spread; s.Leanest > 0 && s.Leanest < o.Point.Lambda {
		notes = append(notes, fmt.Sprintf("fuel.lambda, %.3f, is leaner than manifold.spread.leanest, %.3f: fuel.lambda is taken.", o.Point.Lambda, s.Leanest))
	}
	return notes
}

// measured is the column of the figures that the spec gives.
func (r *Run) measured() table.Field[share] {
	get := func(s share) float64 { return s.figure }
	switch s := r.Trim.Manifold.Spread; {
	case s.Lambda != nil:
		return table.Number("measured_lambda", "measured lambda", units.Number, get).WithDigits(3)
	case s.ExhaustTemperature != nil:
		return table.Number("measured_exhaust_temperature_k", "measured exhaust", units.Temperature, get)
	}
	return table.Number("measured_flow", "measured flow", units.Number, get).WithDigits(1)
}

// shareOut runs the cylinders at a point with each trim, and returns them with the engine's λ when all have the same fuel.
func (r *Run) shareOut(o *boost.Outcome, shares []float64) ([]share, float64, error) {
	s := r.Trim.Manifold.Spread
	figures := s.Flow
	switch {
	case s.Lambda != nil:
		figures = s.Lambda
	case s.ExhaustTemperature != nil:
		figures = s.ExhaustTemperature
	}
	b, err := r.bench(o)
	if err != nil {
		return nil, 0, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	rows := make([]share, len(shares))
	var lambda float64
	for _, t := range []manifold.Trim{manifold.CommonFuel, manifold.OwnFuel, manifold.OwnFuelSpark} {
		run, err := b.run(shares, t)
		if t == manifold.CommonFuel {
			lambda = run.Lambda
		}
		for i := range run.Cylinders {
			row := &rows[i]
			row.cylinder, row.figure, row.bench, row.err[t] = i+1, figures[i], b, err
			*[...]*manifold.Cylinder{&row.common, &row.own, &row.both}[t] = run.Cylinders[i]
			if t == manifold.CommonFuel {
				row.limits = b.limits(&run, i)
			}
		}
	}
	return rows, lambda, nil
}

// limits says what a cylinder sets for all of them, all having one fuel quantity and one spark.
func (b *bench) limits(run *manifold.Running, i int) []string {
	var limits []string
	c := run.Cylinders[i]
	if run.Leanest == i && run.Lambda < b.Target*(1-1e-9) {
		limits = append(limits, "lean")
	}
	if c.Lambda < b.Richest {
		limits = append(limits, "rich")
	}
	if run.Knocking == i {
		limits = append(limits, b.held(c.Charge))
	}
	return limits
}

// A toll is what the spread costs at one speed.
type toll struct {
	row
	bench *bench
	err   error // why the engine cannot be judged there at all
	even  manifold.Running
	runs  [3]manifold.Running // by manifold.Trim
	errs  [4]error            // of those, and of the even engine last
}

// tolls returns what the shares cost at every solved speed.
func (r *Run) tolls(shares []float64) []toll {
	tolls := make([]toll, len(r.Outcomes))
	for i, row := range r.rows() {
		t := &tolls[i]
		t.row = row
		if row.Err != nil {
			continue
		}
		if t.bench, t.err = r.bench(row.Outcome); t.err != nil {
			continue
		}
		t.even, t.errs[3] = t.bench.evenly(len(shares))
		for trim := range t.runs {
			t.runs[trim], t.errs[trim] = t.bench.run(shares, manifold.Trim(trim))
		}
	}
	return tolls
}

// evenly returns how the engine runs with the same air for every cylinder.
func (b *bench) evenly(cylinders int) (manifold.Running, error) {
	even := make([]float64, cylinders)
	for i := range even {
		even[i] = 1 / float64(cylinders)
	}
	return b.run(even, manifold.CommonFuel)
}

// SpreadCost returns what the uneven air costs at full load over engine speed. ok is false where the spec has no figures of it.
func (r *Run) SpreadCost() (t table.Table, ok bool, err error) {
	shares, _, err := r.Spread()
	if unread(err) != nil {
		return table.Table{}, false, nil // the table of the manifold tells
	}
	if err != nil || shares == nil {
		return table.Table{}, false, err
	}
	of := func(key, title string, quantity units.Kind, which []int, get func(t toll) table.Cell) table.Field[toll] {
		return table.Cells(key, title, quantity, func(t toll) table.Cell {
			switch {
			case t.Err != nil:
				return table.Missing("no solution at this speed")
			case t.err != nil:
				return table.Missing(t.err.Error())
			}
			for _, w := range which {
				if t.errs[w] != nil {
					return table.Missing(t.errs[w].Error())
				}
			}
			return get(t)
		})
	}
	power := func(key, title string, trim manifold.Trim) table.Field[toll] {
		return of(key, title, units.Power, []int{int(trim)}, func(t toll) table.Cell { return table.Num(t.runs[trim].Power) })
	}
	cost := func(key, title string, trim manifold.Trim) table.Field[toll] {
		return of(key, title, units.Power, []int{3, int(trim)}, func(t toll) table.Cell { return table.Num(t.even.Power - t.runs[trim].Power) })
	}
	t = table.Of("cost of the spread", r.tolls(shares),
		table.Number("rpm", "speed", units.Speed, func(t toll) float64 { return t.Speed }),
		of("lambda", "lambda asked", units.Number, nil, func(t toll) table.Cell { return table.Num(t.Point.Lambda) }).WithDigits(3),
		of("common_lambda", "lambda, one fuel", units.Number, nil, func(t toll) table.Cell { return table.Num(t.runs[manifold.CommonFuel].Lambda) }).WithDigits(3),
		of("limited_cylinders", "limited by", units.Number, []int{0}, func(t toll) table.Cell { return table.List(t.limited()...) }),
		of("even_power_w", "even", units.Power, []int{3}, func(t toll) table.Cell { return table.Num(t.even.Power) }),
		power("common_fuel_power_w", "one fuel", manifold.CommonFuel),
		power("own_fuel_power_w", "own fuel", manifold.OwnFuel),
		power("own_fuel_spark_power_w", "own fuel and spark", manifold.OwnFuelSpark),
		cost("spread_cost_w", "costs", manifold.CommonFuel),
		of("spread_cost_fraction", "of even", units.Fraction, []int{3, int(manifold.CommonFuel)}, func(t toll) table.Cell {
			if !(t.even.Power > 0) {
				return table.Missing("the engine gives no power")
			}
			return table.Num((t.even.Power - t.runs[manifold.CommonFuel].Power) / t.even.Power)
		}).InDetail(),
		cost("own_fuel_cost_w", "costs, own fuel", manifold.OwnFuel),
		cost("own_fuel_spark_cost_w", "costs, both", manifold.OwnFuelSpark),
	)
	t.Trim = r.Trim.Name
	t.Notes = []string{
		"Power with every cylinder filled alike, and with the spec's spread: one fuel quantity and one spark for all, fuel by cylinder, fuel and spark by cylinder. Limited by: the cylinder that sets mixture or spark when all have the same.",
		"The engine's air and exhaust pressure are held as with an even manifold, as a choked restrictor or the boost control holds the air. A cost below 0: a richer mixture or a later burn than the spec's would give more power in any case.",
	}
	if text := r.costAtPeak(shares); text != "" {
		t.Notes = append(t.Notes, text)
	}
	return t, true, nil
}

// costAtPeak says how far the shares are apart, and what they cost at peak power, which lies between the rows.
func (r *Run) costAtPeak(shares []float64) string {
	o := r.peak(run.Power)
	if o == nil {
		return ""
	}
	var even, own manifold.Running
	b, err := r.bench(o)
	if err == nil {
		even, err = b.evenly(len(shares))
	}
	if err == nil {
		own, err = b.run(shares, manifold.CommonFuel)
	}
	text := fmt.Sprintf("No cylinder's air is further than %s from the mean. At peak power, %.0f rpm, ",
		units.Format(manifold.Deviation(shares), units.Fraction, units.Metric), run.RPM(o.Speed))
	switch {
	case err != nil:
		return text + "what that costs is not known: " + err.Error() + "."
	case !(even.Power > 0):
		return text + "the engine gives no power."
	}
	cost := even.Power - own.Power
	return text + fmt.Sprintf("that costs %s of %s with one fuel quantity and one spark, %s.", units.Format(cost, units.Power, units.Metric),
		units.Format(even.Power, units.Power, units.Metric), units.Format(cost/even.Power, units.Fraction, units.Metric))
}

// limited names the cylinders that limit the engine with one fuel quantity and one spark, and by what.
func (t *toll) limited() []string {
	run := &t.runs[manifold.CommonFuel]
	var texts []string
	for i := range run.Cylinders {
		for _, what := range t.bench.limits(run, i) {
			texts = append(texts, fmt.Sprintf("%d %s", i+1, what))
		}
	}
	if texts == nil {
		return []string{"none"}
	}
	return texts
}
