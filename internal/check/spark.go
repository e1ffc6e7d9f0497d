package check

import (
	"fmt"
	"math"

	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/spark"
	"bellmouth/internal/units"
)

// VoltageKept is the share of the coil's voltage that is kept back for worn plugs, damp leads and single cycles: common practice, no source.
const VoltageKept = 0.20

// VoltageKeptText returns VoltageKept in words.
func VoltageKeptText() string {
	return fmt.Sprintf("%.0f %%, common practice, no source", VoltageKept*100)
}

// OctaneNumber is the id of the finding that full load wants more octane than the fuel has: its value is the fuel's, its limit what is wanted.
const OctaneNumber = "octane-number"

// OctaneSlack is the part of an octane number by which a solved knock limit may be missed.
const OctaneSlack = 0.05

// VoltageShort tells a share of the coil's voltage left that is not enough: Note where it is less than is kept back, Fail where the coil does not
// break the gap down.
func VoltageShort(margin float64) Verdict {
	switch {
	case margin < 0:
		return Fail
	case margin < VoltageKept:
		return Note
	}
	return OK
}

// Spark judges whether the coil has the time to charge and the voltage for the gap, and the fuel the octane for the latest CA50. need is what
// run.Run's OctaneNeeds returns, or the same remembered.
func Spark(r *run.Run, need func(o *boost.Outcome) run.OctaneNeed) []Finding {
	var fs []Finding
	if c := r.Coil(); c != nil {
		fs = append(fs, dwell(r, c)...)
	}
	if r.GapKnown() {
		fs = append(fs, voltage(r)...)
	}
	return append(fs, octane(r, need)...)
}

// dwell tells whether the whole dwell fits between two sparks up to the limiter.
func dwell(r *run.Run, c *spark.Coil) []Finding {
	in, limiter := r.Trim.Ignition, r.Trim.Engine.Limiter
	whole, _, err := in.DwellAt(in.SupplyVoltage)
	if err != nil {
		return nil // the spec has been refused for it
	}
	f := Finding{ID: "coil-dwell", What: "coil has its full dwell up to", Speed: limiter, Kind: units.Speed, Value: c.TopSpeed(whole),
		Limit: limiter, Floor: true}
	if f.Value >= limiter {
		return []Finding{f}
	}
	f.Verdict = Note
	switch cut, err := r.Fire(limiter, in.SupplyVoltage); {
	case err != nil:
		f.Verdict, f.Remark = Fail, "at the limiter: "+err.Error()
	default:
		energy := c.Energy(c.Current(whole, in.SupplyVoltage))
		f.Remark = fmt.Sprintf("at the limiter the coil is charged for %s instead of %s, to %s instead of %s",
			units.Mark(cut.Dwell, units.Time), units.Mark(whole, units.Time),
			units.Mark(cut.Energy, units.Energy), units.Mark(energy, units.Energy))
	}
	return []Finding{f}
}

// voltage tells whether the coil has the voltage for the plug's gap, or why that is not known at any speed.
func voltage(r *run.Run) []Finding {
	f := Finding{ID: "ignition-voltage-margin", What: "ignition voltage margin", Kind: units.Fraction, Limit: VoltageKept, Floor: true}
	supply := r.Trim.Ignition.SupplyVoltage
	if least, at := r.LeastVoltageMargin(supply); at != nil {
		f.Speed, f.Value, f.Verdict = at.Speed, least, VoltageShort(least)
		f.Remark = "of the coil's voltage, kept back over what the plug's gap needs: " + VoltageKeptText()
		if f.Verdict == Fail {
			f.Remark = "the coil does not break the plug's gap down: misfire; the margin needed is " + VoltageKeptText()
		}
		return []Finding{f}
	}
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		if o.Err != nil {
			continue
		}
		if _, err := r.VoltageMargin(&o.Point, supply); err != nil {
			f.Speed, f.Value, f.Verdict, f.Remark = o.Speed, math.NaN(), Fail, "not known at any speed: "+err.Error()
			return []Finding{f}
		}
	}
	return nil
}

// octane tells the octane number that full load needs where knock cuts the boost or is not held.
func octane(r *run.Run, need func(o *boost.Outcome) run.OctaneNeed) []Finding {
	f := Finding{ID: OctaneNumber, What: "octane number for full load", Kind: units.Number, Value: r.Engine.Fuel.KnockOctane(), Floor: true, Verdict: Fail}
	var first, last float64
	for i := range r.Outcomes {
		o := &r.Outcomes[i]
		if o.Err != nil {
			continue
		}
		n := need(o)
		if !n.Known {
			continue
		}
		if first == 0 {
			first = o.Speed
		}
		last = o.Speed
		if n.Octane > f.Limit {
			f.Limit, f.Speed = n.Octane, o.Speed
		}
	}
	if first == 0 {
		return nil
	}
	where := Span(first, last)
	if first == last {
		where = "at " + where
	}
	f.Remark = "it knocks even at the latest CA50 accepted with the target boost, " + where + ": less boost, a colder charge or more octane"
	if !r.Forced() {
		f.Remark = "it knocks even at the latest CA50 accepted, " + where + ": less compression or more octane"
	}
	return []Finding{f}
}
