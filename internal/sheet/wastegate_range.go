package sheet

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/formula"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// gateReaches is what takes the boost that a setting of the boost control leads to.
func gateReaches(get func(o *run.GatePoint) *run.Reach) table.Known[*run.GatePoint] {
	return gateTried.And(func(o *run.GatePoint) error {
		if err := get(o).Err; err != nil {
			return errors.New(run.ReachReason(err))
		}
		return nil
	})
}

// Range returns between which boosts the control can hold the engine. It needs an actuator.
func (g *Gate) Range() table.Table {
	reached := func(key, title string, get func(o *run.GatePoint) *run.Reach) table.Field[*run.GatePoint] {
		return gateReaches(get).Number(key, title, units.GaugePressure, func(o *run.GatePoint) float64 { return get(o).Boost })
	}
	highest := func(o *run.GatePoint) *run.Reach { return &o.Highest }
	fields := []table.Field[*run.GatePoint]{
		gateSolved.Number("target_boost_pa", "target", units.GaugePressure, func(o *run.GatePoint) float64 { return o.TargetBoost }),
		boostToHold(),
		reached("spring_only_boost_pa", "boost on the spring", func(o *run.GatePoint) *run.Reach { return &o.Spring }),
	}
	if g.Driven() {
		lowest := reached("lowest_boost_pa", "lowest boost", func(o *run.GatePoint) *run.Reach { return &o.Lowest })
		lowest.Detail = !g.Any(func(o *run.GatePoint) bool { return math.Abs(o.Lowest.Boost-o.Spring.Boost) > 1 })
		fields = append(fields, lowest, reached("highest_boost_pa", "highest boost", highest))
	}
	fields = append(fields,
		gateReaches(highest).Cells("highest_boost_by", "limited by", units.Number, func(o *run.GatePoint) table.Cell { return table.Text(highestBy(o)) }),
		gateTried.Cells("held_boost_pa", "boost held", units.GaugePressure, heldCell),
	)
	if !g.Driven() {
		fields = append(fields, gateHeld.Answer("preload_n", "preload needed", units.Force, func(o *run.GatePoint) (float64, error) {
			if o.Point.WastegateLift == 0 {
				return 0, errors.New("the wastegate has to stay closed: any preload from here on")
			}
			return o.Preload, o.PreloadErr
		}).WithDigits(0))
	}
	t := g.overSpeed("boost range", fields...)
	t.Notes = []string{"Surge margin, shaft speed limit, injectors and gearbox are not counted here: a boost in this range is not a safe one."}
	return t
}

func heldCell(o *run.GatePoint) table.Cell {
	held, ok := o.Held()
	if !ok {
		return table.Missing("the range is not known")
	}
	c := table.Num(held).Toned(failedIf(math.Abs(held-o.Wanted()) > run.ReachedWithin))
	if o.Highest.Err == nil && held > o.Highest.Boost+run.ReachedWithin {
		c = c.Noted("above the highest boost that the control can ask for: the wastegate passes too little")
	}
	return c
}

// highestBy names what keeps the boost from going higher.
func highestBy(o *run.GatePoint) string {
	switch {
	case o.Highest.End == wastegate.Stop:
		return "stroke"
	case o.HighestIsMost():
		return partName(o.Most.Limit)
	}
	return "actuator"
}

// Valve returns how far the valve opens and what it passes, and how far the boost creeps with the valve wide open.
func (g *Gate) Valve() table.Table {
	greatest := g.MostLift()
	fields := []table.Field[*run.GatePoint]{
		boostToHold(),
		g.boost(),
		gateLift(),
		gateSolved.Cells("wastegate_lift_share", "share of lift", units.Fraction, func(o *run.GatePoint) table.Cell {
			share := o.Lift() / greatest
			return table.Num(share).Toned(failedIf(share > 1+wastegate.TravelTolerance))
		}).WithDigits(0),
		gateSolved.Number("wastegate_flow_kg_s", "wastegate flow", units.MassFlow, func(o *run.GatePoint) float64 {
			return o.Point.WastegateFlow
		}).WithDigits(0),
		gateSolved.Number("wastegate_max_flow_kg_s", "wastegate wide open", units.MassFlow, func(o *run.GatePoint) float64 {
			return o.Point.WastegateMaxFlow
		}).WithDigits(0),
		gateLeft.Number("open_boost_pa", "boost wide open", units.GaugePressure, (*run.GatePoint).LeftBoost),
		gateLeft.Cells("creep_pa", "creep", units.PressureDifference, func(o *run.GatePoint) table.Cell {
			return table.Num(o.Creep()).Toned(failedIf(o.Creep() > run.ReachedWithin))
		}),
	}
	if g.Any((*run.GatePoint).Creeps) {
		fields = append(fields, gateSolved.Answer("wastegate_bore_m", "bore needed", units.Length, func(o *run.GatePoint) (float64, error) {
			switch {
			case o.BoreErr != nil:
				return 0, errors.New(run.Reason(o.BoreErr))
			case math.IsNaN(o.Bore):
				return 0, errors.New("the boost does not creep")
			}
			return o.Bore, nil
		}))
	}
	t := g.overSpeed("wastegate valve", fields...)
	w := g.run.Trim.Wastegate
	if n := w.Count; n > 1 {
		t.Notes = append(t.Notes, fmt.Sprintf("Lift and bore are those of one of the %d valves.", n))
	}
	if w.Bore/4 < w.Lift {
		t.Notes = append(t.Notes, "Lift counts up to a quarter of the bore: beyond that the valve passes no more.")
	}
	if given := g.ValveLift(); given < w.Lift {
		t.Notes = append(t.Notes, fmt.Sprintf("The actuator's stroke gives %s of lift, less than the valve's %s.",
			units.Mark(given, units.Length), units.Mark(w.Lift, units.Length)))
	}
	return t
}

// Sizing returns what the parts would have to be: the spring's preload and the valve's bore. It needs an actuator.
func (g *Gate) Sizing() table.Table {
	a := &g.run.Trim.Control.Actuator
	p, err := g.Preloads()
	bound := func(force float64, at int, none table.Cell) table.Cell {
		switch {
		case err != nil:
			return table.Missing(err.Error())
		case at < 0:
			return none
		}
		return table.Num(force).Toned(failedIf(!p.Possible()))
	}
	where := func(speed float64) table.Cell {
		if err != nil || math.IsNaN(speed) {
			return table.Missing("no speed sets it")
		}
		return table.Num(speed)
	}
	number := func(key, title string, quantity units.Kind, value float64) table.Field[*Gate] {
		return table.Number(key, title, quantity, func(*Gate) float64 { return value })
	}
	cell := func(key, title string, quantity units.Kind, c table.Cell) table.Field[*Gate] {
		return table.Cells(key, title, quantity, func(*Gate) table.Cell { return c })
	}
	const none = "no point has a solution"
	lift, liftAt := table.Missing(none), table.Missing(none)
	if o := g.WidestLift(); o != nil {
		lift = table.Num(o.Lift()).Toned(failedIf(o.Lift() > a.GreatestLift()*(1+wastegate.TravelTolerance)))
		liftAt = table.Num(o.Speed)
	}
	fields := []table.Field[*Gate]{number("given_preload_n", "preload", units.Force, a.Preload).WithDigits(0)}
	if g.Driven() {
		fields = append(fields,
			cell("lowest_preload_n", "preload that holds every speed, from", units.Force, bound(p.Lowest, p.LowestAt, table.Num(0))).WithDigits(0),
			cell("lowest_preload_rpm", "  set at", units.Speed, where(p.LowestSpeed)),
			cell("highest_preload_n", "  to", units.Force,
				bound(p.Highest, p.HighestAt, table.Missing("none is too much: the wastegate has to stay closed"))).WithDigits(0),
			cell("highest_preload_rpm", "  set at", units.Speed, where(p.HighestSpeed)),
		)
	}
	fields = append(fields,
		cell("widest_lift_m", "widest lift", units.Length, lift).WithDigits(1),
		cell("widest_lift_rpm", "  at", units.Speed, liftAt),
		number("actuator_lift_m", "lift that the stroke gives", units.Length, a.GreatestLift()).WithDigits(1),
		number("given_bore_m", "wastegate bore", units.Length, g.run.Trim.Wastegate.Bore),
	)
	if o := g.LargestBore(); o != nil {
		fields = append(fields,
			number("wastegate_bore_m", "bore against creep", units.Length, o.Bore),
			number("wastegate_bore_rpm", "  set at", units.Speed, o.Speed))
	}
	t := table.One("wastegate sizing", g, fields...)
	t.Trim = g.run.Trim.Name
	t.Notes = []string{g.springAdvice(p, err)}
	return t
}

// springAdvice says in words what to do about the spring.
func (g *Gate) springAdvice(p run.Preloads, err error) string {
	a := &g.run.Trim.Control.Actuator
	n := func(force float64) string { return units.Mark(force, units.Force) }
	switch {
	case !g.Driven():
		return "Without a pulsed valve one spring gives one boost at each speed: the boost range has the preload that would hold the target there."
	case err != nil:
		return "The preload that suits is not known: " + err.Error() + "."
	case !p.Possible():
		return fmt.Sprintf("No preload holds every speed: one needs %s or more, another %s or less. "+
			"A larger closing area, or a closing port fed where it is vented, lowers the first. "+
			"A larger opening area or less spring rate raises the second.", n(p.Lowest), n(p.Highest))
	case a.Preload < p.Lowest:
		return fmt.Sprintf("The spring is too weak: %s of preload are missing.", n(p.Lowest-a.Preload))
	case a.Preload > p.Highest:
		return fmt.Sprintf("The spring is too strong: %s of preload are too much.", n(a.Preload-p.Highest))
	}
	return "The spring suits: its preload is within the range that holds every speed."
}

// openToClosed is where a boost that the actuator leads to is known.
const openToClosed = "between the boost with the valve fully open and with it closed; " +
	"no friction, steady exhaust pressure, its full push on the valve at any lift"

// wastegateRangeEntries explain the columns above.
func wastegateRangeEntries() []formula.Entry {
	return []formula.Entry{
		{
			Key: "spring_only_boost_pa", Title: "boost on the spring",
			Meaning: "Boost without any pulsing: the opening port at the source's pressure, the closing port vented.",
			Formula: "(ps − pa) Ao = F0 + k L l ∓ (p3 − p4) Av/L, solved for the boost",
			Source:  "principle of virtual work on diaphragm, lever and valve",
			Range:   openToClosed,
		},
		{
			Key: "lowest_boost_pa", Title: "lowest boost",
			Meaning: "Boost with the duty at the end that opens the wastegate furthest.",
			Formula: "Pmax = F0 + k L l ∓ (p3 − p4) Av/L, solved for the boost",
			Source:  "principle of virtual work on diaphragm, lever and valve",
			Range:   openToClosed,
		},
		{
			Key: "highest_boost_pa", Title: "highest boost",
			Meaning: "Boost with the duty at the end that closes the wastegate hardest.",
			Formula: "Pmin = F0 + k L l ∓ (p3 − p4) Av/L, solved for the boost",
			Source:  "principle of virtual work on diaphragm, lever and valve",
			Range:   openToClosed,
		},
		{
			Key: "highest_boost_by", Title: "limited by",
			Meaning: "What keeps the boost from going higher: the actuator, or the part of the engine that comes first.",
			Formula: "actuator where the forces balance below all the boost there is, stroke where it is at its stop",
			Source:  ours, Range: "gearbox, injectors, surge margin and shaft speed limit not counted",
		},
		{
			Key: "held_boost_pa", Title: "boost held",
			Meaning: "Boost that the control really holds.",
			Formula: "min(max(to hold, lowest), highest), but never below the boost wide open", Source: ours, Range: full,
		},
		{
			Key: "preload_n", Title: "preload needed",
			Meaning: "Spring force at the diaphragm, with the valve closed, that gives the boost without pulsing.",
			Formula: "F0 = (ps − pa) Ao − k L l ± (p3 − p4) Av/L",
			Source:  "principle of virtual work on diaphragm, lever and valve",
			Range:   "0 or more; no friction, steady exhaust pressure, its full push on the valve at any lift",
		},
		{
			Key: "wastegate_lift_share", Title: "share of lift",
			Meaning: "Lift over the most that counts: what valve and actuator allow, up to a quarter of the bore. Beyond that a valve passes no more.",
			Formula: "l/min(lift, stroke/L, bore/4)", Source: ours, Range: always,
		},
		{
			Key: "open_boost_pa", Title: "boost wide open",
			Meaning: "Boost that remains with the wastegate wide open.",
			Formula: "solution of the whole air path with the wastegate at its greatest lift", Source: ours, Range: full,
		},
		{
			Key: "creep_pa", Title: "creep",
			Meaning: "By how much the boost with the wastegate wide open is above the boost to hold.",
			Formula: "max(0, boost wide open − boost to hold)", Source: ours, Range: always,
		},
		{
			Key: "wastegate_bore_m", Title: "bore needed", Also: []string{"bore against creep"},
			Meaning: "Seat bore with which the wastegate passes enough to end the creep, with the same lift and discharge.",
			Formula: "d = max(√(4 A/(n π)), A/(n π l)), A = m √(R T3)/(Cd p3 ψ(p4/p3, γ))",
			Source:  "continuity; de Saint-Venant and Wantzel, as in NACA Report 1135 (1953)", Range: "at the state given, which a larger valve changes",
		},
		{
			Key: "given_preload_n", Title: "preload",
			Meaning: "Spring force at the diaphragm with the valve closed.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "lowest_preload_n", Title: "preload that holds every speed, from",
			Meaning: "Spring preload below which the valve opens further than it should at some speed.",
			Formula: "max over the points of Pmin − (k L l ∓ (p3 − p4) Av/L)",
			Source:  "principle of virtual work on diaphragm, lever and valve", Range: "no friction; points within the actuator's stroke",
		},
		{
			Key: "lowest_preload_rpm", Title: "set at",
			Meaning: "The speed that sets it.",
			Formula: "N at the largest", Source: ours, Range: computed,
		},
		{
			Key: "highest_preload_n", Title: "to",
			Meaning: "Spring preload above which the ports do not open the valve far enough at some speed.",
			Formula: "min over the points of Pmax − (k L l ∓ (p3 − p4) Av/L)",
			Source:  "principle of virtual work on diaphragm, lever and valve", Range: "no friction; points within the actuator's stroke",
		},
		{
			Key: "highest_preload_rpm", Title: "set at",
			Meaning: "The speed that sets it.",
			Formula: "N at the smallest", Source: ours, Range: computed,
		},
		{
			Key: "widest_lift_m", Title: "widest lift",
			Meaning: "Largest lift of the speeds computed.",
			Formula: "max l", Source: ours, Range: computed,
		},
		{
			Key: "widest_lift_rpm", Title: "at",
			Meaning: "Where the largest lift is.",
			Formula: "N at max l", Source: ours, Range: "to the step between the speeds",
		},
		{
			Key: "actuator_lift_m", Title: "lift that the stroke gives",
			Meaning: "Lift at the actuator's full stroke.",
			Formula: "stroke/L", Source: ours, Range: always,
		},
		{
			Key: "given_bore_m", Title: "wastegate bore",
			Meaning: "Diameter of the wastegate's seat.",
			Formula: given, Source: given, Range: always,
		},
		{
			Key: "wastegate_bore_rpm", Title: "set at",
			Meaning: "The speed that needs the largest bore.",
			Formula: "N at the largest", Source: ours, Range: computed,
		},
	}
}
