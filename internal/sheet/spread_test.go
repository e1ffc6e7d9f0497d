package sheet

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/check"
	"bellmouth/internal/numeric"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

// flowing makes the spec's spread one of flow.
func flowing(flow ...float64) func(*spec.Trim) {
	return func(trim *spec.Trim) {
		s := trim.Manifold.Spread
		s.Flow, s.Lambda, s.ExhaustTemperature = flow, nil, nil
	}
}

// TestEvenCostsNothing: with the same air for all every way of tuning gives the operating point's power.
func TestEvenCostsNothing(t *testing.T) {
	for _, c := range []struct {
		path, trim string
		flow       []float64
	}{
		{hillclimb, "capped", []float64{7, 7, 7, 7, 7}}, {hillclimb, "open", []float64{1, 1, 1, 1, 1}},
		{clubFour, "free", []float64{3, 3, 3, 3}}, {clubFour, "restricted", []float64{3, 3, 3, 3}},
	} {
		r := altered(t, c.path, c.trim, flowing(c.flow...), 1500, 3500, 5000, 6500, 7500)
		all := manifoldTables(t, r)
		cost := named(t, all, "cost of the spread")
		for i := range cost.Rows {
			p := r.Outcomes[i].Point
			// The knock limit is met to 1e-5 by either solution.
			for _, key := range []string{"even_power_w", "common_fuel_power_w", "own_fuel_power_w", "own_fuel_spark_power_w"} {
				assert.InEpsilon(t, p.Power, number(t, cost, i, key), 1e-5, "%s %.0f %s", c.trim, p.Speed/perRPM, key)
			}
			assert.InDelta(t, 0, number(t, cost, i, "spread_cost_w"), 1e-3)
		}
		cylinders := named(t, all, "air by cylinder")
		for i := range cylinders.Rows {
			assert.InDelta(t, 0, number(t, cylinders, i, "fuel_correction"), 1e-12)
			assert.InDelta(t, 0, number(t, cylinders, i, "spark_correction_deg"), 1e-6)
		}
	}
}

// TestCylindersByHand holds shares, mixtures and corrections of the spec's flow figures, and what the knock limit makes of them.
func TestCylindersByHand(t *testing.T) {
	r := solved(t, hillclimb, "capped", 4500)
	all := manifoldTables(t, r)
	of := named(t, all, "air by cylinder")
	flow := []float64{98.2, 101.0, 102.4, 100.6, 97.8} // 500.0 in all, a mean of 100.0
	p := r.Outcomes[0].Point
	var corrections, worst float64
	for i, f := range flow {
		assert.InDelta(t, f/500, number(t, of, i, "air_share"), 1e-12)
		assert.InDelta(t, f/100-1, number(t, of, i, "fuel_correction"), 1e-12)
		assert.InDelta(t, f/100*p.Lambda, number(t, of, i, "cylinder_lambda"), 1e-12) // 0.849 · 1.024 stays below the 0.92 allowed
		corrections += number(t, of, i, "fuel_correction")
		worst = math.Max(worst, number(t, of, i, "cylinder_knock_integral"))
		assert.GreaterOrEqual(t, number(t, of, i, "spark_correction_deg"), 0.0)
	}
	assert.InDelta(t, 0, corrections, 1e-12)
	// Knock holds the spark: the worst cylinder is on the limit, and it is the fullest.
	limit := r.Engine.Combustion.KnockLimit
	assert.InDelta(t, limit, worst, 1e-6)
	assert.Equal(t, worst, number(t, of, 2, "cylinder_knock_integral"))
	assert.InDelta(t, limit, number(t, of, 2, "own_fuel_knock_integral"), 1e-6)
	assert.Equal(t, []string{"knock"}, cell(t, of, 2, "spread_limits").List())
	assert.InDelta(t, 0, number(t, of, 2, "spark_correction_deg"), 1e-9)
	assert.Empty(t, cell(t, of, 0, "spread_limits").List())

	cost := named(t, all, "cost of the spread")
	assert.Equal(t, []string{"3 knock"}, cell(t, cost, 0, "limited_cylinders").List())
	assert.InDelta(t, number(t, cost, 0, "even_power_w")-number(t, cost, 0, "common_fuel_power_w"), number(t, cost, 0, "spread_cost_w"), 1e-9)
	assert.Greater(t, number(t, cost, 0, "own_fuel_power_w"), number(t, cost, 0, "common_fuel_power_w"))
	assert.Greater(t, number(t, cost, 0, "own_fuel_spark_power_w"), number(t, cost, 0, "own_fuel_power_w"))

	// The cost found otherwise: the cylinders run one by one, the burn later in steps of a thousandth of a degree until none knocks.
	one, err := r.Engine.SingleAt(&p)
	require.NoError(t, err)
	power := 0.0
	for ca50 := p.CA50; ; ca50 += 0.001 * math.Pi / 180 {
		knock := 0.0
		power = 0
		for _, f := range flow {
			res, err := one.Run(f/100, f/100*p.Lambda, ca50)
			require.NoError(t, err)
			power += res.Power
			knock = math.Max(knock, res.KnockIntegral)
		}
		if knock <= limit {
			break
		}
	}
	assert.InDelta(t, power, number(t, cost, 0, "common_fuel_power_w"), 5) // a thousandth of a degree is worth 2 W
}

// TestLeanCylinderSetsTheMixture: with less allowed than the leanest has, all get more fuel.
func TestLeanCylinderSetsTheMixture(t *testing.T) {
	r := altered(t, hillclimb, "capped", func(trim *spec.Trim) { trim.Manifold.Spread.Leanest = 0.855 }, 4500)
	all := manifoldTables(t, r)
	of := named(t, all, "air by cylinder")
	assert.InDelta(t, 0.855, number(t, of, 2, "cylinder_lambda"), 1e-12)
	assert.Contains(t, cell(t, of, 2, "spread_limits").List(), "lean")
	assert.InDelta(t, 0.855/1.024*0.982, number(t, of, 0, "cylinder_lambda"), 1e-12)
	assert.InDelta(t, 0.855/1.024, number(t, named(t, all, "cost of the spread"), 0, "common_lambda"), 1e-12)
	lambda := r.Outcomes[0].Point.Lambda
	assert.Contains(t, of.Notes, fmt.Sprintf("With one fuel quantity for all the engine runs at lambda %.3f where the target is %.3f, "+
		"so that no cylinder is leaner than 0.855.", 0.855/1.024, lambda))

	rich := altered(t, hillclimb, "capped", func(trim *spec.Trim) { trim.Manifold.Spread.Richest = 0.84 }, 4500)
	of = named(t, manifoldTables(t, rich), "air by cylinder")
	assert.Equal(t, []string{"rich"}, cell(t, of, 0, "spread_limits").List())
	assert.Equal(t, []string{"rich"}, cell(t, of, 4, "spread_limits").List())
}

// TestPressureHoldsTheSpark where the cylinder's pressure limit comes before knock.
func TestPressureHoldsTheSpark(t *testing.T) {
	r := altered(t, hillclimb, "capped", func(trim *spec.Trim) { trim.Limits.PeakCylinderPressure = 88e5 }, 4500)
	p := r.Outcomes[0].Point
	require.InEpsilon(t, 88e5, p.PeakPressure, 1e-4)
	all := manifoldTables(t, r)
	assert.Equal(t, []string{"pressure"}, cell(t, named(t, all, "air by cylinder"), 2, "spread_limits").List())
	assert.InEpsilon(t, p.Power, number(t, named(t, all, "cost of the spread"), 0, "even_power_w"), 1e-5)
}

// TestUnreadShares: figures that no mixture explains are a doubt about the result, not the end of it.
func TestUnreadShares(t *testing.T) {
	r := altered(t, hillclimb, "capped", func(trim *spec.Trim) {
		*trim.Manifold.Spread = spec.Spread{ExhaustTemperature: []float64{1000, 1300, 1300, 1300, 1300}}
	}, 5000, 5500, 6500)
	require.Equal(t, &r.Outcomes[1], r.Peak(run.Power))
	require.NotEqual(t, r.Outcomes[1].Speed, r.peak(run.Power).Speed, "power peaks between the speeds")
	_, ok, err := r.Cylinders()
	assert.NoError(t, err)
	assert.False(t, ok)
	_, ok, err = r.SpreadCost()
	assert.NoError(t, err)
	assert.False(t, ok)
	head, err := r.Manifold()
	require.NoError(t, err)
	assert.Contains(t, strings.Join(head[0].In(units.Metric).Notes, "\n"),
		"At 5500 rpm manifold.spread.exhaust_temperature tells no shares of the air: cylinder 1")
	// The speed is the one named in the note for a run that is judged between its speeds too.
	for _, judged := range []*check.Review{check.At(r.Run), r.Review()} {
		findings, err := judged.Cylinders()
		require.NoError(t, err)
		require.Len(t, findings, 1)
		assert.Equal(t, check.Note, findings[0].Verdict)
		assert.Contains(t, findings[0].Remark, "not judged")
		assert.Equal(t, r.Outcomes[1].Speed, findings[0].Speed)
	}
}

// TestCostAtPeak: the note of the spread's cost has the figures of a row at the very speed.
func TestCostAtPeak(t *testing.T) {
	r := solved(t, hillclimb, "capped", 5400, 5800, 6200)
	cost := named(t, manifoldTables(t, r), "cost of the spread")
	require.Len(t, cost.Notes, 1)
	at := regexp.MustCompile(`^No cylinder's air is further than (\S+) % from the mean. ` +
		`At peak power, (\d+) rpm, that costs (\S+) kW of (\S+) kW with one fuel quantity and one spark, (\S+) %.$`).
		FindStringSubmatch(cost.In(units.Metric).Notes[0])
	require.NotNil(t, at, cost.Notes[0])
	said := func(i int) float64 {
		x, err := strconv.ParseFloat(at[i], 64)
		require.NoError(t, err)
		return x
	}
	assert.Equal(t, 2.4, said(1), "102.4 of a mean of 100")
	row := named(t, manifoldTables(t, solved(t, hillclimb, "capped", said(2))), "cost of the spread")
	lost, even := number(t, row, 0, "spread_cost_w"), number(t, row, 0, "even_power_w")
	assert.InDelta(t, lost/1e3, said(3), 0.051, "as printed, at the speed rounded to 1 rpm")
	assert.InDelta(t, even/1e3, said(4), 0.051)
	assert.InDelta(t, lost/even*100, said(5), 0.051)
	assert.InDelta(t, lost/even, number(t, row, 0, "spread_cost_fraction"), 1e-12)
}

// TestPastAllHelp: where the engine passes its limits anyway the shares are told, and no cost is made up.
func TestPastAllHelp(t *testing.T) {
	r := altered(t, clubFour, "free", func(trim *spec.Trim) {
		trim.Engine.Combustion.KnockLimit = 0.1
		trim.Engine.Combustion.LatestCA50 = trim.Engine.Combustion.BestCA50
	}, 4000)
	require.NotZero(t, r.Outcomes[0].Point.Notes&airpath.NoteKnockUnmet)
	all := manifoldTables(t, r)
	assert.NoError(t, table.Document{Command: "manifold", Tables: all}.Check())
	of := named(t, all, "air by cylinder")
	assert.InDelta(t, 0.885/3.5*4*r.Outcomes[0].Point.Lambda, number(t, of, 2, "cylinder_lambda"), 1e-12)
	for _, c := range []table.Cell{
		cell(t, of, 0, "cylinder_knock_integral"), cell(t, named(t, all, "cost of the spread"), 0, "spread_cost_w"),
		cell(t, named(t, all, "cost of the spread"), 0, "spread_cost_fraction"),
	} {
		assert.Equal(t, table.NoValue, c.Content())
		assert.Contains(t, c.Note(), "with an even manifold too")
	}
	assert.Contains(t, strings.Join(named(t, all, "cost of the spread").Notes, "\n"), "what that costs is not known: the engine passes its limit")
	// The even engine just keeps the limit at its latest burn, a full cylinder does not.
	late := altered(t, hillclimb, "capped", func(trim *spec.Trim) { trim.Engine.Combustion.LatestCA50 = 20.6 * math.Pi / 180 }, 4000)
	c := cell(t, named(t, manifoldTables(t, late), "cost of the spread"), 0, "common_fuel_power_w")
	assert.Contains(t, c.Note(), "cylinder 3 passes the limit of knock or cylinder pressure even with the latest burn")
}

func TestSpreadNotGiven(t *testing.T) {
	none := altered(t, hillclimb, "capped", func(trim *spec.Trim) { trim.Manifold.Spread = nil }, 5500)
	_, ok, err := none.Cylinders()
	assert.NoError(t, err)
	assert.False(t, ok)
	_, ok, err = none.SpreadCost()
	assert.NoError(t, err)
	assert.False(t, ok)
	assert.Contains(t, named(t, manifoldTables(t, none), "manifold").Notes, noSpread)
	findings, err := none.Review().Cylinders()
	assert.NoError(t, err)
	assert.Empty(t, findings)

	single := altered(t, clubFour, "free", func(trim *spec.Trim) { trim.Engine.Cylinders, trim.Manifold.Spread = 1, nil }, 5500)
	assert.NotContains(t, named(t, manifoldTables(t, single), "manifold").Notes, noSpread)
}

// TestCylindersBeyondTheModelAreJudged: a cylinder with next to no air is one finding of a run that is judged between its speeds too.
func TestCylindersBeyondTheModelAreJudged(t *testing.T) {
	r := altered(t, hillclimb, "capped", flowing(5, 100, 101, 100, 99), 4500, 6500)
	fs, err := r.Judge()
	require.NoError(t, err)
	var beyond []check.Finding
	for _, f := range fs {
		if strings.HasPrefix(f.What, "mixture of cylinder") {
			beyond = append(beyond, f)
		}
	}
	require.Len(t, beyond, 1, "told once")
	assert.Equal(t, "mixture of cylinder 1, one fuel for all", beyond[0].What)
	assert.Equal(t, check.Fail, beyond[0].Verdict)
	assert.Equal(t, 0.5, beyond[0].Limit)
}

// TestSpreadThatGains: with a target leaner than the mixture of most torque, the richer one that the leanest cylinder asks for gives more power, and
// a note says what that means. At the spec's own target the spread costs.
func TestSpreadThatGains(t *testing.T) {
	lean := altered(t, clubFour, "free", func(trim *spec.Trim) {
		f := *trim.Fuel
		f.Mixture.FullLoad = numeric.Constant(1.1)
		trim.Fuel = &f
		trim.Manifold.Spread = &spec.Spread{Flow: []float64{95, 100, 105, 100}}
	}, 7000)
	const note = "Where a cost is below 0, a richer mixture or a later burn than the spec's gives more power in any case."
	cost := named(t, manifoldTables(t, lean), "cost of the spread")
	assert.Less(t, number(t, cost, 0, "spread_cost_w"), -50.0)
	assert.Contains(t, cost.Notes, note)
	own := named(t, manifoldTables(t, solved(t, clubFour, "free", 7000)), "cost of the spread")
	assert.NotContains(t, own.Notes, note)
}
