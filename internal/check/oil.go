package check

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"bellmouth/internal/oil"
	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// What the ids of the findings on the oil are.
const (
	pickupUncovers = "pickup-uncovers"
	cornerSupply   = "oil-in-corner"
	scavengeFlow   = "scavenge-flow"
	oilFlow        = "oil-pump-flow"
	oilPressure    = "oil-pressure"
)

// Sump returns the findings on the sump: whether the pickup stays covered up to what the car reaches, in the direction in which it is nearest to
// being uncovered, and whether the supply lasts the longest corner.
func Sump(r *run.Run) ([]Finding, error) {
	if r.Trim.Sump == nil || r.Trim.Sump.Shape == nil {
		return nil, nil
	}
	s := r.Sump(0)
	if s.ReachErr != nil {
		return nil, nil // without grip there is nothing to hold it against
	}
	all, err := s.Leans()
	if err != nil {
		return nil, err
	}
	worst := run.Nearest(all)
	f := Finding{ID: pickupUncovers, What: "oil pickup uncovers", Speed: s.Speed, Kind: units.Acceleration, Floor: true, Value: worst.Limit,
		Limit: worst.Reach}
	f.Remark = LeanText(worst)
	if math.IsInf(f.Value, 1) {
		f.Value, f.Remark = math.NaN(), "covered in every direction up to "+shown(oil.MostSearched, f.Kind)
		return append([]Finding{f}, supply(&s, all)...), nil
	}
	if Passes(f.Limit, f.Value) {
		f.Verdict = Fail
		f.Remark += "; the pump draws air, and the bearings run dry"
	}
	return append([]Finding{f}, supply(&s, all)...), nil
}

// supply returns the finding on how long the supply lasts, none without circulation.
func supply(s *run.Sump, all []run.Lean) []Finding {
	shortest := run.Shortest(all)
	if shortest == nil {
		return nil
	}
	f := Finding{
		ID: cornerSupply, What: "oil supply in a sustained corner", Speed: s.Speed, Kind: units.ShortDuration, Floor: true,
		Value: shortest.Lasts, Limit: s.Circulation.Time, Remark: DirectionText(shortest.Direction),
	}
	switch {
	case math.IsInf(f.Value, 1):
		f.Value, f.Remark = math.NaN(), "as much comes back as goes up: it lasts for ever"
	case Passes(f.Limit, f.Value):
		f.Verdict = Fail
		f.Remark += "; the pickup uncovers before the longest corner ends"
	}
	return []Finding{f}
}

// LeanText names the acceleration at which the pickup uncovers.
func LeanText(l *run.Lean) string {
	if l.Limit == 0 {
		return "with the car at rest"
	}
	return DirectionText(l.Direction)
}

// DirectionText names a direction of the car's acceleration, rad: "braking", "in a left turn", "braking in a right turn, 120 deg".
func DirectionText(direction float64) string {
	degrees := math.Round(math.Remainder(direction, 2*math.Pi) * 180 / math.Pi)
	turn := "a left turn"
	if degrees < 0 {
		turn = "a right turn"
	}
	switch a := math.Abs(degrees); {
	case a == 0:
		return "accelerating"
	case a == 180:
		return "braking"
	case a == 90:
		return "in " + turn
	case a < 90:
		return fmt.Sprintf("accelerating in %s, %s", turn, units.Whole(a*math.Pi/180, units.Angle))
	default:
		return fmt.Sprintf("braking in %s, %s", turn, units.Whole(a*math.Pi/180, units.Angle))
	}
}

// Scavenge returns the finding on the scavenge pumps of a dry sump; none without them, or where it is not known what goes through the engine.
func Scavenge(r *run.Run) ([]Finding, error) {
	if r.Trim.Sump == nil || r.Trim.Sump.Scavenge == nil {
		return nil, nil
	}
	points, err := r.Scavenging()
	if errors.Is(err, run.ErrNoPump) {
		return nil, nil
	}
	if err != nil || len(points) == 0 {
		return nil, err
	}
	worst := &points[0]
	for i := range points {
		if points[i].Margin() < worst.Margin() {
			worst = &points[i]
		}
	}
	f := Finding{ID: scavengeFlow, What: "scavenge pumps' flow of oil", Speed: worst.Speed, Kind: units.UseFlow, Floor: true, Value: worst.Oil,
		Limit: worst.Engine}
	if Passes(f.Limit, f.Value) {
		f.Verdict = Fail
		f.Remark = fmt.Sprintf("oil gathers under the engine, and the tank is empty after %s", shown(worst.Empties, units.ShortDuration))
	}
	return []Finding{f}, nil
}

// OilPump returns the findings on the oil's pump: whether it gives what the turning bearings take, and, where it does, whether the pressure is the
// one wanted. A pressure below what common practice wants, where the spec does not say, is a note.
func OilPump(r *run.Run) ([]Finding, error) {
	if r.Trim.Oil == nil || r.Trim.Oil.Pump == nil {
		return nil, nil
	}
	points, err := r.OilPoints()
	if err != nil || len(points) == 0 {
		return nil, err
	}
	least := func(spare func(p *run.OilPoint) float64) *run.OilPoint {
		worst := &points[0]
		for i := range points {
			if spare(&points[i]) < spare(worst) {
				worst = &points[i]
			}
		}
		return worst
	}
	short := least(func(p *run.OilPoint) float64 { return p.Pumped / p.Turning })
	f := Finding{ID: oilFlow, What: "oil pump's flow", Speed: short.Speed, Kind: units.UseFlow, Floor: true, Value: short.Pumped, Limit: short.Turning}
	if Passes(f.Limit, f.Value) {
		f.Verdict, f.Remark = Fail, "the turning bearings alone take more: there is no pressure"
		return []Finding{f}, nil
	}
	low := least(func(p *run.OilPoint) float64 { return p.Pressure - p.Floor })
	p := Finding{ID: oilPressure, What: "oil pressure", Speed: low.Speed, Kind: units.PressureDifference, Floor: true, Value: low.Pressure, Limit: low.Floor}
	if Passes(p.Limit, p.Value) {
		p.Verdict = Fail
		if !r.Trim.Oil.FloorGiven {
			p.Verdict, p.Remark = Note, "below 10 psi for each 1000 rpm, which is common practice without a source"
		}
	}
	return []Finding{f, p}, nil
}

// oil returns the findings on pickup and pump.
func (v *Review) oil() ([]Finding, error) {
	sump, err := Sump(v.Grid)
	if err != nil {
		return nil, err
	}
	scavenge, err := Scavenge(v.Grid)
	if err != nil {
		return nil, err
	}
	pump, err := OilPump(v.Grid)
	return slices.Concat(sump, scavenge, pump), err
}
