package check

import (
	"fmt"

	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// The ids of what rods, bolts and bearings carry.
const (
	rodTension     = "rod-tension"
	rodCompression = "rod-compression"
	pinPressure    = "crank-pin-pressure"
	rodClamp       = "rod-bolt-margin"
	rodStress      = "rod-bolt-stress"
	headClamp      = "head-clamp-margin"
	headStress     = "head-bolt-stress"
)

// bottomChecks are the kinds of findings on what the crank train and its bolts carry.
func bottomChecks() []Check {
	const lessSpeed = "a lower engine.limiter, or lighter pistons and rods"
	return []Check{
		{ID: rodTension, What: "pull on the rod", Judges: "the greatest pull on a rod, at full load and on the overrun at the limiter",
			Against: "limits.rod_tension",
			Mends:   lessSpeed, always: true, do: doTension},
		{ID: rodCompression, What: "push on the rod", Judges: "the greatest push on a rod at full load", Against: "limits.rod_compression",
			Mends: "less boost, or a later burn", always: true, do: doCompression},
		{ID: pinPressure, What: "pressure on the crank pin's bearing", Judges: "the greatest load on the bearing's projected area",
			Against: "limits.crank_pin_pressure",
			Mends:   "less boost, a lower limiter, or a wider bearing", always: true, do: doPin},
		{ID: rodClamp, What: "rod bolt margin", Judges: "what the greatest pull leaves of the rod bolts' clamp, their preload at its least",
			Against: "limits.rod_bolt_margin, or 0",
			Mends:   "more tightening torque, or " + lessSpeed, always: true, do: doRodClamp},
		{ID: rodStress, What: "stress in the rod bolts", Judges: "the stress in a rod bolt of the greatest preload",
			Against: "engine.bottom_end.rod_bolts.proof_stress",
			Mends:   "less tightening torque, or stronger bolts", always: true, do: doBoltStress},
		{ID: headClamp, What: "head clamp margin",
			Judges:  "what the peak pressure of the mean cycle leaves of the head bolts' clamp, their preload at its least",
			Against: "limits.head_clamp_margin, or 0",
			Mends:   "more tightening torque, stronger bolts, or less peak pressure", always: true, do: doHeadClamp},
		{ID: headStress, What: "stress in the head bolts", Judges: "the stress in a head bolt of the greatest preload",
			Against: "engine.head_bolts.proof_stress",
			Mends:   "less tightening torque, or stronger bolts", always: true, do: doBoltStress},
	}
}

// Bottom judges what rods, bearings and bolts carry.
func (v *Review) bottom() []Finding {
	var fs []Finding
	t := v.Fine.Trim
	if v.at.cranks != nil {
		loads, overrun := v.CrankLoads(), v.at.overrun
		force := func(id, what string, k run.LoadKind, limit float64) {
			w, ok := run.Worst(k, loads, overrun)
			if !ok || limit == 0 {
				return
			}
			f := Finding{ID: id, What: what, Speed: w.Load.Speed, Kind: units.Force, Value: w.Value, Limit: limit, Remark: overrunRemark(w.Overrun)}
			if id == pinPressure {
				if w.Load.PinArea == 0 {
					return
				}
				f.Kind, f.Value = units.Stress, w.Load.PinPressure()
			}
			fs = append(fs, f.judged())
		}
		force(rodTension, "pull on the rod", run.RodTension, t.Limits.RodTension)
		force(rodCompression, "push on the rod", run.RodCompression, t.Limits.RodCompression)
		force(pinPressure, "pressure on the crank pin's bearing", run.PinLoad, t.Limits.CrankPinPressure)
		if c, ok := v.Fine.RodClamp(loads, overrun); ok {
			fs = append(fs, clamped(&c, rodClamp, "rod bolt margin", t.Limits.RodBoltMargin, rodStress, "stress in the rod bolts")...)
		}
	}
	if c, ok := v.Fine.HeadClamp(); ok {
		fs = append(fs, clamped(&c, headClamp, "head clamp margin", t.Limits.HeadClampMargin, headStress, "stress in the head bolts")...)
	}
	return fs
}

// CrankLoads returns the loads at the points of Fine. It needs a bottom end.
func (v *Review) CrankLoads() []run.CrankLoad {
	loads := make([]run.CrankLoad, len(v.Fine.Outcomes))
	for i := range loads {
		loads[i] = of(v.at.cranks, &v.Fine.Outcomes[i], v.at.crank.At)
	}
	return loads
}

// Overrun returns the loads on the overrun. It needs a bottom end.
func (v *Review) Overrun() run.CrankLoad { return v.at.overrun }

func clamped(c *run.Clamp, clampID, clampWhat string, least float64, stressID, stressWhat string) []Finding {
	fs := []Finding{Finding{ID: clampID, What: clampWhat, Speed: c.Speed, Kind: units.Fraction, Value: c.Left(), Limit: least, Floor: true,
		Remark: overrunRemark(c.Overrun)}.judged()}
	if c.Proof > 0 {
		fs = append(fs, Finding{ID: stressID, What: stressWhat, Speed: c.Speed, Kind: units.Stress, Value: BoltStress(c), Limit: c.Proof}.judged())
	}
	return fs
}

// BoltStress returns the greatest stress that a bolt sees, Pa: while it is tightened, or under load.
func BoltStress(c *run.Clamp) float64 { return max(c.Pull(), c.TighteningStress(c.Preload.Most)) }

func overrunRemark(overrun bool) string {
	if overrun {
		return "on the overrun, with the throttle closed"
	}
	return ""
}

func onOverrun(f *Finding) string {
	if f.Remark != "" {
		return " on the overrun"
	}
	return ""
}

func doTension(_ *Review, f *Finding) string {
	return fmt.Sprintf("Lower engine.limiter, or fit lighter pistons: the rods are pulled with %s at %s%s.", ofLimit(f), rpm(f.Speed), onOverrun(f))
}

func doCompression(v *Review, f *Finding) string {
	return fmt.Sprintf("%s, or let the burn come later: the rods are pushed with %s.", v.less(f), ofLimit(f))
}

func doPin(v *Review, f *Finding) string {
	return fmt.Sprintf("%s, or fit wider rod bearings: they carry %s.", v.less(f), ofLimit(f))
}

func doRodClamp(_ *Review, f *Finding) string {
	return fmt.Sprintf("Tighten the rod bolts more, or lower engine.limiter: %s of the clamp are left at %s%s, and %s are needed.",
		shown(f.Value, f.Kind), rpm(f.Speed), onOverrun(f), shown(f.Limit, f.Kind))
}

func doHeadClamp(v *Review, f *Finding) string {
	return fmt.Sprintf("%s, or tighten the head bolts more: %s of their clamp are left, and %s are needed.", v.less(f),
		shown(f.Value, f.Kind), shown(f.Limit, f.Kind))
}

func doBoltStress(_ *Review, f *Finding) string {
	of := "rod"
	if f.ID == headStress {
		of = "head"
	}
	return fmt.Sprintf("Tighten the %s bolts less, or fit stronger ones: they are stressed with %s.", of, ofLimit(f))
}
