package check

import (
	"fmt"
	"strings"

	"bellmouth/internal/geometry"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/units"
)

// The ids of what room there is.
const (
	clearancePrefix = "clearance-"
	inletRoom       = "inlet-valve-to-piston"
	exhaustRoom     = "exhaust-valve-to-piston"
	restrictorBore  = "restrictor-bore"
)

// fits are the clearances by the key of the spec, in words.
var fits = []struct{ key, what string }{
	{"main_bearing", "main bearing clearance"}, {"crank_pin", "rod bearing clearance"}, {"piston_pin", "piston pin clearance"}, {"piston",
		"piston clearance"},
	{"top_ring", "gap of the top ring"}, {"second_ring", "gap of the second ring"}, {"oil_ring", "gap of the oil ring"},
}

// FitName returns a clearance in words.
func FitName(f *spec.Fit) string {
	for _, x := range fits {
		if x.key == f.Key {
			return x.what
		}
	}
	return f.Key
}

// clearanceChecks are the kinds of findings on room and play.
func clearanceChecks() []Check {
	valve := func(id, side, way string) Check {
		return Check{ID: id, What: side + " valve to piston", Judges: "the least room between " + side + " valve and piston about top dead centre, cold",
			Against: "engine.piston_to_valve." + side + ".least", Mends: "set the shaft " + way + ", or cut deeper pockets", always: true,
			do: doValveRoom(side, way)}
	}
	all := []Check{valve(inletRoom, "inlet", "later"), valve(exhaustRoom, "exhaust", "earlier")}
	for _, x := range fits {
		all = append(all, Check{ID: fitID(x.key), What: x.what, Judges: "the measured clearance",
			Against: "least and most of engine.clearances." + x.key + ", or what is common practice",
			Mends:   "hone, grind or file to the range, or fit other shells or rings", do: doFit})
	}
	return append(all, Check{ID: restrictorBore, What: boreName,
		Judges:  "the bore as measured, told for " + units.Mark(geometry.BoreTemperature, units.Temperature),
		Against: "intake.restrictor.bore",
		Mends:   "a restrictor of the bore that is allowed", do: doBore})
}

func fitID(key string) string { return clearancePrefix + strings.ReplaceAll(key, "_", "-") }

// clearances judges what room and play the trim tells.
func (v *Review) clearances() []Finding {
	t := v.Fine.Trim
	var fs []Finding
	for _, c := range run.ValveClearances(t) {
		f := Finding{ID: exhaustRoom, What: "exhaust valve to piston", AtRest: true, Kind: units.Length, Value: c.Least, Limit: c.Wanted, Floor: true}
		if c.Inlet {
			f.ID, f.What = inletRoom, "inlet valve to piston"
		}
		if Tight(c.Least, c.Wanted) {
			f.Verdict = Fail
		}
		if c.ByEvents {
			f.Remark = "with the lift by the valve's events, which stands for no cam"
		}
		fs = append(fs, f)
	}
	for i := range t.Engine.Clearances {
		fs = append(fs, fitted(&t.Engine.Clearances[i]))
	}
	if bore, ok := run.RestrictorAt20(t); ok {
		f := Finding{ID: restrictorBore, What: boreName, AtRest: true, Kind: units.Length, Value: bore, Limit: t.Intake.Restrictor.Bore}
		if Tight(f.Limit, f.Value) {
			f.Verdict = Fail
		}
		fs = append(fs, f)
	}
	return fs
}

// measuredWithin is how closely a workshop measures, m: a tenth of a micrometre less is not less.
const measuredWithin = 1e-7

// Tight reports whether a clearance lies below the least, m.
func Tight(clearance, least float64) bool { return !(clearance >= least-measuredWithin) }

// FitVerdict judges a measured clearance: what lies outside the range that the spec states fails, what lies outside common practice is noted.
func FitVerdict(f *spec.Fit) Verdict {
	switch {
	case !Tight(f.Measured, f.Least) && (f.Most == 0 || !Tight(f.Most, f.Measured)):
		return OK
	case f.Usual:
		return Note
	}
	return Fail
}

func fitted(x *spec.Fit) Finding {
	f := Finding{ID: fitID(x.Key), What: FitName(x), AtRest: true, Kind: units.Length, Value: x.Measured, Limit: x.Least, Floor: true, Verdict: FitVerdict(x)}
	if x.Most > 0 && x.Most-x.Measured < x.Measured-x.Least { // the nearer end, or the one it is past
		f.Limit, f.Floor = x.Most, false
	}
	if x.Usual {
		f.Remark = "against common practice: the spec states no range"
	}
	return f
}

// fineLength names a clearance, to a micrometre; noLess and noMore name what has to be reached or kept to, on the safe side of that.
func fineLength(x float64) string { return fine(x, units.Nearest) }
func noLess(x float64) string     { return fine(x, units.Up) }
func noMore(x float64) string     { return fine(x, units.Down) }

func fine(x float64, side units.Side) string {
	return units.Figure{Value: x, Kind: units.Length, Digits: 3, Side: side}.Mark()
}

// boreName names the bore that is judged at the temperature at which bores are stated.
var boreName = "restrictor bore at " + units.Mark(geometry.BoreTemperature, units.Temperature)

func doValveRoom(side, way string) func(v *Review, f *Finding) string {
	return func(v *Review, f *Finding) string {
		is := fmt.Sprintf("they have %s at the least, and %s are wanted.", fineLength(f.Value), fineLength(f.Limit))
		c := v.Fine.Trim.Engine.Cylinder
		for _, x := range run.ValveClearances(v.Fine.Trim) {
			if x.Inlet != (side == "inlet") {
				continue
			}
			if shift, err := x.Room.ShiftTo(c, x.Wanted, x.Inlet); err == nil && shift < 0 {
				return fmt.Sprintf("Set the %s shaft %s %s, in degrees of the crank, or cut deeper pockets: %s", side, lateAngle(-shift), way, is)
			}
		}
		return fmt.Sprintf("Cut deeper pockets for the %s valves: %s", side, is)
	}
}

func doFit(_ *Review, f *Finding) string {
	if f.Floor {
		return fmt.Sprintf("Open the %s from %s to %s or more.", f.What, fineLength(f.Value), noLess(f.Limit))
	}
	return fmt.Sprintf("Close the %s from %s to %s or less.", f.What, fineLength(f.Value), noMore(f.Limit))
}

func doBore(_ *Review, f *Finding) string {
	return fmt.Sprintf("Fit a restrictor of %s or less at %s: the one measured has %s there.", noMore(f.Limit),
		units.Mark(geometry.BoreTemperature, units.Temperature), noLess(f.Value))
}
