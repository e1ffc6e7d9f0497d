package check

import (
	"fmt"
	"math"

	"bellmouth/internal/oil"
	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// What the ids of the findings on the sump are.
const (
	pickupUncovers = "pickup-uncovers"
	cornerSupply   = "oil-in-corner"
)

// Sump returns the findings on the sump: whether the pickup stays covered up to what the car reaches, in the direction in which it is nearest to being uncovered, and,
// where it does, whether the supply lasts the longest corner.
func Sump(r *run.Run) ([]Finding, error) {
	if r.Trim.Sump == nil {
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
	f := Finding{ID: pickupUncovers, What: "oil pickup uncovers", Speed: s.Speed, Kind: units.Acceleration, Floor: true, Value: worst.Limit, Limit: worst.Reach}
	f.Remark = DirectionText(worst.Direction)
	if math.IsInf(f.Value, 1) {
		f.Value, f.Remark = math.NaN(), "covered in every direction up to "+shown(oil.MostSearched, f.Kind)
		return append([]Finding{f}, supply(&s, all)...), nil
	}
	if Passes(f.Limit, f.Value) {
		f.Verdict = Fail
		f.Remark += "; the pump draws air, and the bearings run dry"
		return []Finding{f}, nil
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
		return fmt.Sprintf("accelerating in %s, %.0f deg", turn, a)
	default:
		return fmt.Sprintf("braking in %s, %.0f deg", turn, a)
	}
}

// sump returns the findings on the sump.
func (v *Review) sump() ([]Finding, error) { return Sump(v.Grid) }
