package boost

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/numeric"
)

// The points here are made by hand, so that the highest value and its speed are known in closed form.

// made returns a load whose torque is a function of the engine speed in rpm; limit says what governs it.
func made(torque func(n float64) float64, limit func(n float64) airpath.Limit) Load {
	return func(_ *airpath.Solver, speed float64, _ airpath.Near) Outcome {
		o := Outcome{Speed: speed}
		n := speed / rpm
		o.Point.Speed, o.Point.Torque = speed, torque(n)
		if limit != nil {
			o.Point.Limit = limit(n)
		}
		return o
	}
}

func torqueFigure(o *Outcome) (float64, bool) { return o.Point.Torque, true }

// refineMade refines 2000 to 6000 rpm in steps of 500 and returns how many points were solved between.
func refineMade(t *testing.T, s Search) (all []Outcome, solves int) {
	t.Helper()
	s.Engine = engine(t)
	grid := SweepLoad(t.Context(), s.Engine, s.Load, Speeds(2000*rpm, 6000*rpm, 500*rpm))
	load := s.Load
	counted := make(chan float64, 10000)
	s.Load = func(v *airpath.Solver, speed float64, near airpath.Near) Outcome {
		counted <- speed
		return load(v, speed, near)
	}
	all = s.Refine(t.Context(), grid)
	solves = len(counted)
	solved := map[float64]bool{}
	for range solves {
		speed := <-counted
		assert.False(t, solved[speed], "%v rpm twice", speed/rpm)
		solved[speed] = true
	}
	for i := 1; i < len(all); i++ {
		assert.Greater(t, all[i].Speed, all[i-1].Speed)
	}
	kept := 0
	for i := range all {
		for j := range grid {
			if all[i].Speed == grid[j].Speed {
				kept++
			}
		}
	}
	assert.Equal(t, len(grid), kept, "the grid's own points stay")
	return all, solves
}

// TestRefinePeaks: peaks between the speeds of the grid, of every shape that a figure has.
func TestRefinePeaks(t *testing.T) {
	target := func(float64) airpath.Limit { return airpath.Target }
	from := func(change float64) func(n float64) airpath.Limit {
		return func(n float64) airpath.Limit {
			if n < change {
				return airpath.Spool
			}
			return airpath.Target
		}
	}
	for name, c := range map[string]struct {
		torque    func(n float64) float64
		limit     func(n float64) airpath.Limit
		at, peak  float64
		tolerance float64 // of the peak, Nm: what is promised, 0.05 % of it, where no other is said
		most      int     // solves that it may take
	}{
		"smooth":   {func(n float64) float64 { return 400 - 1e-4*(n-4220)*(n-4220) }, target, 4220, 400, 0, 12},
		"flat top": {func(n float64) float64 { return 400 - 1e-14*math.Pow(n-3790, 4) }, target, 3790, 400, 0, 10},
		"kink":     {func(n float64) float64 { return 400 - 0.2*math.Abs(n-3150) }, target, 3150, 400, 0, 16},
		"kink where the limit changes": {func(n float64) float64 {
			if n < 3150 {
				return 400 - 0.2*(3150-n)
			}
			return 400 - 0.1*(n-3150)
		}, from(3150), 3150, 400, 0, 24},
		// Seen from the grid nothing stands out: the values fall throughout.
		"jump where the limit changes": {func(n float64) float64 {
			if n < 3150 {
				return 300 - 0.01*n
			}
			return 600 - 0.1*n
		}, from(3150), 3150, 285, 0.4 + 0.15, 24}, // 4 rpm of the slope, besides what is promised
		"lowest speed":  {func(n float64) float64 { return 500 - 0.05*n }, target, 2000, 400, 0, 4},
		"highest speed": {func(n float64) float64 { return 100 + 0.05*n }, target, 6000, 400, 0, 4},
		"first step":    {func(n float64) float64 { return 400 - 2e-4*(n-2180)*(n-2180) }, target, 2180, 400, 0, 14},
		"two peaks": {func(n float64) float64 {
			return math.Max(400-1e-3*(n-2730)*(n-2730), 401-1e-3*(n-4770)*(n-4770))
		}, target, 4770, 401, 0, 20},
	} {
		all, solves := refineMade(t, Search{Load: made(c.torque, c.limit), Figures: []Figure{{Of: torqueFigure, Limit: math.NaN()}}})
		i := Worst(all, torqueFigure)
		tolerance := c.tolerance
		if tolerance == 0 {
			tolerance = 5e-4 * c.peak
		}
		assert.InDelta(t, c.peak, all[i].Point.Torque, tolerance, name)
		assert.LessOrEqual(t, solves, c.most, name)
	}
}

// TestRefineToTheLimit: with a limit close below the peak no tolerance lets the figure pass.
func TestRefineToTheLimit(t *testing.T) {
	const peak = 400.0
	for at := 3507.0; at < 4500; at += 37 {
		torque := func(n float64) float64 { return peak - 3e-4*(n-at)*(n-at) - 2e-7*math.Abs(math.Pow(n-at, 3)) }
		for _, limit := range []float64{peak - 0.015, peak + 0.015} { // less than a tenth of what the tolerance lets be missed
			all, _ := refineMade(t, Search{Load: made(torque, nil), Figures: []Figure{{Of: torqueFigure, Limit: limit}}})
			i := Worst(all, torqueFigure)
			assert.Equal(t, peak > limit, all[i].Point.Torque > limit, "%v rpm, limit %v, found %v", at, limit, all[i].Point.Torque)
		}
	}
}

// TestRefineWhereItApplies: a figure that begins to apply between two speeds, with its highest value there.
func TestRefineWhereItApplies(t *testing.T) {
	torque := func(n float64) float64 { return 700 - 0.1*n }
	beyond := func(o *Outcome) (float64, bool) { return o.Point.Torque, o.Speed > 4734*rpm }
	all, solves := refineMade(t, Search{Load: made(torque, nil), Figures: []Figure{{Of: beyond, Limit: math.NaN()}}})
	i := Worst(all, beyond)
	assert.InDelta(t, 700-0.1*4734, all[i].Point.Torque, 5e-4*227)
	assert.LessOrEqual(t, solves, 12)
}

// TestRefineMarks: the two sides of where a mark begins and ends are kept, 4 rpm apart at most, and a costly figure is asked on both
// but not on the way there.
func TestRefineMarks(t *testing.T) {
	mark := func(o *Outcome) bool { return o.Speed > 3183*rpm && o.Speed < 5711*rpm }
	asked := make(chan float64, 1000)
	all, solves := refineMade(t, Search{
		Load: made(func(float64) float64 { return 1 }, nil), Marks: []Mark{mark},
		Figures: []Figure{{Limit: math.NaN(), Costly: true, Of: func(o *Outcome) (float64, bool) {
			asked <- o.Speed
			return 1, true
		}}},
	})
	require.Len(t, all, 9+4)
	for i := 1; i < len(all); i++ {
		if mark(&all[i]) != mark(&all[i-1]) {
			assert.LessOrEqual(t, all[i].Speed-all[i-1].Speed, 4*rpm)
		}
	}
	i := First(all, mark)
	assert.InDelta(t, 3183, all[i].Speed/rpm, 4)
	assert.Equal(t, 14+1, solves, "500 rpm halved seven times, twice; and the middle of what is left up to 6000 rpm, of which no chord tells")
	assert.Len(t, asked, 13+1)
	assert.Equal(t, -1, First(all, func(*Outcome) bool { return false }))
}

// TestRefineTakesWhatIsSolved: between two marks the middle is solved on the way to them, and a costly figure that wants it is asked there: no
// speed is solved twice.
func TestRefineTakesWhatIsSolved(t *testing.T) {
	after := func(n float64) Mark { return func(o *Outcome) bool { return o.Speed > n*rpm } }
	asked := make(chan float64, 1000)
	_, solves := refineMade(t, Search{
		Load: made(func(float64) float64 { return 1 }, nil), Marks: []Mark{after(3240), after(3260)},
		Figures: []Figure{{Limit: math.NaN(), Costly: true, Of: func(o *Outcome) (float64, bool) {
			asked <- o.Speed
			return 1, true
		}}},
	})
	assert.Less(t, solves, 20)
	middle := false
	for range len(asked) {
		middle = middle || math.Abs(<-asked-3250*rpm) < 4*rpm
	}
	assert.True(t, middle)
}

// TestRefineSeesTables: a dip of a table between two speeds of the grid, of which the grid shows nothing.
func TestRefineSeesTables(t *testing.T) {
	dip, err := numeric.NewCurve([]float64{2000 * rpm, 3100 * rpm, 3200 * rpm, 3300 * rpm, 6000 * rpm}, []float64{1, 1, 0.7, 1, 1})
	require.NoError(t, err)
	load := func(_ *airpath.Solver, speed float64, _ airpath.Near) Outcome {
		o := Outcome{Speed: speed}
		y, _ := dip.At(speed)
		o.Point.Torque = -y
		return o
	}
	all, _ := refineMade(t, Search{Load: load, Curves: []numeric.Curve{dip}, Figures: []Figure{{Of: torqueFigure, Limit: math.NaN()}}})
	i := Worst(all, torqueFigure)
	assert.InDelta(t, -0.7, all[i].Point.Torque, 5e-4)
	assert.InDelta(t, 3200, all[i].Speed/rpm, 5)
}

// TestRefineWideGrid: two speeds far apart hide nothing that 500 rpm would show.
func TestRefineWideGrid(t *testing.T) {
	e := engine(t)
	load := made(func(n float64) float64 { return 400 - 1e-4*(n-4220)*(n-4220) }, nil)
	s := Search{Engine: e, Load: load, Figures: []Figure{{Of: torqueFigure, Limit: math.NaN()}}}
	all := s.Refine(t.Context(), SweepLoad(t.Context(), e, load, []float64{1000 * rpm, 7000 * rpm}))
	assert.InDelta(t, 400, all[Worst(all, torqueFigure)].Point.Torque, 0.2)
	one := SweepLoad(t.Context(), e, load, []float64{3000 * rpm})
	assert.Equal(t, one, s.Refine(t.Context(), one), "one speed is judged by itself")
}

// TestRefineLostPoints: a point without a solution that is met between two that have one is told, once; beside one of the grid's it is not.
func TestRefineLostPoints(t *testing.T) {
	lost := func(lo, hi float64) Load {
		return func(_ *airpath.Solver, speed float64, _ airpath.Near) Outcome {
			n := speed / rpm
			o := Outcome{Speed: speed}
			o.Point.Torque = 400 - 1e-4*(n-4220)*(n-4220)
			if n > lo && n < hi {
				o = Outcome{Speed: speed, Err: &airpath.PointError{Speed: speed, Stage: "turbine", Reason: "none"}}
			}
			return o
		}
	}
	count := func(all []Outcome) (n int) {
		for i := range all {
			if all[i].Err != nil {
				n++
			}
		}
		return n
	}
	s := Search{Figures: []Figure{{Of: torqueFigure, Limit: math.NaN()}}}
	s.Load = lost(4150, 4290)
	all, _ := refineMade(t, s)
	assert.Equal(t, 1, count(all))
	s.Load = lost(4218, 4221) // where one limit takes over from another
	all, _ = refineMade(t, s)
	assert.Zero(t, count(all))
	assert.InDelta(t, 400, all[Worst(all, torqueFigure)].Point.Torque, 0.2)
	s.Load = lost(3900, 4100)
	all, _ = refineMade(t, s)
	assert.Equal(t, 1, count(all), "that of 4000 rpm")
}

// TestRefineNaN: a figure that is no number is the worst there is, and ends the search.
func TestRefineNaN(t *testing.T) {
	load := made(func(n float64) float64 {
		if math.Abs(n-3500) < 1 {
			return math.NaN()
		}
		return 1
	}, nil)
	all, solves := refineMade(t, Search{Load: load, Figures: []Figure{{Of: torqueFigure, Limit: math.NaN()}}})
	assert.Zero(t, solves)
	assert.InDelta(t, 3500, all[Worst(all, torqueFigure)].Speed/rpm, 1e-6)
}

// TestRefineEngine: the peak torque and the choke of a solved engine between the speeds, against a sweep of every 5 rpm.
func TestRefineEngine(t *testing.T) {
	e := engine(t)
	load := FullLoad(e, numeric.Curve{})
	s := Search{Engine: e, Load: load, Figures: []Figure{{Of: torqueFigure, Limit: math.NaN()}}}
	all := s.Refine(t.Context(), SweepLoad(t.Context(), e, load, Speeds(2000*rpm, 7500*rpm, 500*rpm)))
	dense := SweepLoad(t.Context(), e, load, Speeds(2000*rpm, 7500*rpm, 5*rpm))
	want := dense[Worst(dense, torqueFigure)].Point.Torque
	assert.InEpsilon(t, want, all[Worst(all, torqueFigure)].Point.Torque, 5e-4)
	chokes := func(o *Outcome) bool { return o.Point.Limits.Has(airpath.Restrictor) }
	assert.InDelta(t, dense[First(dense, chokes)].Speed/rpm, all[First(all, chokes)].Speed/rpm, 5+4)
}

func BenchmarkRefine(b *testing.B) {
	e := engine(b)
	load := FullLoad(e, numeric.Curve{})
	s := Search{Engine: e, Load: load, Figures: []Figure{{Of: torqueFigure, Limit: math.NaN()}}}
	grid := SweepLoad(b.Context(), e, load, Speeds(2000*rpm, 7500*rpm, 500*rpm))
	b.ReportAllocs()
	for b.Loop() {
		s.Refine(b.Context(), grid)
	}
}
