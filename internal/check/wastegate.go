package check

import (
	"bellmouth/internal/run"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// What counts as little, and as none, of what the boost control has left.
const (
	LittleDuty = 0.1  // distance of the duty from its end below which there is little left to regulate with; common practice, no source
	ForceSlack = 0.01 // force by which the ports may be short and still count as enough, N: no actuator is set to it
	LiftSlack  = 1e-8 // lift by which the stroke may be short and still count as long enough, m
)

// LittleLeft reports whether a duty's distance from its nearer end is little to regulate with.
func LittleLeft(authority float64) bool { return authority < LittleDuty }

// LacksForce reports whether the ports lack force to hold the wastegate.
func LacksForce(h *wastegate.Holding) bool { return h.ForceMargin < -ForceSlack }

// Wastegate judges how the actuator holds a gate's points; there is nothing to judge without one.
func Wastegate(g *run.Gate) []Finding {
	if !g.HasActuator() {
		return nil
	}
	var force, travel, duty *run.GatePoint
	for i := range g.Points {
		o := &g.Points[i]
		if o.Err != nil || o.HoldErr != nil {
			continue
		}
		h := &o.Holding
		if force == nil || h.ForceMargin < force.Holding.ForceMargin {
			force = o
		}
		if travel == nil || h.TravelMargin < travel.Holding.TravelMargin {
			travel = o
		}
		if o.Regulates() && (duty == nil || h.Authority < duty.Holding.Authority) {
			duty = o
		}
	}
	var fs []Finding
	add := func(f Finding, slack float64, bad Verdict, remark string) {
		if f.Floor = true; !(f.Margin() >= -slack) {
			f.Verdict, f.Remark = bad, remark
		}
		fs = append(fs, f)
	}
	if force != nil {
		f := Finding{ID: "actuator-force", What: "wastegate actuator force to spare", Kind: units.Force, Speed: force.Speed}
		f.Value = force.Holding.ForceMargin
		add(f, ForceSlack, Fail, ShortMeans(force))
	}
	if travel != nil {
		f := Finding{ID: "actuator-lift", What: "wastegate lift to spare", Kind: units.Length, Speed: travel.Speed}
		f.Value = travel.Holding.TravelMargin
		add(f, LiftSlack, Fail, ShortMeans(travel))
	}
	if duty != nil {
		f := Finding{ID: "boost-control-duty", What: "boost control duty left", Kind: units.Fraction, Speed: duty.Speed}
		f.Value, f.Limit = duty.Holding.Authority, LittleDuty
		add(f, 0, Note, "little is left to regulate with")
	}
	return fs
}

// ShortMeans says what it means for the boost that something is short at a point; empty where nothing is. Where the wastegate has to stay closed
// it is the spring's side alone that can be.
func ShortMeans(o *run.GatePoint) string {
	const held = ": the boost range has the boost that is held"
	switch o.Short() {
	case run.OpeningForce:
		return "the ports cannot open the wastegate as far" + held
	case run.ClosingForce:
		if o.Point.WastegateLift == 0 {
			return "the ports cannot keep the wastegate closed" + held
		}
		return "the ports cannot keep the wastegate from opening further" + held
	case run.ActuatorTravel:
		return "the actuator's stroke ends before" + held
	case run.ValveArea:
		return "wide open the wastegate passes too little, and the boost creeps: see the wastegate valve"
	}
	return ""
}
