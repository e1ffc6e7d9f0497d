package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/run"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

const noGatePoint = "no solution at this speed"

// gateCells is a field of a gate's solved point.
func gateCells(key, title string, quantity units.Kind, get func(o *gateRow) table.Cell) table.Field[*gateRow] {
	return table.Cells(key, title, quantity, func(o *gateRow) table.Cell {
		if o.Err != nil {
			return table.Missing(noGatePoint)
		}
		return get(o)
	})
}

// trialCells is a field of what takes the trial engine.
func trialCells(key, title string, quantity units.Kind, get func(o *gateRow) table.Cell) table.Field[*gateRow] {
	return gateCells(key, title, quantity, func(o *gateRow) table.Cell {
		if o.trialErr != nil {
			return table.Missing("no solution with the wastegate wide open or shut: " + withoutSearch(o.trialErr))
		}
		return get(o)
	})
}

// leftCells is a field of what takes the boost that remains with the wastegate as far open as it goes.
func leftCells(key, title string, quantity units.Kind, get func(o *gateRow) table.Cell) table.Field[*gateRow] {
	return trialCells(key, title, quantity, func(o *gateRow) table.Cell {
		if o.leftErr != nil {
			return table.Missing("no solution with the wastegate at the end of the actuator's stroke: " + withoutSearch(o.leftErr))
		}
		return get(o)
	})
}

// withoutSearch says why there is no solution, without the figures of the search.
func withoutSearch(err error) string {
	var point *airpath.PointError
	if errors.As(err, &point) {
		return point.Stage + ": " + point.Reason
	}
	return err.Error()
}

// heldCells is a field of how the actuator holds the point.
func heldCells(key, title string, quantity units.Kind, get func(o *gateRow, h *wastegate.Holding) table.Cell) table.Field[*gateRow] {
	return gateCells(key, title, quantity, func(o *gateRow) table.Cell {
		if o.holdErr != nil {
			return table.Missing(o.holdErr.Error())
		}
		return get(o, &o.holding)
	})
}

func (g *Gate) overSpeed(name string, fields ...table.Field[*gateRow]) table.Table {
	rows := make([]*gateRow, len(g.rows))
	for i := range g.rows {
		rows[i] = &g.rows[i]
	}
	t := table.Of(name, rows, fields...)
	t.Trim = g.run.Trim.Name
	return t
}

// gateWhen drops fields that do not apply.
func gateWhen(applies bool, fields ...table.Field[*gateRow]) []table.Field[*gateRow] {
	if !applies {
		return nil
	}
	return fields
}

func gateSpeed() table.Field[*gateRow] {
	return table.Cells("rpm", "speed", units.Speed, func(o *gateRow) table.Cell {
		c := table.Num(o.Speed)
		if o.Err != nil {
			return c.Noted(row{o.Outcome, o.gate.run}.unsolved())
		}
		return c
	})
}

// HasActuator reports whether the spec says what moves the valve.
func (g *Gate) HasActuator() bool { return g.system != nil }

// Control returns how the actuator holds each point: the base table of duty, and what is left to regulate with. It needs an
// actuator.
func (g *Gate) Control() table.Table {
	t := g.control("boost control", trialCells("boost_per_duty_pa", "boost per 1 %", units.PressureDifference, (*gateRow).perDutyCell).WithDigits(3))
	t.Notes = []string{g.controlNote(" Boost per 1 %: what one more per cent of duty does to the boost; large is touchy.")}
	return t
}

// Duty returns the base table of duty alone, which a held gate has. It needs an actuator.
func (g *Gate) Duty() table.Table {
	t := g.control("wastegate duty")
	t.Notes = []string{g.controlNote("")}
	return t
}

// control returns the table of how the actuator holds each point, with fields of what it takes more work to know.
func (g *Gate) control(name string, more ...table.Field[*gateRow]) table.Table {
	y := g.system
	pressure := func(get func(h *wastegate.Holding) float64) func(*gateRow, *wastegate.Holding) table.Cell {
		return func(_ *gateRow, h *wastegate.Holding) table.Cell { return table.Num(get(h)) }
	}
	duty := func(key, title string, get func(h *wastegate.Holding) float64) table.Field[*gateRow] {
		return heldCells(key, title, units.Fraction, func(_ *gateRow, h *wastegate.Holding) table.Cell {
			return table.Num(get(h)).Toned(failedIf(h.Short != wastegate.NoSide))
		})
	}
	fields := []table.Field[*gateRow]{
		gateSpeed(),
		gateCells("boost_pa", "boost", units.GaugePressure, func(o *gateRow) table.Cell { return table.Num(o.Boost(g.run.Trim.Venue.Pressure)) }),
		gateCells("wastegate_lift_m", "lift", units.Length, func(o *gateRow) table.Cell { return table.Num(g.lift(&o.Point)) }).WithDigits(1),
		heldCells("opening_port_pressure_pa", "opening port", units.Pressure, pressure(func(h *wastegate.Holding) float64 { return h.OpeningPressure })),
	}
	fields = append(fields, gateWhen(y.Actuator.ClosingArea > 0,
		heldCells("closing_port_pressure_pa", "closing port", units.Pressure, pressure(func(h *wastegate.Holding) float64 { return h.ClosingPressure })))...)
	fields = append(fields, gateWhen(y.Opening != nil, duty("opening_duty", dutyTitle(y.Closing != nil, "opening duty"), func(h *wastegate.Holding) float64 { return h.OpeningDuty }))...)
	fields = append(fields, gateWhen(y.Closing != nil, duty("closing_duty", dutyTitle(y.Opening != nil, "closing duty"), func(h *wastegate.Holding) float64 { return h.ClosingDuty }))...)
	fields = append(fields, gateWhen(g.driven(), heldCells("duty_authority", "duty left", units.Fraction, func(o *gateRow, h *wastegate.Holding) table.Cell {
		switch {
		case math.IsNaN(h.Authority) && o.Point.WastegateLift == 0:
			return table.Missing(staysShut)
		case math.IsNaN(h.Authority):
			return table.Missing(allOpen)
		}
		return table.Num(h.Authority).Toned(little(h.Authority))
	}))...)
	fields = append(fields, gateWhen(g.driven(), more...)...)
	fields = append(fields,
		heldCells("actuator_force_margin_n", "force to spare", units.Force, func(_ *gateRow, h *wastegate.Holding) table.Cell {
			return table.Num(h.ForceMargin).Toned(failedIf(h.ForceMargin < -forceSlack))
		}).WithDigits(0),
		g.travelField(),
		g.shortField(),
		heldCells("actuator_opening_margin_n", "to open", units.Force, func(_ *gateRow, h *wastegate.Holding) table.Cell { return table.Num(h.OpeningMargin) }).InDetail(),
		heldCells("actuator_closing_margin_n", "to shut", units.Force, func(_ *gateRow, h *wastegate.Holding) table.Cell { return table.Num(h.ClosingMargin) }).InDetail(),
		heldCells("actuator_needed_force_n", "needed", units.Force, func(_ *gateRow, h *wastegate.Holding) table.Cell { return table.Num(h.NeededForce) }).InDetail(),
		heldCells("actuator_port_force_n", "ports", units.Force, func(_ *gateRow, h *wastegate.Holding) table.Cell { return table.Num(h.PortForce) }).InDetail(),
		gateCells("control_source_pressure_pa", "source", units.Pressure, func(o *gateRow) table.Cell { return table.Num(g.point(&o.Point).SourcePressure) }).InDetail(),
	)
	fields = append(fields, gateWhen(g.driven(), heldCells("control_air_flow_kg_s", "control air", units.MassFlow, func(_ *gateRow, h *wastegate.Holding) table.Cell {
		return table.Num(h.AirFlow)
	}).InDetail())...)
	return g.overSpeed(name, fields...)
}

// travelField is left to CSV and JSON where the stroke is long enough.
func (g *Gate) travelField() table.Field[*gateRow] {
	short := func(h *wastegate.Holding) bool { return h.Short == wastegate.TravelSide }
	f := heldCells("actuator_travel_margin_m", "lift to spare", units.Length, func(_ *gateRow, h *wastegate.Holding) table.Cell {
		return table.Num(h.TravelMargin).Toned(failedIf(short(h)))
	}).WithDigits(1)
	f.Detail = !g.any(func(o *gateRow) bool { return short(&o.holding) })
	return f
}

// shortField is left to CSV and JSON where nothing is short.
func (g *Gate) shortField() table.Field[*gateRow] {
	f := heldCells("short_side", "short", units.Number, func(o *gateRow, _ *wastegate.Holding) table.Cell {
		c := table.Text(o.short())
		if o.short() != nothing {
			c = c.Toned(table.Failed).Noted(o.shortMeans())
		}
		return c
	})
	f.Detail = !g.any(func(o *gateRow) bool { return o.short() != nothing })
	return f
}

// any reports whether something holds at a solved speed.
func (g *Gate) any(holds func(o *gateRow) bool) bool {
	for i := range g.rows {
		if o := &g.rows[i]; o.Err == nil && holds(o) {
			return true
		}
	}
	return false
}

// dutyTitle leaves out which duty it is where there is only one.
func dutyTitle(both bool, title string) string {
	if both {
		return title
	}
	return "duty"
}

func (g *Gate) controlNote(more string) string {
	text := "Pressures in the ports are absolute. "
	if !g.driven() {
		return text + "No pulsed valve: the spring alone sets the boost. Force to spare: 0 where spring and ports are in balance; with the wastegate shut, what keeps it there."
	}
	text += "Duty: share of the time that the valve has current"
	if g.system.Opening != nil && g.system.Closing != nil {
		text += "; the two are opposed, one's duty is 100 % less the other's"
	}
	return text + ". Left: how far the duty is from the nearer of 0 and 100 %." + more + " " +
		"Force to spare, at the diaphragm: the smaller of what the ports have left to open and to shut; with the wastegate shut, to keep it shut. Friction of valve and rod is not counted: leave some. The exhaust pushes on the valve with all of its pressure drop at any lift; in truth with less as it opens, and then the same duty gives more boost, up to some tenths of a bar: come up to it from below."
}

// littleDuty is the distance of the duty from its end below which there is little left to regulate with. Common practice, no source.
const littleDuty = 0.1

func little(authority float64) table.Tone {
	if authority < littleDuty {
		return table.Caution
	}
	return table.Plain
}

// forceSlack is a force, N, that no actuator is set to.
const forceSlack = 0.01

func (o *gateRow) perDutyCell() table.Cell {
	switch {
	case o.perDutyErr != nil:
		return table.Missing(reachFailure(o.perDutyErr))
	case o.Point.WastegateLift == 0:
		return table.Missing(staysShut)
	case o.wideOpen():
		return table.Missing(allOpen)
	case math.IsNaN(o.perDuty):
		return table.Missing("no duty holds this boost")
	case o.perDuty == 0:
		return table.Missing("1 % of duty to either side leaves the boost at an end of what the engine can be asked for")
	}
	c := table.Num(o.perDuty)
	switch {
	case o.atMost() && o.most.Limit == airpath.Restrictor:
		return c.Noted("downwards only: the restrictor is choked, and duty that shuts the wastegate further only makes the shaft faster")
	case o.atMost():
		return c.Noted("downwards only: no more is to be had, " + ender(o.most.Limit))
	}
	return c
}

// What is said where no duty is asked to hold a balance.
const (
	staysShut = "the wastegate is to stay shut: the duty is the end that shuts it hardest"
	allOpen   = "the boost creeps: the duty is the end that opens the wastegate furthest"
)

const (
	nothing    = "nothing"
	valveShort = "valve"
)

// short names what does not suffice to hold the boost that the boost control has to hold.
func (o *gateRow) short() string {
	switch {
	case o.holding.Short != wastegate.NoSide:
		return o.holding.Short.String()
	case o.creeps():
		return valveShort
	}
	return nothing
}

// shortMeans says what it means that a side is short. Where the wastegate is to stay shut it is the spring's side alone that can be.
func (o *gateRow) shortMeans() string {
	const held = ": the boost comes to what the range has as held"
	switch o.short() {
	case wastegate.OpeningSide.String():
		return "the ports cannot open the wastegate as far" + held
	case wastegate.ClosingSide.String():
		if o.Point.WastegateLift == 0 {
			return "the ports cannot keep the wastegate shut" + held
		}
		return "the ports cannot keep the wastegate from opening further" + held
	case wastegate.TravelSide.String():
		return "the actuator's stroke ends before" + held
	case valveShort:
		return "wide open the wastegate passes too little, and the boost creeps: see the table of the valve"
	}
	return ""
}

// held returns the boost that the control comes to with what is wanted of it, Pa above the venue.
func (o *gateRow) held() (float64, bool) {
	switch {
	case o.own.Err != nil || o.trialErr != nil:
		return 0, false
	case heldByActuator(o.own):
		return o.own.Boost(o.gate.run.Trim.Venue.Pressure), true
	case o.wideOpen():
		return o.leftBoost(), true
	case o.lowest.err != nil || o.highest.err != nil:
		return 0, false
	}
	held := math.Min(math.Max(o.wanted(), o.lowest.Boost), o.highest.Boost)
	return math.Max(held, o.leftBoost()), true // what creeps is beyond what a duty does
}

// Range returns between which boosts the control can hold the engine. It needs an actuator.
func (g *Gate) Range() table.Table {
	reached := func(key, title string, get func(o *gateRow) *reach) table.Field[*gateRow] {
		return trialCells(key, title, units.GaugePressure, func(o *gateRow) table.Cell {
			if r := get(o); r.err != nil {
				return table.Missing(reachFailure(r.err))
			}
			return table.Num(get(o).Boost)
		})
	}
	fields := []table.Field[*gateRow]{
		gateSpeed(),
		gateCells("target_boost_pa", "asked", units.GaugePressure, func(o *gateRow) table.Cell { return table.Num(o.TargetBoost) }),
		trialCells("wanted_boost_pa", "wanted", units.GaugePressure, func(o *gateRow) table.Cell { return table.Num(o.wanted()) }),
		reached("spring_only_boost_pa", "spring only", func(o *gateRow) *reach { return &o.spring }),
	}
	if g.driven() {
		lowest := reached("lowest_boost_pa", "lowest", func(o *gateRow) *reach { return &o.lowest })
		lowest.Detail = !g.any(func(o *gateRow) bool { return math.Abs(o.lowest.Boost-o.spring.Boost) > 1 })
		fields = append(fields, lowest,
			reached("highest_boost_pa", "highest", func(o *gateRow) *reach { return &o.highest }),
		)
	}
	fields = append(fields,
		trialCells("highest_boost_by", "ended by", units.Number, func(o *gateRow) table.Cell {
			if o.highest.err != nil {
				return table.Missing(reachFailure(o.highest.err))
			}
			return table.Text(o.highestBy())
		}),
		trialCells("held_boost_pa", "held", units.GaugePressure, func(o *gateRow) table.Cell {
			held, ok := o.held()
			if !ok {
				return table.Missing("the range is not known")
			}
			c := table.Num(held).Toned(failedIf(math.Abs(held-o.wanted()) > run.ReachedWithin))
			if o.highest.err == nil && held > o.highest.Boost+run.ReachedWithin {
				c = c.Noted("above the highest that the control can ask for: the wastegate passes too little")
			}
			return c
		}),
	)
	if !g.driven() {
		fields = append(fields, heldCells("preload_n", "preload for it", units.Force, func(o *gateRow, _ *wastegate.Holding) table.Cell {
			switch {
			case o.Point.WastegateLift == 0:
				return table.Missing("the wastegate is to stay shut: any preload from here on")
			case o.preloadErr != nil:
				return table.Missing(o.preloadErr.Error())
			}
			return table.Num(o.preload)
		}).WithDigits(0))
	}
	t := g.overSpeed("boost range", fields...)
	text := "Wanted: what the engine's other limits leave of what is asked for. Spring only: no pulsing, the opening port at the source, the closing port vented. "
	if g.driven() {
		text += "Highest, and lowest where it is another than the spring's: the duty at its ends. "
	}
	t.Notes = []string{text + "Ended by: what keeps the boost from going higher, the actuator or a part of the engine. Held: what the control comes to. " +
		"The limits that only the boost control keeps (surge margin, shaft speed limit, injectors, gearbox) are not counted here: a boost in this range is not a safe one."}
	return t
}

// reachFailure says why a boost is not known, without the figures of the search.
func reachFailure(err error) string {
	var reach *reachError
	if errors.As(err, &reach) {
		return "no steady boost: on the way " + reach.Error()
	}
	return withoutSearch(err)
}

// highestBy names what keeps the boost from going higher.
func (o *gateRow) highestBy() string {
	if o.highest.End == wastegate.Stop {
		return "stroke"
	}
	if o.highest.End == wastegate.Highest || o.highest.Boost >= o.most.ManifoldPressure*(1-sameBoost)-o.gate.run.Trim.Venue.Pressure {
		return ender(o.most.Limit)
	}
	return "actuator"
}

// ender names what ends the boost of the trial engine, which knows no limits but the parts' own.
func ender(l airpath.Limit) string {
	switch l {
	case airpath.ShaftSpeed:
		return "top line of the map"
	case airpath.Surge:
		return "surge line"
	}
	return l.String()
}

// Valve returns how far the valve opens and what it passes, and how far the boost creeps with the valve wide open.
func (g *Gate) Valve() table.Table {
	greatest := g.mostLift()
	fields := []table.Field[*gateRow]{
		gateSpeed(),
		trialCells("wanted_boost_pa", "wanted", units.GaugePressure, func(o *gateRow) table.Cell { return table.Num(o.wanted()) }),
		gateCells("boost_pa", "boost", units.GaugePressure, func(o *gateRow) table.Cell { return table.Num(o.Boost(g.run.Trim.Venue.Pressure)) }),
		gateCells("wastegate_lift_m", "lift", units.Length, func(o *gateRow) table.Cell { return table.Num(g.lift(&o.Point)) }).WithDigits(1),
		gateCells("wastegate_lift_share", "of the most", units.Fraction, func(o *gateRow) table.Cell {
			share := g.lift(&o.Point) / greatest
			return table.Num(share).Toned(failedIf(share > 1+1e-6))
		}).WithDigits(0),
		gateCells("wastegate_flow_kg_s", "passes", units.MassFlow, func(o *gateRow) table.Cell { return table.Num(o.Point.WastegateFlow) }).WithDigits(0),
		gateCells("wastegate_max_flow_kg_s", "wide open", units.MassFlow, func(o *gateRow) table.Cell { return table.Num(o.Point.WastegateMaxFlow) }).WithDigits(0),
		leftCells("open_boost_pa", "open boost", units.GaugePressure, func(o *gateRow) table.Cell {
			return table.Num(o.leftBoost())
		}),
		leftCells("creep_pa", "creep", units.PressureDifference, func(o *gateRow) table.Cell {
			return table.Num(o.creep()).Toned(failedIf(o.creep() > run.ReachedWithin))
		}),
	}
	text := "Open boost: what remains with the valve wide open. Creep: by how much that is above the boost wanted."
	if g.any((*gateRow).creeps) {
		text = strings.TrimSuffix(text, ".") + "; the bore for it is that of a seat which passes enough, with the same lift and discharge."
		fields = append(fields, gateCells("wastegate_bore_m", "bore for it", units.Length, func(o *gateRow) table.Cell {
			switch {
			case o.boreErr != nil:
				return table.Missing(withoutSearch(o.boreErr))
			case math.IsNaN(o.bore):
				return table.Missing("the boost does not creep")
			}
			return table.Num(o.bore)
		}))
	}
	t := g.overSpeed("wastegate valve", fields...)
	if n := g.run.Trim.Wastegate.Count; n > 1 {
		text += fmt.Sprintf(" Lift and bore are those of one of the %d valves.", n)
	}
	if w := g.run.Trim.Wastegate; w.Bore/4 < w.Lift {
		text += " Lift counts up to a quarter of the bore, beyond which a valve passes no more."
	}
	if w, reached := g.run.Trim.Wastegate, g.trial.reached.Wastegate.Lift; reached < w.Lift {
		text += fmt.Sprintf(" The actuator's stroke gives %s of lift, less than the valve's %s.",
			units.Format(reached, units.Length, units.Metric), units.Format(w.Lift, units.Length, units.Metric))
	}
	t.Notes = []string{text}
	return t
}

var errNoneInReach = errors.New("no solved point lies within the actuator's stroke and short of wide open")

// preloads returns the spring preloads that hold all points, and the speeds, rad/s, of the points that set them.
func (g *Gate) preloads() (p wastegate.Preloads, speeds []float64, err error) {
	var points []wastegate.Point
	for i := range g.rows {
		o := &g.rows[i]
		if o.Err == nil && !o.wideOpen() && g.lift(&o.Point) <= g.system.Actuator.GreatestLift() {
			points = append(points, g.point(&o.Point))
			speeds = append(speeds, o.Speed)
		}
	}
	if len(points) == 0 {
		return p, nil, errNoneInReach
	}
	p, err = g.system.Preloads(points)
	return p, speeds, err
}

// Sizing returns what the parts would have to be: the spring's preload and the valve's bore. It needs an actuator.
func (g *Gate) Sizing() table.Table {
	a := g.system.Actuator
	p, speeds, err := g.preloads()
	bound := func(force float64, at int, none table.Cell) table.Cell {
		switch {
		case err != nil:
			return table.Missing(err.Error())
		case at < 0:
			return none
		}
		return table.Num(force).Toned(failedIf(!p.Possible()))
	}
	where := func(at int) table.Cell {
		if err != nil || at < 0 {
			return table.Missing("no speed sets it")
		}
		return table.Num(speeds[at])
	}
	widest, bore := -1, -1
	for i := range g.rows {
		o := &g.rows[i]
		if o.Err == nil && (widest < 0 || g.lift(&o.Point) > g.lift(&g.rows[widest].Point)) {
			widest = i
		}
		if o.boreErr == nil && !math.IsNaN(o.bore) && (bore < 0 || o.bore > g.rows[bore].bore) {
			bore = i
		}
	}
	number := func(key, title string, quantity units.Kind, value float64) table.Field[*Gate] {
		return table.Number(key, title, quantity, func(*Gate) float64 { return value })
	}
	cell := func(key, title string, quantity units.Kind, c table.Cell) table.Field[*Gate] {
		return table.Cells(key, title, quantity, func(*Gate) table.Cell { return c })
	}
	const none = "no point has a solution"
	lift, liftAt := table.Missing(none), table.Missing(none)
	if widest >= 0 {
		o := &g.rows[widest]
		l := g.lift(&o.Point)
		lift = table.Num(l).Toned(failedIf(l > a.GreatestLift()*(1+1e-6)))
		liftAt = table.Num(o.Speed)
	}
	fields := []table.Field[*Gate]{number("given_preload_n", "preload", units.Force, a.Preload).WithDigits(0)}
	if g.driven() {
		fields = append(fields,
			cell("lowest_preload_n", "preload that holds every point, from", units.Force, bound(p.Lowest, p.LowestAt, table.Num(0))).WithDigits(0),
			cell("lowest_preload_rpm", "  set at", units.Speed, where(p.LowestAt)),
			cell("highest_preload_n", "  to", units.Force, bound(p.Highest, p.HighestAt, table.Missing("none is too much: the wastegate is to stay shut"))).WithDigits(0),
			cell("highest_preload_rpm", "  set at", units.Speed, where(p.HighestAt)),
		)
	}
	fields = append(fields,
		cell("widest_lift_m", "widest lift", units.Length, lift).WithDigits(1),
		cell("widest_lift_rpm", "  at", units.Speed, liftAt),
		number("actuator_lift_m", "lift that the stroke gives", units.Length, a.GreatestLift()).WithDigits(1),
		number("given_bore_m", "wastegate bore", units.Length, g.run.Trim.Wastegate.Bore),
	)
	if bore >= 0 {
		fields = append(fields,
			number("wastegate_bore_m", "bore against creep", units.Length, g.rows[bore].bore),
			number("wastegate_bore_rpm", "  set at", units.Speed, g.rows[bore].Speed))
	}
	t := table.One("wastegate sizing", g, fields...)
	t.Trim = g.run.Trim.Name
	t.Notes = []string{g.springAdvice(p, err)}
	return t
}

// springAdvice says in words what to do about the spring.
func (g *Gate) springAdvice(p wastegate.Preloads, err error) string {
	a := g.system.Actuator
	n := func(force float64) string { return fmt.Sprintf("%.0f N", force) }
	switch {
	case !g.driven():
		return "Without a pulsed valve one spring gives one course of the boost: the range has the preload that would hold each speed."
	case err != nil:
		return "The preload that suits is not known: " + err.Error() + "."
	case !p.Possible():
		return fmt.Sprintf("No preload holds every point: one wants %s or more, another %s or less. A larger closing area, or a closing port fed where it is vented, lowers the first; "+
			"a larger opening area or less spring rate raises the second.", n(p.Lowest), n(p.Highest))
	case a.Preload < p.Lowest:
		return fmt.Sprintf("The spring is too weak: %s of preload are missing.", n(p.Lowest-a.Preload))
	case a.Preload > p.Highest:
		return fmt.Sprintf("The spring is too strong: %s of preload are too much.", n(a.Preload-p.Highest))
	}
	return "The spring suits: its preload is within the range that holds every point."
}
