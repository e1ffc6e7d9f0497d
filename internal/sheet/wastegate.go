package sheet

import (
	"errors"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// A Gate is what wastegate and actuator do at each speed of a run, whose tables are asked for.
type Gate struct {
	*run.Gate
	run *Run
}

// Gate is run.Run's.
func (r *Run) Gate() (*Gate, error) {
	g, err := r.Run.Gate()
	if err != nil {
		return nil, err
	}
	return &Gate{g, r}, nil
}

// HeldGate is run.Run's, for Duty.
func (r *Run) HeldGate() (g *Gate, ok bool, err error) {
	held, ok, err := r.Run.HeldGate()
	return &Gate{held, r}, ok, err
}

// What a gate's figures are known of.
var (
	gateSolved table.Known[*run.GatePoint] = func(o *run.GatePoint) error {
		if o.Err != nil {
			return run.ErrNoSolution
		}
		return nil
	}

	// gateTried is what takes the trial engine.
	gateTried = gateSolved.And(func(o *run.GatePoint) error {
		if o.TrialErr != nil {
			return errors.New("no solution with the wastegate wide open or closed: " + run.Reason(o.TrialErr))
		}
		return nil
	})

	// gateLeft is what takes the boost that remains with the wastegate as far open as it goes.
	gateLeft = gateTried.And(func(o *run.GatePoint) error {
		if o.LeftErr != nil {
			return errors.New("no solution with the wastegate at the end of the actuator's stroke: " + run.Reason(o.LeftErr))
		}
		return nil
	})

	// gateHeld is how the actuator holds the point.
	gateHeld = gateSolved.And(func(o *run.GatePoint) error { return o.HoldErr })
)

func (g *Gate) overSpeed(name string, fields ...table.Field[*run.GatePoint]) table.Table {
	points := make([]*run.GatePoint, len(g.Points))
	for i := range g.Points {
		points[i] = &g.Points[i]
	}
	speed := table.Cells("rpm", "speed", units.Speed, func(o *run.GatePoint) table.Cell {
		c := table.Num(o.Speed)
		if o.Err != nil {
			return c.Noted(row{o.Outcome, g.run}.unsolved())
		}
		return c
	})
	t := table.Of(name, points, append([]table.Field[*run.GatePoint]{speed}, fields...)...)
	t.Trim = g.run.Trim.Name
	return t
}

// boost is a field of the boost of the points.
func (g *Gate) boost() table.Field[*run.GatePoint] {
	return gateSolved.Number("boost_pa", "boost", units.GaugePressure, func(o *run.GatePoint) float64 { return o.Boost(g.run.Trim.Venue.Pressure) })
}

func gateLift() table.Field[*run.GatePoint] {
	return gateSolved.Number("wastegate_lift_m", "wastegate lift", units.Length, (*run.GatePoint).Lift).WithDigits(1)
}

func boostToHold() table.Field[*run.GatePoint] {
	return gateTried.Number("wanted_boost_pa", "boost to hold", units.GaugePressure, (*run.GatePoint).Wanted)
}

// gateWhen drops fields that do not apply.
func gateWhen(applies bool, fields ...table.Field[*run.GatePoint]) []table.Field[*run.GatePoint] {
	if !applies {
		return nil
	}
	return fields
}

// Control returns how the actuator holds each point: the base table of duty, and what is left to regulate with. It needs an
// actuator.
func (g *Gate) Control() table.Table {
	t := g.control("boost control", gateTried.Cells("boost_per_duty_pa", "boost per 1 %", units.PressureDifference, perDutyCell).WithDigits(3))
	t.Notes = g.controlNotes()
	return t
}

// holding is a field of a figure of how the actuator holds the point.
func holding(key, title string, quantity units.Kind, get func(h *wastegate.Holding) float64) table.Field[*run.GatePoint] {
	return gateHeld.Number(key, title, quantity, func(o *run.GatePoint) float64 { return get(&o.Holding) })
}

// control returns the table of how the actuator holds each point, with fields of what it takes more work to know.
func (g *Gate) control(name string, more ...table.Field[*run.GatePoint]) table.Table {
	y := &g.run.Trim.Control.System
	duty := func(key, title string, get func(h *wastegate.Holding) float64) table.Field[*run.GatePoint] {
		return gateHeld.Cells(key, title, units.Fraction, func(o *run.GatePoint) table.Cell {
			return table.Num(get(&o.Holding)).Toned(failedIf(o.Holding.Short != wastegate.NoSide))
		})
	}
	fields := []table.Field[*run.GatePoint]{
		g.boost(),
		gateLift(),
		holding("opening_port_pressure_pa", "opening port", units.Pressure, func(h *wastegate.Holding) float64 { return h.OpeningPressure }),
	}
	fields = append(fields, gateWhen(y.Actuator.ClosingArea > 0,
		holding("closing_port_pressure_pa", "closing port", units.Pressure, func(h *wastegate.Holding) float64 { return h.ClosingPressure }))...)
	fields = append(fields, gateWhen(y.Opening != nil,
		duty("opening_duty", dutyTitle(y.Closing != nil, "opening duty"), func(h *wastegate.Holding) float64 { return h.OpeningDuty }))...)
	fields = append(fields, gateWhen(y.Closing != nil,
		duty("closing_duty", dutyTitle(y.Opening != nil, "closing duty"), func(h *wastegate.Holding) float64 { return h.ClosingDuty }))...)
	fields = append(fields, gateWhen(g.Driven(), gateHeld.Cells("duty_authority", "duty left", units.Fraction, authorityCell))...)
	fields = append(fields, gateWhen(g.Driven(), more...)...)
	fields = append(fields,
		gateHeld.Cells("actuator_force_margin_n", "force to spare", units.Force, func(o *run.GatePoint) table.Cell {
			return table.Num(o.Holding.ForceMargin).Toned(failedIf(check.LacksForce(&o.Holding)))
		}).WithDigits(0),
		g.travelField(),
		g.shortField(),
		holding("actuator_opening_margin_n", "to open", units.Force, func(h *wastegate.Holding) float64 { return h.OpeningMargin }).InDetail(),
		holding("actuator_closing_margin_n", "to close", units.Force, func(h *wastegate.Holding) float64 { return h.ClosingMargin }).InDetail(),
		holding("actuator_needed_force_n", "force needed", units.Force, func(h *wastegate.Holding) float64 { return h.NeededForce }).InDetail(),
		holding("actuator_port_force_n", "port force", units.Force, func(h *wastegate.Holding) float64 { return h.PortForce }).InDetail(),
		gateSolved.Number("control_source_pressure_pa", "source", units.Pressure, func(o *run.GatePoint) float64 {
			return o.State().SourcePressure
		}).InDetail(),
	)
	fields = append(fields, gateWhen(g.Driven(),
		holding("control_air_flow_kg_s", "control air", units.MassFlow, func(h *wastegate.Holding) float64 { return h.AirFlow }).InDetail())...)
	return g.overSpeed(name, fields...)
}

// travelField is left to CSV and JSON where the stroke is long enough.
func (g *Gate) travelField() table.Field[*run.GatePoint] {
	short := func(o *run.GatePoint) bool { return o.Holding.Short == wastegate.TravelSide }
	f := gateHeld.Cells("actuator_travel_margin_m", "lift to spare", units.Length, func(o *run.GatePoint) table.Cell {
		return table.Num(o.Holding.TravelMargin).Toned(failedIf(short(o)))
	}).WithDigits(1)
	f.Detail = !g.Any(short)
	return f
}

// shortField is left to CSV and JSON where nothing is short.
func (g *Gate) shortField() table.Field[*run.GatePoint] {
	f := gateHeld.Cells("short_side", "falls short", units.Number, func(o *run.GatePoint) table.Cell {
		c := table.Text(o.Short().String())
		if o.Short() != run.Nothing {
			c = c.Toned(table.Failed).Noted(check.ShortMeans(o))
		}
		return c
	})
	f.Detail = !g.Any(func(o *run.GatePoint) bool { return o.Short() != run.Nothing })
	return f
}

// dutyTitle leaves out which duty it is where there is only one.
func dutyTitle(both bool, title string) string {
	if both {
		return title
	}
	return "duty"
}

// controlNotes say what to doubt about how the actuator holds the points.
func (g *Gate) controlNotes() []string {
	if !g.Driven() {
		return []string{"Without a pulsed valve the spring alone sets the boost."}
	}
	return []string{
		"Friction of valve and rod is not counted: leave some force to spare for it.",
		"Come up to the target from below: the same duty may give up to " + tenths + " more than here.",
	}
}

// What is said where no duty is asked to hold a balance.
const (
	staysClosed = "the wastegate has to stay closed: the duty is the end that closes it hardest"
	allOpen     = "the boost creeps: the duty is the end that opens the wastegate furthest"
)

func authorityCell(o *run.GatePoint) table.Cell {
	left := o.Holding.Authority
	switch {
	case math.IsNaN(left) && o.Point.WastegateLift == 0:
		return table.Missing(staysClosed)
	case math.IsNaN(left):
		return table.Missing(allOpen)
	case check.LittleLeft(left):
		return table.Num(left).Toned(table.Caution)
	}
	return table.Num(left)
}

func perDutyCell(o *run.GatePoint) table.Cell {
	switch {
	case o.PerDutyErr != nil:
		return table.Missing(run.ReachReason(o.PerDutyErr))
	case o.Point.WastegateLift == 0:
		return table.Missing(staysClosed)
	case o.WideOpen():
		return table.Missing(allOpen)
	case math.IsNaN(o.PerDuty):
		return table.Missing("no duty holds this boost")
	case o.PerDuty == 0:
		return table.Missing("1 % of duty to either side leaves the boost at an end of the boost range")
	}
	c := table.Num(o.PerDuty)
	switch {
	case o.AtMost() && o.Most.Limit == airpath.Restrictor:
		return c.Noted("downwards only: the restrictor is choked, and a duty that closes the wastegate further only makes the shaft faster")
	case o.AtMost():
		return c.Noted("downwards only: there is no more boost, " + partName(o.Most.Limit))
	}
	return c
}

// partName names the part of the engine that keeps the boost from going higher. The trial engine knows no limits but those of the parts themselves.
func partName(l airpath.Limit) string {
	switch l {
	case airpath.ShaftSpeed:
		return "top line of the map"
	case airpath.Surge:
		return "surge line"
	}
	return l.String()
}

// pushNotKnown says how well a duty is known.
var pushNotKnown = "The exhaust is taken to push on the valve with all of its pressure drop at any lift. " +
	"In truth it pushes less as the valve opens, and the same duty gives up to " + tenths + " more."

// tenths is the size of what is not known of the boost that a duty gives.
var tenths = units.Words("some tenths of a bar", "some psi", "some tenths of a bar")

// wastegateEntries explain the columns above.
func wastegateEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "wanted_boost_pa", Title: "boost to hold",
			Meaning: "Boost that the boost control has to hold: what the engine's other limits leave of the target. Where the boost creeps, the target.",
			Formula: "boost of the operating point, or min(target, all there is) where it creeps", Source: ours, Range: full,
		},
		{
			Key: "boost_per_duty_pa", Title: "boost per 1 %",
			Meaning: "How much the boost moves for 1 % of duty, in Pa for that 1 %. Where it is large the control is touchy.",
			Formula: "(boost(D + 0.01) − boost(D − 0.01))/2, to one side at an end",
			Source:  "central difference", Range: "where the boost is held by a balance of forces",
		},
		{
			Key: "opening_port_pressure_pa", Title: "opening port",
			Meaning: "Mean pressure in the port that pushes the wastegate open, absolute.",
			Formula: "Ai ps ψ(po/ps, γ) = Ao po ψ(pa/po, γ); bleed: Ai = u A, Ao = B; three-way: u A, (1 − u) B; vent: B, u A; u the share of time open",
			Source:  "continuity; each flow after de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)",
			Range:   "pulses short against the time the port takes to fill; from the venue's pressure to the source's",
		},
		{
			Key: "closing_port_pressure_pa", Title: "closing port",
			Meaning: "Mean pressure in the port on the spring's side, which helps to keep the wastegate closed, absolute.",
			Formula: "Ai ps ψ(pc/ps, γ) = Ao pc ψ(pa/pc, γ), areas as for the opening port; the venue's pressure without a valve",
			Source:  "continuity; each flow after de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)",
			Range:   "pulses short against the time the port takes to fill; from the venue's pressure to the source's",
		},
		{
			Key: "opening_duty", Title: "opening duty", Also: []string{"duty"},
			Meaning: "Share of the time that the opening port's valve has current to hold the lift. Where no duty holds it, the end that comes nearest. " +
				pushNotKnown,
			Formula: "D from (po(D) − pa) Ao − (pc − pa) Ac = F0 + k L l ∓ (p3 − p4) Av/L",
			Source:  "principle of virtual work on diaphragm, lever and valve",
			Range:   "0 to 1; no friction, steady exhaust pressure, its full push on the valve at any lift",
		},
		{
			Key: "closing_duty", Title: "duty", Also: []string{"closing duty"},
			Meaning: "Share of the time that the closing port's valve has current. Beside an opening valve it is 1 less that one's duty. " +
				pushNotKnown,
			Formula: "D from (po − pa) Ao − (pc(D) − pa) Ac = F0 + k L l ∓ (p3 − p4) Av/L",
			Source:  "principle of virtual work on diaphragm, lever and valve",
			Range:   "0 to 1; no friction, steady exhaust pressure, its full push on the valve at any lift",
		},
		{
			Key: "duty_authority", Title: "duty left",
			Meaning: "Distance of the duty from the nearer of 0 and 100 %: what is left to regulate with. Blank while the wastegate has to stay closed.",
			Formula: "min(D, 1 − D)", Source: ours, Range: "0 to 0.5; 0 also where no duty holds the lift",
		},
		{
			Key: "actuator_force_margin_n", Title: "force to spare",
			Meaning: "Force that the ports have to spare, at the diaphragm: the smaller of what is left to open and what is left to close. " +
				"With the wastegate closed, what keeps it closed. Without a pulsed valve, 0 where spring and ports balance. " +
				"Negative, the force that is missing.",
			Formula: "min(Pmax − N, N − Pmin), P = (po − pa) Ao − (pc − pa) Ac, N = F0 + k L l ∓ (p3 − p4) Av/L",
			Source:  "principle of virtual work on diaphragm, lever and valve",
			Range:   "no friction, steady exhaust pressure, its full push on the valve at any lift",
		},
		{
			Key: "actuator_opening_margin_n", Title: "to open",
			Meaning: "Greatest port force there is less the one needed.",
			Formula: "Pmax − N, see actuator_force_margin_n",
			Source:  "principle of virtual work on diaphragm, lever and valve", Range: "no friction",
		},
		{
			Key: "actuator_closing_margin_n", Title: "to close",
			Meaning: "Port force needed less the least there is.",
			Formula: "N − Pmin, see actuator_force_margin_n",
			Source:  "principle of virtual work on diaphragm, lever and valve", Range: "no friction",
		},
		{
			Key: "actuator_needed_force_n", Title: "force needed",
			Meaning: "Port force that balances spring and exhaust at the lift.",
			Formula: "N = F0 + k L l ∓ (p3 − p4) Av/L",
			Source:  "principle of virtual work on diaphragm, lever and valve", Range: "no friction, steady exhaust pressure",
		},
		{
			Key: "actuator_port_force_n", Title: "port force",
			Meaning: "Force of both ports on the diaphragm at the duty, positive towards open.",
			Formula: "P = (po − pa) Ao − (pc − pa) Ac", Source: "principle of virtual work on diaphragm, lever and valve", Range: always,
		},
		{
			Key: "control_source_pressure_pa", Title: "source",
			Meaning: "Pressure of the air that feeds the ports, absolute.",
			Formula: "compressor outlet or manifold, as the spec says", Source: ours, Range: always,
		},
		{
			Key: "control_air_flow_kg_s", Title: "control air",
			Meaning: "Mean flow that the pulsed valves take from the charge.",
			Formula: "m = Ao p/√(R T) ψ(pa/p, γ), summed over the ports",
			Source:  "continuity; each flow after de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)", Range: "port air as warm as the source",
		},
		{
			Key: "actuator_travel_margin_m", Title: "lift to spare",
			Meaning: "Greatest lift that the actuator's stroke gives less the lift needed.",
			Formula: "stroke/L − l", Source: ours, Range: always,
		},
		{
			Key: "short_side", Title: "falls short",
			Meaning: "What does not suffice to hold the boost: the force to open, the force to close, the actuator's stroke, or the valve's area.",
			Formula: "see actuator_force_margin_n, actuator_travel_margin_m, creep_pa",
			Source:  ours, Range: "nothing where the boost is held",
		},
	}
}
