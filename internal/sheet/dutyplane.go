package sheet

import (
	"errors"
	"fmt"

	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// A DutyPlane is the wastegate's duty over engine speed and boost, whose tables are asked for.
type DutyPlane struct {
	*run.DutyPlane
	gate *Gate
}

// A DutyRange is between which boosts the duty holds the engine, whose table is asked for.
type DutyRange struct {
	*run.DutyRange
	gate *Gate
}

// DutyRange is run.Gate's.
func (g *Gate) DutyRange() (*DutyRange, error) {
	d, err := g.Gate.DutyRange()
	return &DutyRange{d, g}, err
}

// Over is run.DutyRange's.
func (d *DutyRange) Over(boosts []float64) (*DutyPlane, error) {
	p, err := d.DutyRange.Over(boosts)
	return &DutyPlane{p, d.gate}, err
}

// dutySolved are the cells with a solution.
var dutySolved table.Known[*run.DutyCell] = func(c *run.DutyCell) error {
	if c.Own.Err != nil {
		return errors.New("no solution at this point: " + run.Reason(c.Own.Err))
	}
	return nil
}

// dutyKnown are the cells whose duty is that of a boost which the engine comes to, asked for or not.
var dutyKnown = dutySolved.And(func(c *run.DutyCell) error { return c.HoldErr })

// dutyHeld are the cells whose duty holds the boost asked for.
var dutyHeld = dutyKnown.And(unheldReason)

// unheldReason says why the boost asked for is not held; nil where it is.
func unheldReason(c *run.DutyCell) error {
	if c.Meets() {
		return nil
	}
	switch c.HeldBy() {
	case run.BySpring:
		return errors.New("below the boost that the wastegate's spring or stroke holds: no duty comes down to it")
	case run.ByCreep:
		return errors.New("the wastegate is wide open and passes too little: the boost creeps above it")
	case run.ByActuator:
		return errors.New("above the boost for which the actuator keeps the wastegate closed")
	}
	return errors.New("above the boost that the engine reaches: " + c.Own.Point.Limit.String() + " comes first")
}

// dutyFields are the duties of the valves there are, the one that drives the system first.
func (g *Gate) dutyFields(known table.Known[*run.DutyCell]) []table.Field[*run.DutyCell] {
	y := &g.run.Trim.Control.System
	field := func(key, title string, get func(h *wastegate.Holding) float64) table.Field[*run.DutyCell] {
		return known.Number(key, title, units.Fraction, func(c *run.DutyCell) float64 { return get(&c.Holding) })
	}
	closing := field("closing_duty", "duty", func(h *wastegate.Holding) float64 { return h.ClosingDuty })
	if y.Opening == nil {
		return []table.Field[*run.DutyCell]{closing}
	}
	fields := []table.Field[*run.DutyCell]{field("opening_duty", "duty", func(h *wastegate.Holding) float64 { return h.OpeningDuty })}
	if y.Closing != nil {
		fields[0].Title, closing.Title = "opening duty", "closing duty"
		fields = append(fields, closing.InDetail())
	}
	return fields
}

// Table returns the duty over engine speed and boost: what is put into a boost control to begin with.
func (p *DutyPlane) Table() table.Table {
	var cells []*run.DutyCell
	for i := range p.Cells {
		for j := range p.Cells[i] {
			cells = append(cells, &p.Cells[i][j])
		}
	}
	holding := func(key, title string, quantity units.Kind, get func(h *wastegate.Holding) float64) table.Field[*run.DutyCell] {
		return dutyHeld.Number(key, title, quantity, func(c *run.DutyCell) float64 { return get(&c.Holding) }).InDetail()
	}
	fields := p.gate.dutyFields(dutyHeld)
	fields = append(fields,
		dutySolved.Cells("boost_held_by", "held by", units.Number, func(c *run.DutyCell) table.Cell { return table.Text(c.HeldByName()) }).InDetail(),
		dutySolved.Number("boost_pa", "boost", units.GaugePressure, (*run.DutyCell).Comes).InDetail(),
		dutyHeld.Number("wastegate_lift_m", "wastegate lift", units.Length, func(c *run.DutyCell) float64 { return c.Lift() }).WithDigits(1).InDetail(),
		holding("opening_port_pressure_pa", "opening port", units.Pressure, func(h *wastegate.Holding) float64 { return h.OpeningPressure }),
	)
	if p.gate.run.Trim.Control.Actuator.ClosingArea > 0 {
		fields = append(fields, holding("closing_port_pressure_pa", "closing port", units.Pressure, func(h *wastegate.Holding) float64 { return h.ClosingPressure }))
	}
	fields = append(fields,
		dutyHeld.Cells("duty_authority", "duty left", units.Fraction, func(c *run.DutyCell) table.Cell { return authorityCell(&c.GatePoint) }).InDetail(),
		holding("actuator_force_margin_n", "force to spare", units.Force, func(h *wastegate.Holding) float64 { return h.ForceMargin }).WithDigits(0),
	)
	t := table.Plane("duty base table", cells,
		table.Number("rpm", "speed", units.Speed, func(c *run.DutyCell) float64 { return c.Own.Speed }),
		table.Number("target_boost_pa", "target", units.GaugePressure, func(c *run.DutyCell) float64 { return c.Own.TargetBoost }),
		fields...)
	t.Trim = p.gate.run.Trim.Name
	t.Notes = []string{"Duty: share of the time that the valve has current" + opposed(p.gate) + ". At full load, steady, with every limit of the trim kept as in the operating points: " +
		"late burning against knock too. Above what the engine reaches put in no more than the duty of the highest boost, below what the spring holds the duty of the lowest, " +
		"as the table of the boost held has them. Friction of valve and rod is not counted."}
	return t
}

// opposed says how two duties belong together.
func opposed(g *Gate) string {
	if y := g.run.Trim.Control; y.Opening != nil && y.Closing != nil {
		return "; the two are opposed, one's duty is 100 % less the other's"
	}
	return ""
}

// Table returns between which boosts the duty holds the engine at each speed, and the duty at both ends.
func (d *DutyRange) Table() table.Table {
	y := &d.gate.run.Trim.Control.System
	var lowest table.Known[*run.SpeedRange] = func(s *run.SpeedRange) error {
		if err := s.LowestKnown(); err != nil {
			return errors.New(run.ReachReason(err))
		}
		return nil
	}
	most := func(f table.Field[*run.DutyCell]) table.Field[*run.SpeedRange] {
		return table.Field[*run.SpeedRange]{Column: f.Column, Get: func(s *run.SpeedRange) table.Cell { return f.Get(&s.Most) }}
	}
	fields := []table.Field[*run.SpeedRange]{
		table.Number("rpm", "speed", units.Speed, func(s *run.SpeedRange) float64 { return s.Most.Own.Speed }),
		lowest.Number("lowest_boost_pa", "lowest boost", units.GaugePressure, func(s *run.SpeedRange) float64 { return s.Lowest.Lowest.Boost }),
		lowest.Cells("lowest_boost_by", "held by", units.Number, func(s *run.SpeedRange) table.Cell { return table.Text(lowestBy(s)) }),
		most(dutySolved.Number("most_boost_pa", "highest", units.GaugePressure, (*run.DutyCell).Comes)),
		most(dutySolved.Cells("most_boost_by", "ended by", units.Number, func(c *run.DutyCell) table.Cell {
			return table.List(c.Own.Point.Limits.Names(c.Own.Point.Limit)...)
		})),
	}
	for _, f := range d.gate.dutyFields(dutyKnown) {
		fields = append(fields, most(f))
	}
	rows := make([]*run.SpeedRange, len(d.Speed))
	for i := range d.Speed {
		rows[i] = &d.Speed[i]
	}
	t := table.Of("boost held by duty", rows, fields...)
	t.Trim = d.gate.run.Trim.Name
	_, open := y.Ends()
	t.Notes = []string{fmt.Sprintf("Lowest: the duty at the end that opens the wastegate furthest, %s. Highest: all that the engine reaches within the limits of the trim, whatever the target asks for, "+
		"and the duty that holds it.", units.Mark(open, units.Fraction))}
	return t
}

// lowestBy names what keeps the boost from going lower.
func lowestBy(s *run.SpeedRange) string {
	switch s.Lowest.Lowest.End {
	case wastegate.Within:
		return "spring"
	case wastegate.Stop:
		return "stroke"
	case wastegate.Highest:
		return "turbine" // the wastegate stays closed: this is all the boost there is
	}
	return "wide-open wastegate"
}

// dutyplaneEntries explain the columns above.
func dutyplaneEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "boost_held_by", Title: "held by",
			Meaning: "What holds the boost that the engine comes to when it is asked for that boost: the balance of forces at the duty; the closed wastegate; " +
				"its spring or stroke, with the boost above what is asked for; " +
				"or the limit that comes first, with the boost below it.",
			Formula: "balance: F(D) = N(l), see opening_duty; else the limit of the operating point", Source: solution, Range: full,
		},
		{
			Key: "lowest_boost_by", Title: "held by",
			Meaning: "What keeps the boost from going lower: the spring, in balance with the ports; the actuator's stroke; the wide-open wastegate; the turbine, where the wastegate stays closed.",
			Formula: "see lowest_boost_pa", Source: ours, Range: full,
		},
		{
			Key: "most_boost_pa", Title: "highest",
			Meaning: "Highest boost that the engine reaches within all limits of the trim, whatever the target asks for.",
			Formula: solution + ", asked for more than it gives", Source: ours, Range: full,
		},
		{
			Key: "most_boost_by", Title: "ended by",
			Meaning: "The limits that bind there, the governing one first.",
			Formula: "see limits", Source: ours, Range: full,
		},
	}
}
