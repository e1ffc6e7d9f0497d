package sheet

import (
	"errors"
	"fmt"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
	"bellmouth/internal/spark"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// A Spark is a run with what its phasing would be if the fuel did not knock.
type Spark struct {
	*Run
	best *airpath.Engine // the engine on a fuel that does not knock
	full []unknocked     // at full load, by speed
}

// An unknocked is a point with the manifold pressure of another, at the phasing that knock keeps that one from.
type unknocked struct {
	point airpath.Point
	err   error
}

// freeOfKnock is a knock limit that no engine worth computing meets at its best phasing: 10 wants twice the octane number.
const freeOfKnock = 10

// Spark returns the run made ready for the tables about the spark.
func (r *Run) Spark() (*Spark, error) {
	setup := r.Engine.Setup
	setup.Combustion.KnockLimit = freeOfKnock
	setup.Limits.Torque = 0 // an earlier burn gives more torque; what is asked for is the same boost
	best, err := airpath.New(setup)
	if err != nil {
		return nil, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	s := &Spark{Run: r, best: best, full: make([]unknocked, len(r.Outcomes))}
	forEach(best, len(s.full), func(solver *airpath.Solver, i int) {
		if o := &r.Outcomes[i]; o.Err == nil {
			s.full[i] = s.unknock(solver, &o.Point, airpath.Demand{})
		}
	})
	return s, nil
}

// forEach calls do for every index below n, spread over the cores, each of which has a solver of the engine.
func forEach(e *airpath.Engine, n int, do func(solver *airpath.Solver, i int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	var group errgroup.Group
	for w := range workers {
		group.Go(func() error {
			solver := e.NewSolver()
			for i := w; i < n; i += workers {
				do(solver, i)
			}
			return nil
		})
	}
	_ = group.Wait() // nothing returns an error
}

// unknock returns the point at the same manifold pressure with a fuel that does not knock. A point that knock holds nowhere is that
// already. as says whether it is one of part load.
func (s *Spark) unknock(solver *airpath.Solver, p *airpath.Point, as airpath.Demand) unknocked {
	if !p.Limits.Has(airpath.Knock) && p.Notes&airpath.NoteKnockUnmet == 0 {
		return unknocked{point: *p}
	}
	as.Speed, as.Target = p.Speed, p.ManifoldPressure
	if s.Engine.Compressor == nil && !as.Throttled {
		as.Target = math.Inf(1)
	}
	var u unknocked
	u.point, u.err = solver.Solve(as)
	return u
}

// margin returns the octane numbers to spare at a point, negative where they are short.
func (s *Spark) margin(p *airpath.Point) table.Cell {
	m, _, err := spark.Knock{
		Octane: p.KnockOctane, Integral: p.KnockIntegral, Limit: s.Engine.Combustion.KnockLimit,
	}.OctaneMargin()
	if err != nil {
		return table.Missing(err.Error())
	}
	return table.Num(m)
}

// marginAtBest returns the octane numbers to spare at the phasing that knock keeps a point from.
func (s *Spark) marginAtBest(u *unknocked) table.Cell {
	switch {
	case u.err != nil:
		return table.Missing("no solution with the burn at its best")
	case u.point.KnockIntegral > freeOfKnock*(1-1e-4):
		return table.Missing("so far from the best phasing that no octane number tells")
	}
	c := s.margin(&u.point)
	if c.Content() == table.NumberCell && c.Number() < -octaneSlack {
		return c.Toned(table.Caution)
	}
	return c
}

// octaneSlack is the part of an octane number by which a solved knock limit may be missed.
const octaneSlack = 0.05

// FullLoad returns the spark and the burn that follows it at full load, over engine speed.
func (s *Spark) FullLoad() table.Table {
	rows := make([]sparkRow, len(s.Outcomes))
	for i, o := range s.rows() {
		rows[i] = sparkRow{row: o, best: &s.full[i]}
	}
	forEach(s.Engine, len(rows), func(_ *airpath.Solver, i int) {
		if o := &s.Outcomes[i]; o.Err == nil {
			rows[i].border = s.border(&o.Point)
		}
	})
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
		borderField("border_spark_deg", "spark at limit", func(b *border) float64 { return -b.spark }),
		borderField("border_ca50_deg", "CA50 at limit", func(b *border) float64 { return b.ca50 }),
		plain(knockIntegral),
		{
			Column: table.Column{Key: "octane_margin", Title: "octane to spare", Quantity: units.Number, Digits: 1, Detail: true},
			Get: func(r sparkRow) table.Cell {
				if r.Err != nil {
					return table.Missing("no solution at this speed")
				}
				return s.margin(&r.Point)
			},
		},
		{
			Column: table.Column{Key: "best_octane_margin", Title: "octane to spare", Quantity: units.Number, Digits: 1},
			Get: func(r sparkRow) table.Cell {
				if r.Err != nil {
					return table.Missing("no solution at this speed")
				}
				return s.marginAtBest(r.best)
			},
		},
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

// A border is the burn with which the fastest cycles of a point's charge begin to knock.
type border struct {
	ca50, spark float64 // rad after firing top dead centre
	err         error
}

var errPastBorder = errors.New("its fastest cycles knock even at the latest CA50 accepted")

// border returns the border of a point's charge: at the best phasing where it does not knock with that.
func (s *Spark) border(p *airpath.Point) border {
	one, err := s.Engine.SingleAt(p)
	if err != nil {
		return border{err: err}
	}
	var last airpath.SingleResult
	over := func(ca50 float64) float64 {
		if last, err = one.Run(1, p.Lambda, ca50); err != nil {
			return math.NaN()
		}
		return math.Log(last.KnockIntegral / s.Trim.Engine.Combustion.KnockLimit)
	}
	c := s.Engine.Combustion
	if over(c.BestCA50) <= 0 {
		return border{ca50: c.BestCA50, spark: last.SparkAngle}
	}
	if err == nil && over(c.LatestCA50) > 0 {
		return border{err: errPastBorder}
	}
	if err != nil {
		return border{err: err}
	}
	root, err := numeric.FindRoot(over, c.BestCA50, c.LatestCA50, 1e-6)
	if err == nil {
		over(root.X)
	}
	return border{ca50: root.X, spark: last.SparkAngle, err: err}
}

func borderField(key, title string, get func(b *border) float64) table.Field[sparkRow] {
	return table.Field[sparkRow]{
		Column: table.Column{Key: key, Title: title, Quantity: units.Angle, Digits: 1},
		Get: func(r sparkRow) table.Cell {
			switch {
			case r.Err != nil:
				return table.Missing("no solution at this speed")
			case r.border.err != nil:
				return table.Missing(r.border.err.Error())
			}
			return table.Num(get(&r.border))
		},
	}
}

// bandNote says how far from knock the tables keep.
func (s *Spark) bandNote() string {
	c := s.Trim.Engine.Combustion
	return fmt.Sprintf("All of this, the base table too, keeps %.3g octane numbers clear of the knock limit: an integral of %.3f instead of %.3g, where the fastest cycles begin to knock. "+
		"At limit: the same charge burned as early as that.", c.KnockMargin, s.Engine.Combustion.KnockLimit, c.KnockLimit)
}

// A sparkRow is one engine speed of a Spark.
type sparkRow struct {
	row
	best   *unknocked
	border border
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

// A sparkChange is something that the tuner may find different from the spec.
type sparkChange struct {
	name  string
	apply func(s *airpath.Setup, speed float64)
}

// The steps of the changes.
const (
	octaneStep      = 1.0
	warmer          = 10.0 // K
	compressionStep = 0.2
	richer          = 0.02 // of lambda
)

// changes returns what is changed, one at a time.
func (s *Spark) changes() []sparkChange {
	charge := sparkChange{"coolant of the charge cooler 10 K warmer", func(s *airpath.Setup, _ float64) {
		c := *s.Cooler
		c.CoolantTemperature += warmer
		s.Cooler = &c
	}}
	if s.Engine.Cooler == nil {
		charge = sparkChange{"air 10 K warmer, as moist", func(s *airpath.Setup, _ float64) {
			vapour := s.Venue.WaterMoleFraction()
			s.Venue.Temperature += warmer
			if vapour > 0 {
				s.Venue.RelativeHumidity *= vapour / s.Venue.WaterMoleFraction()
			}
		}}
	}
	return []sparkChange{
		{"octane number 1 higher", func(s *airpath.Setup, _ float64) {
			s.Fuel.RON, s.Fuel.MON = s.Fuel.RON+octaneStep, s.Fuel.MON+octaneStep
			if s.Fuel.Octane != 0 {
				s.Fuel.Octane += octaneStep
			}
		}},
		charge,
		{"compression ratio 0.2 higher", func(s *airpath.Setup, _ float64) {
			s.Cylinder.CompressionRatio += compressionStep
		}},
		{"lambda 0.02 richer", func(s *airpath.Setup, speed float64) {
			lambda, _ := s.Mixture.Lambda(speed, math.Inf(1), 1)
			s.Mixture = airpath.Mixture{FullLoad: numeric.Constant(lambda - richer)}
		}},
	}
}

// with solves full load at a speed, rad/s, with a change, and tells the octane numbers to spare then.
func (s *Spark) with(c sparkChange, speed float64) (boost.Outcome, table.Cell, error) {
	setup := s.Engine.Setup
	c.apply(&setup, speed)
	engine, err := airpath.New(setup)
	if err != nil {
		return boost.Outcome{}, table.Cell{}, err
	}
	run := &Run{Run: &run.Run{Trim: s.Trim, Engine: engine, Outcomes: boost.Sweep(engine, s.Trim.Boost.Target, []float64{speed})}}
	if err := run.Outcomes[0].Err; err != nil {
		return boost.Outcome{}, table.Cell{}, err
	}
	changed, err := run.Spark()
	if err != nil {
		return boost.Outcome{}, table.Cell{}, err
	}
	return run.Outcomes[0], changed.marginAtBest(&changed.full[0]), nil
}

// Effects returns what steps of the fuel, the charge's temperature, the compression and the mixture do to spark and torque at full load, at
// the speeds of peak torque and peak power: the engine solved anew with each. ok is false where no point has a solution.
func (s *Spark) Effects() (t table.Table, ok bool) {
	type effect struct {
		sparkChange
		before       *boost.Outcome
		after        boost.Outcome
		spare, spent table.Cell // octane to spare after and before
		err          error
	}
	torque := boost.Highest(s.Outcomes, func(p *airpath.Point) float64 { return p.Torque })
	power := boost.Highest(s.Outcomes, func(p *airpath.Point) float64 { return p.Power })
	if torque < 0 {
		return table.Table{}, false
	}
	at := []int{torque}
	if power != torque {
		at = append(at, power)
	}
	var effects []effect
	for _, i := range at {
		for _, c := range s.changes() {
			effects = append(effects, effect{sparkChange: c, before: &s.Outcomes[i], spent: s.marginAtBest(&s.full[i])})
		}
	}
	forEach(s.Engine, len(effects), func(_ *airpath.Solver, i int) {
		e := &effects[i]
		e.after, e.spare, e.err = s.with(e.sparkChange, e.before.Speed)
	})
	by := func(key, title string, kind units.Kind, get func(p *airpath.Point) float64) table.Field[effect] {
		return table.Cells(key, title, kind, func(e effect) table.Cell {
			if e.err != nil {
				return table.Missing(e.err.Error())
			}
			return table.Num(get(&e.after.Point) - get(&e.before.Point))
		})
	}
	fields := []table.Field[effect]{
		table.Number("rpm", "speed", units.Speed, func(e effect) float64 { return e.before.Speed }),
		table.Words("change", "change", func(e effect) string { return e.name }),
		by("spark_change_deg", "spark by", units.Angle, func(p *airpath.Point) float64 { return -p.SparkAngle }),
		by("ca50_change_deg", "CA50 by", units.Angle, func(p *airpath.Point) float64 { return p.CA50 }),
		by("torque_change_nm", "torque by", units.Torque, func(p *airpath.Point) float64 { return p.Torque }).WithDigits(1),
	}
	if s.Forced() {
		fields = append(fields, by("boost_change_pa", "boost by", units.PressureDifference, func(p *airpath.Point) float64 { return p.ManifoldPressure }).WithDigits(3))
	}
	fields = append(fields, table.Cells("octane_change", "octane to spare by", units.Number, func(e effect) table.Cell {
		switch {
		case e.err != nil:
			return table.Missing(e.err.Error())
		case e.spare.Content() != table.NumberCell:
			return e.spare
		case e.spent.Content() != table.NumberCell:
			return e.spent
		}
		return table.Num(e.spare.Number() - e.spent.Number())
	}).WithDigits(1))
	fields = append(fields, by("exhaust_change_k", "exhaust by", units.TemperatureDifference, func(p *airpath.Point) float64 { return p.TurbineInletTemperature }).WithDigits(0))
	t = table.Of("spark effects", effects, fields...)
	t.Trim = s.Trim.Name
	where := "At peak torque"
	if len(at) > 1 {
		where = "At peak torque, then at peak power"
	}
	t.Notes = []string{where + ", full load: the engine solved anew with each change by itself. Where neither knock nor cylinder pressure holds the burn, the spark stays. " +
		"Octane to spare: as at full load. Lambda acts through temperatures, flame speed and, lean, knock delay."}
	return t, true
}
