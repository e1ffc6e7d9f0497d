package run

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/wastegate"
)

// dutiesOf returns the gate and the range of a trim at four speeds, from below where boost comes in, the trim changed first.
func dutiesOf(t testing.TB, name string, change func(trim *spec.Trim)) *DutyRange {
	t.Helper()
	trim := spectest.Trim(t, spectest.Hillclimb, name)
	change(trim)
	r, err := Solve(t.Context(), "wastegate", trim, boost.Speeds(2500*spectest.PerRPM, 7500*spectest.PerRPM, 1650*spectest.PerRPM))
	require.NoError(t, err)
	g, err := r.Gate()
	require.NoError(t, err)
	d, err := g.DutyRange()
	require.NoError(t, err)
	return d
}

// over asks for the boosts of a range.
func over(t testing.TB, d *DutyRange, boosts ...float64) *DutyPlane {
	t.Helper()
	p, err := d.Over(boosts)
	require.NoError(t, err)
	return p
}

// At the run's own target the plane has the run's own point and its duty, to the last bit.
func TestDutyPlaneMeetsTheBaseTable(t *testing.T) {
	for name, change := range spectest.BoostControls() {
		for _, trim := range []string{"open", "capped"} {
			d := dutiesOf(t, trim, change)
			var targets []float64
			for i := range d.Gate.Points {
				targets = append(targets, d.Gate.Points[i].Own.TargetBoost)
			}
			p := over(t, d, targets...)
			for i := range d.Gate.Points {
				base, c := &d.Gate.Points[i], &p.Cells[i][i]
				require.Equal(t, base.Own.Point, c.Own.Point, "%s, %s, %v rpm", name, trim, RPM(base.Speed))
				require.Equal(t, base.Point, c.Point)
				require.False(t, math.IsNaN(base.duty()))
				require.Equal(t, base.duty(), c.duty(), "%s, %s, %v rpm", name, trim, RPM(base.Speed))
				require.Equal(t, base.Holding.ForceMargin, c.Holding.ForceMargin)
			}
		}
	}
}

// The duty of every cell that is held, put back: the actuator is asked where it comes to rest at that duty, with the engine solved anew at every
// trial, and comes to the boost asked for. What is not held lies where the range of boost says so.
func TestDutyPlaneRoundTrip(t *testing.T) {
	boosts := []float64{0.5e5, 0.7e5, 1.0e5, 1.5e5, 2.2e5}
	seen := map[DutyHold]int{}
	for name, change := range spectest.BoostControls() {
		for _, trim := range []string{"open", "capped"} {
			d := dutiesOf(t, trim, change)
			p := over(t, d, boosts...)
			v := d.Gate.trial.solvers()
			for i := range p.Cells {
				s := &p.Speed[i]
				require.NoError(t, s.LowestKnown())
				low, most := s.Lowest.Lowest.Boost, s.Most.Comes()
				for j := range p.Cells[i] {
					c := &p.Cells[i][j]
					about := []any{"%s, %s, %v rpm, %v bar", name, trim, RPM(c.Own.Speed), boosts[j] / 1e5}
					require.NoError(t, c.Own.Err)
					require.NoError(t, c.HoldErr)
					by := c.HeldBy()
					seen[by]++
					switch by {
					case BySpring:
						require.Less(t, boosts[j], low+ReachedWithin, about...)
						require.InDelta(t, low, c.Comes(), ReachedWithin, about...)
					case ByLimit, ByActuator:
						require.Greater(t, boosts[j], most-ReachedWithin, about...)
						require.InDelta(t, most, c.Comes(), ReachedWithin, about...)
					}
					if by != ByBalance {
						continue
					}
					require.True(t, c.Meets(), about...)
					require.Equal(t, wastegate.NoSide, c.Holding.Short, about...)
					o := *s.Lowest // with the ends of what the engine can be asked for
					o.Outcome, o.Holding = c.Outcome, c.Holding
					span, differs := o.span()
					require.True(t, differs, about...)
					back := o.find(span, func(span wastegate.Span) (wastegate.Reach, error) {
						return d.Gate.holder.system.BoostAt(c.duty(), o.engine(v), span)
					})
					require.NoError(t, back.Err, about...)
					// As in TestDutyRoundTrip: the solver is good to far better than what a boost gauge shows.
					require.InDelta(t, boosts[j], back.Boost, 20, about...)
				}
			}
		}
	}
	for _, by := range []DutyHold{ByBalance, BySpring, ByLimit} {
		assert.GreaterOrEqual(t, seen[by], 15, "held by %v", by)
	}
}

// More boost takes more of what shuts: with the valve on the closing port more duty, with a bleed on the opening port less.
func TestDutyRisesWithBoost(t *testing.T) {
	for name, change := range spectest.BoostControls() {
		d := dutiesOf(t, "open", change)
		shut, open := d.Gate.holder.system.Ends()
		p := over(t, d, 0.8e5, 1.0e5, 1.2e5, 1.4e5)
		held := 0
		for i := range p.Cells {
			before := open
			for j := range p.Cells[i] {
				c := &p.Cells[i][j]
				if c.HeldBy() != ByBalance {
					continue
				}
				held++
				assert.Greater(t, (c.duty()-before)/(shut-open), 0.0, "%s, %v rpm, %v bar", name, RPM(c.Own.Speed), p.Boosts[j]/1e5)
				before = c.duty()
			}
		}
		assert.GreaterOrEqual(t, held, 4, name)
	}
}

// Every way that a boost is not held is told as what it is.
func TestDutyCellHolds(t *testing.T) {
	venue := spectest.Trim(t, spectest.Hillclimb, "open").Venue.Pressure
	d := dutiesOf(t, "open", func(*spec.Trim) {})
	cell := func(limit airpath.Limit, missed, lift float64) *DutyCell {
		o := &boost.Outcome{TargetBoost: 1e5, Point: airpath.Point{ManifoldPressure: venue + 1e5 + missed, Limit: limit, WastegateLift: lift}}
		o.Point.Limits = o.Point.Limits.With(limit)
		return &DutyCell{GatePoint{Outcome: o, Own: o, gate: d.Gate}}
	}
	for _, c := range []struct {
		cell  *DutyCell
		by    DutyHold
		name  string
		meets bool
	}{
		{cell(airpath.Target, 0, 1e-3), ByBalance, "balance", true},
		{cell(airpath.Knock, -400, 1e-3), ByBalance, "balance", true}, // below what a boost gauge shows
		{cell(airpath.Spool, 0, 0), ByClosing, "closed", true},
		{cell(airpath.Spool, -600, 0), ByLimit, "turbine", false},
		{cell(airpath.Knock, -600, 1e-3), ByLimit, "knock", false},
		{cell(airpath.Spring, 600, 1e-3), BySpring, "wastegate spring", false},
		{cell(airpath.Spring, 300, 1e-3), BySpring, "wastegate spring", true},
		{cell(airpath.Actuator, -600, 1e-3), ByActuator, "wastegate actuator", false},
		{cell(airpath.Creep, 600, 1e-2), ByCreep, "wastegate creep", false},
	} {
		assert.Equal(t, c.by, c.cell.HeldBy(), c.name)
		assert.Equal(t, c.name, c.cell.HeldByName())
		assert.Equal(t, c.meets, c.cell.Meets(), c.name)
	}
}

// A wastegate too small creeps, and one whose control lets go is told: both from the solver.
func TestDutyPlaneTellsCreepAndActuator(t *testing.T) {
	creeps := over(t, dutiesOf(t, "open", func(trim *spec.Trim) { trim.Wastegate.Bore = 0.022 }), 0.3e5)
	last := &creeps.Cells[len(creeps.Cells)-1][0]
	assert.Equal(t, ByCreep, last.HeldBy())
	// A vented closing port leaves a weak spring alone against the exhaust.
	weak := over(t, dutiesOf(t, "open", func(trim *spec.Trim) {
		y := &trim.Control.System
		y.Actuator.Preload, y.Closing = 150, nil
		y.Opening = &wastegate.PulsedValve{Kind: wastegate.Bleed, Area: 2.2e-6, BleedArea: 0.2e-6, RestsOpen: true}
		y.Actuator.ClosingArea, y.Actuator.ValveDiameter = 0, 0.055
	}), 1.7e5)
	held := 0
	for i := range weak.Cells {
		if weak.Cells[i][0].HeldBy() == ByActuator {
			held++
		}
	}
	assert.Positive(t, held)
}

// Where only the actuator holds a boost, what the engine would have without it is asked for the same boost.
func TestUnheldKeepsWhatIsAsked(t *testing.T) {
	d := dutiesOf(t, "open", func(*spec.Trim) {})
	const asked = 0.3e5
	c := &over(t, d, asked).Cells[len(d.Speed)-1][0]
	require.Equal(t, BySpring, c.HeldBy())
	assert.InDelta(t, asked, c.Boost(c.venue()), 5)
	assert.Equal(t, asked, c.TargetBoost)
}

// The default range of a plane leaves out speeds at which the duty has nothing to choose.
func TestDutyRangeEnds(t *testing.T) {
	d := dutiesOf(t, "open", func(*spec.Trim) {})
	lowest, highest, ok := d.Ends()
	require.True(t, ok)
	require.False(t, d.Speed[0].Regulated(), "at 2500 rpm the turbine gives less than the spring holds")
	require.Less(t, d.Speed[0].Most.Comes(), lowest)
	for i := range d.Speed[1:] {
		s := &d.Speed[1+i]
		require.True(t, s.Regulated())
		assert.GreaterOrEqual(t, s.Lowest.Lowest.Boost, lowest)
		assert.LessOrEqual(t, s.Most.Comes(), highest)
	}
	d.Speed = d.Speed[:1]
	_, _, ok = d.Ends()
	assert.False(t, ok)
}

// BenchmarkDutyPlane is a plane of 14 speeds and 12 boosts.
func BenchmarkDutyPlane(b *testing.B) {
	g := gateOf(b, "open", nil)
	d, err := g.DutyRange()
	require.NoError(b, err)
	var boosts []float64
	for i := range 12 {
		boosts = append(boosts, 0.7e5+float64(i)*0.1e5)
	}
	b.ReportAllocs()
	for b.Loop() {
		over(b, d, boosts...)
	}
}
