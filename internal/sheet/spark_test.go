package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/formula"
	"bellmouth/internal/numeric"
	"bellmouth/internal/render"
	"bellmouth/internal/run"
	"bellmouth/internal/spark"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

const degree = math.Pi / 180

// sparks returns a run's spark over speed, and over the plane with the manifold pressures, Pa.
func sparks(t testing.TB, r *Run, pressures ...float64) (*Spark, *SparkPlane) {
	t.Helper()
	s, err := r.Spark()
	require.NoError(t, err)
	p, err := s.Plane(pressures)
	require.NoError(t, err)
	return s, p
}

// column returns the cells of a table's column.
func column(t testing.TB, in table.Table, key string) []table.Cell {
	t.Helper()
	for i, c := range in.Columns {
		if c.Key == key {
			cells := make([]table.Cell, len(in.Rows))
			for j := range in.Rows {
				cells[j] = in.Rows[j][i]
			}
			return cells
		}
	}
	require.Fail(t, "no column "+key)
	return nil
}

func sparkTables(t testing.TB, r *Run) []table.Table {
	t.Helper()
	s, p := sparks(t, r, 40e3, 90e3, 140e3, 220e3)
	all := []table.Table{s.FullLoad(), p.BaseTable(), p.BurnPlanes()}
	for _, optional := range []func() (table.Table, bool){s.Effects, r.CoilVoltage, r.CoilSpeed, r.Gap} {
		if t, ok := optional(); ok {
			all = append(all, t)
		}
	}
	return all
}

// TestSparkTablesAreSound holds keys, titles and units, with and without compressor, ignition and solution.
func TestSparkTablesAreSound(t *testing.T) {
	bare := solved(t, hillclimb, "capped", 2000, 5000)
	bare.Trim.Ignition = nil
	unrated := solved(t, hillclimb, "open", 2000, 5000)
	unrated.Trim.Ignition.Coil.RatedCurrent, unrated.Trim.Ignition.Coil.RatedVoltage = 0, 0
	crowded := solved(t, hillclimb, "open", 2000, 7800)
	crowded.Trim.Ignition.Coil.SparkTime = 9e-3
	crowded.Trim.Ignition.Coil.SparksPerCycle = 5
	lost := solved(t, hillclimb, "capped", 2000, 4000)
	lost.Outcomes[1].Err = &airpath.PointError{Speed: lost.Outcomes[1].Speed, Stage: "turbine", Reason: "no expansion ratio drives the compressor"}
	none := solved(t, hillclimb, "capped", 2000)
	none.Outcomes[0].Err = lost.Outcomes[1].Err
	for name, c := range map[string]struct {
		run  *Run
		many int
	}{
		"open": {solved(t, hillclimb, "open", 2000, 6000), 7}, "capped": {solved(t, hillclimb, "capped", 2000, 6000), 7},
		"free": {solved(t, clubFour, "free", 2000, 6000), 7}, "no ignition": {bare, 4}, "no rating": {unrated, 7},
		"no time to charge": {crowded, 7}, "a point lost": {lost, 7}, "nothing solved": {none, 6},
	} {
		doc := table.Document{Command: "spark", Tables: sparkTables(t, c.run)}
		assert.Len(t, doc.Tables, c.many, name)
		assert.NoError(t, doc.Check(), name)
		assert.NoError(t, render.Text(discard{}, doc, render.Options{}), name)
	}
}

func TestSparkFormulas(t *testing.T) { assert.NoError(t, formula.Check(SparkFormulas())) }

// TestIgnitionDelay: the spec's table, or the default of package spark over all of the speeds where it holds.
func TestIgnitionDelay(t *testing.T) {
	trim := trimOf(t, hillclimb, "open")
	require.True(t, trim.Ignition.Delay.IsZero())
	s, err := run.Setup("spark", trim)
	require.NoError(t, err)
	for n := 1000.0; n <= 10000; n += 37 {
		want, _, err := spark.IgnitionDelay(numeric.Curve{}, n*perRPM)
		require.NoError(t, err)
		got, held := s.Combustion.IgnitionDelay.At(n * perRPM)
		assert.False(t, held)
		assert.InDelta(t, want, got, 0.01*degree, "a tenth of what is printed, at %v rpm", n)
	}
	trim.Ignition.Delay = numeric.Constant(9 * degree)
	s, err = run.Setup("spark", trim)
	require.NoError(t, err)
	got, _ := s.Combustion.IgnitionDelay.At(4000 * perRPM)
	assert.InDelta(t, 9*degree, got, 1e-12)
}

// TestSparkByHand: CA50 less the angle to half burned is the start of burning; the ignition delay before it is the spark. Half the charge has
// burned at the share cbrt(ln 2/ln 10) of the angle to 90 %: xb = 1 − exp(−5 y³), Heywood (1988), eq. 9.30. The angles are those of the charge;
// the spec's, 42 deg at 1500 rpm and 54 deg at 7800 rpm with a straight line between, are stated for full load without boost.
func TestSparkByHand(t *testing.T) {
	speeds := []float64{2000, 4500, 7000}
	r := solved(t, hillclimb, "capped", append([]float64(nil), speeds...)...)
	s, _ := sparks(t, r, 40e3)
	full := s.FullLoad()
	advance, ca50 := column(t, full, "spark_advance_deg"), column(t, full, "ca50_deg")
	for i, n := range speeds {
		p := &r.Outcomes[i].Point
		want := p.IgnitionDelay + p.BurnAngle*math.Cbrt(math.Ln2/math.Ln10) - ca50[i].Number()
		assert.InDelta(t, want, advance[i].Number(), 1e-9, "%v rpm", n)
		// Boost quickens the burn, by (ν/ν0)^(1/3) (S0/S)^(2/3): to 0.6 to 1 of the angles stated for full load without boost.
		assert.InDelta(t, 0.8, p.BurnAngle/((42+(n-1500)/(7800-1500)*(54-42))*degree), 0.2, "%v rpm", n)
		assert.InDelta(t, 0.8, p.IgnitionDelay/(4*degree*math.Cbrt(n/2000)), 0.21, "%v rpm", n)
	}
}

// TestOctaneForBestPhasing: a fuel with the octane numbers that are said to be short has the burn where a fuel that does not knock has it,
// and knocks just not.
func TestOctaneForBestPhasing(t *testing.T) {
	r := solved(t, hillclimb, "capped", 5100)
	s, _ := sparks(t, r, 40e3)
	short := -column(t, s.FullLoad(), "best_octane_margin")[0].Number()
	require.Greater(t, short, 5.0)
	require.Greater(t, r.Outcomes[0].Point.CA50, s.full[0].point.CA50+5*degree)
	setup := r.Engine.Setup
	setup.Fuel.RON, setup.Fuel.MON = setup.Fuel.RON+short, setup.Fuel.MON+short
	e, err := airpath.New(setup)
	require.NoError(t, err)
	p, err := e.NewSolver().Solve(airpath.Demand{Speed: r.Outcomes[0].Speed, Target: r.Outcomes[0].Point.ManifoldPressure})
	require.NoError(t, err)
	assert.InDelta(t, s.full[0].point.CA50, p.CA50, 0.01*degree)
	assert.InDelta(t, setup.Combustion.KnockLimit, p.KnockIntegral, 1e-3, "the solver's knock limit is met to 1e-5")

	// What is to spare where nothing holds the burn: a fuel with that much less knocks just not.
	free := solved(t, hillclimb, "capped", 7000)
	s, _ = sparks(t, free, 40e3)
	margin := column(t, s.FullLoad(), "best_octane_margin")[0].Number()
	require.Greater(t, margin, 5.0)
	setup = free.Engine.Setup
	setup.Fuel.RON, setup.Fuel.MON = setup.Fuel.RON-margin, setup.Fuel.MON-margin
	e, err = airpath.New(setup)
	require.NoError(t, err)
	p = boost.Sweep(e, free.Trim.Boost.Target, []float64{free.Outcomes[0].Speed})[0].Point
	assert.InDelta(t, setup.Combustion.BestCA50, p.CA50, 0.01*degree)
	assert.InDelta(t, setup.Combustion.KnockLimit, p.KnockIntegral, 1e-3)
}

// TestSparkPlane: full load is the plane's edge, knock holds the burn exactly where it is late, and a control that interpolates across the edge
// meets the spark of full load.
func TestSparkPlane(t *testing.T) {
	r := solved(t, hillclimb, "capped", 2500, 4500, 5200, 7000)
	var pressures []float64
	for p := 40e3; p < 270e3; p += 20e3 {
		pressures = append(pressures, p)
	}
	_, plane := sparks(t, r, pressures...)
	limit, best := r.Engine.Combustion.KnockLimit, r.Engine.Combustion.BestCA50
	late := 0
	for _, c := range plane.points(false) {
		require.Empty(t, c.held())
		assert.InDelta(t, c.pressure, c.Point.ManifoldPressure, 1, "%v rpm", run.RPM(c.speed))
		if check.Late(c.Point.CA50, best) {
			late++
			assert.InDelta(t, limit, c.Point.KnockIntegral, 1e-4*limit)
			assert.Negative(t, plane.marginAtBest(c.best).Number())
		} else {
			assert.LessOrEqual(t, c.Point.KnockIntegral, limit*(1+1e-4))
		}
	}
	assert.Greater(t, late, 5)

	byPoint := map[[2]float64]float64{}
	edge := map[float64][2]float64{} // by speed: pressure and spark above the line
	for _, c := range plane.points(true) {
		if c.above {
			edge[c.speed] = [2]float64{c.pressure, c.spark}
			continue
		}
		byPoint[[2]float64{c.speed, c.pressure}] = -c.Point.SparkAngle
	}
	require.Len(t, edge, len(r.Outcomes))
	for i := range r.Outcomes {
		full := &r.Outcomes[i].Point
		above := edge[full.Speed]
		below := above[0] - 20e3
		part := (full.ManifoldPressure - below) / 20e3
		require.True(t, part > 0 && part < 1)
		interpolated := byPoint[[2]float64{full.Speed, below}]*(1-part) + above[1]*part
		// Where full load lies close above a point, the line's direction is that of the point before.
		assert.InDelta(t, -full.SparkAngle, interpolated, 0.2*degree, "%v rpm", run.RPM(full.Speed))
		assert.LessOrEqual(t, above[1], -full.SparkAngle+1e-12)
	}
}

// TestSparkPlaneWhereKnockCuts: with a fuel too poor for the boost asked for the boost ends at the latest phasing, and the plane says so.
func TestSparkPlaneWhereKnockCuts(t *testing.T) {
	trim := trimOf(t, hillclimb, "open")
	trim.Fuel.KnockOctane = 88
	r, err := Solve("spark", trim, []float64{4500 * perRPM})
	require.NoError(t, err)
	require.Equal(t, airpath.Knock, r.Outcomes[0].Point.Limit)
	_, plane := sparks(t, r, 100e3, 150e3, 180e3, 240e3)
	base := plane.BaseTable()
	require.Contains(t, base.Notes, "At 4500 rpm the boost ends where even the latest CA50 accepted, 26.0 deg, begins to knock.")
	above := column(t, base, "above_full_load")
	assert.True(t, above[len(above)-1].Yes(), "what a control meets next to the edge")

	// Naturally aspirated there is no boost to cut.
	trim = trimOf(t, clubFour, "free")
	trim.Fuel.KnockOctane = 70
	r, err = Solve("spark", trim, []float64{2500 * perRPM})
	require.NoError(t, err)
	require.NotZero(t, r.Outcomes[0].Point.Notes&airpath.NoteKnockUnmet)
	_, plane = sparks(t, r, 40e3, 99e3)
	base = plane.BaseTable()
	assert.Contains(t, base.Notes, "At 2500 rpm full load knocks, and no phasing accepted mends it.")
	cells := column(t, base, "spark_advance_deg")
	assert.Empty(t, cells[0].Note())
	assert.Equal(t, noteUnmet, cells[1].Note())
	assert.Equal(t, table.Failed, cells[1].Tone())
}

// TestSparkEffects: directions that every tuner knows, and what one octane number more is worth in octane numbers.
func TestSparkEffects(t *testing.T) {
	r := solved(t, hillclimb, "open", 3500, 4500, 7000)
	s, _ := sparks(t, r, 40e3)
	effects, ok := s.Effects()
	require.True(t, ok)
	require.Len(t, effects.Rows, 8, "four changes at two speeds")
	spark, torque, octane := column(t, effects, "spark_change_deg"), column(t, effects, "torque_change_nm"), column(t, effects, "octane_change")
	for i := range 2 {
		at := spark[4*i : 4*i+4]
		assert.Positive(t, at[0].Number(), "more octane")
		assert.Negative(t, at[1].Number(), "a warmer charge")
		assert.Negative(t, at[2].Number(), "more compression")
		assert.Positive(t, at[3].Number(), "a richer, cooler charge")
		assert.Positive(t, torque[4*i].Number())
		assert.Negative(t, torque[4*i+1].Number())
		assert.InDelta(t, 1, octane[4*i].Number(), 0.02, "what the fuel needs at the best phasing is what it needed; the phasing is solved to 1e-5 of the knock limit")
	}
	assert.Equal(t, r.Outcomes[boost.Highest(r.Outcomes, func(p *airpath.Point) float64 { return p.Torque })].Speed, column(t, effects, "rpm")[0].Number())

	// Without a cooler it is the venue's air that warms, and takes its water along.
	na := solved(t, clubFour, "free", 5000)
	s, _ = sparks(t, na, 40e3)
	for _, c := range s.changes() {
		setup := na.Engine.Setup
		water := setup.Venue.WaterMoleFraction()
		c.apply(&setup, 5000*perRPM)
		assert.InDelta(t, water, setup.Venue.WaterMoleFraction(), 1e-9, c.name)
	}
	effects, ok = s.Effects()
	require.True(t, ok)
	assert.Len(t, effects.Rows, 4, "one speed")
}

// TestCoilByHand: 2.9 mH, 0.55 Ω, 12 V across the winding at 13.5 V, 8 A wanted.
//
//	t = −2.9 mH/0.55 Ω · ln(1 − 8 · 0.55/12) = 2.408 ms; ½ · 2.9 mH · 8² = 92.8 mJ
//	4π/(2.408 ms + 1.4 ms) = 3300 rad/s = 31510 rpm; at 6000 rpm 20 ms between sparks: duty 12.0 %, room 18.6 ms
func TestCoilByHand(t *testing.T) {
	r := solved(t, hillclimb, "open", 6000)
	over, ok := r.CoilVoltage()
	require.True(t, ok)
	volts := column(t, over, "supply_voltage_v")
	require.Len(t, volts, 4)
	for i, want := range []float64{14, 13.5, 12, 11} {
		assert.InDelta(t, want, volts[i].Number(), 1e-12)
	}
	at := func(tab table.Table, key string, row int) float64 { return column(t, tab, key)[row].Number() }
	assert.InDelta(t, 2.408e-3, at(over, "dwell_s", 1), 1e-6)
	assert.InDelta(t, 8, at(over, "coil_current_a", 1), 1e-9)
	assert.InDelta(t, 92.8e-3, at(over, "coil_energy_j", 1), 1e-6)
	assert.InDelta(t, 38e3, at(over, "available_voltage_v", 1), 1e-6)
	assert.InDelta(t, 31510*perRPM, at(over, "full_dwell_rpm", 1), 5*perRPM)
	speed, ok := r.CoilSpeed()
	require.True(t, ok)
	assert.InDelta(t, 18.6e-3, at(speed, "dwell_room_s", 0), 1e-9)
	assert.InDelta(t, 0.1204, at(speed, "coil_duty", 0), 1e-4)
	// Rising nearly straight to 8 A over 12 % of the time: a third of 8² A² times 0.55 Ω, and a little more since it bends.
	assert.InDelta(t, 0.1204*64/3*0.55, at(speed, "coil_heat_w", 0), 0.15*0.1204*64/3*0.55)
}

// TestGapByHand: the breakdown law at the spark's own pressure and temperature, and the widest gap put back into it.
func TestGapByHand(t *testing.T) {
	r := solved(t, hillclimb, "open", 4500)
	gap, ok := r.Gap()
	require.True(t, ok)
	at := func(key string) float64 { return column(t, gap, key)[0].Number() }
	delta := at("spark_pressure_pa") / 1e5 * 0.05 * 293.15 / at("spark_temperature_k") // bar cm, of 0.5 mm
	wanted := 24.36*delta + 6.72*math.Sqrt(delta)
	assert.InDelta(t, wanted, at("breakdown_voltage_v")/1e3, 1e-6)
	assert.InDelta(t, 1-wanted/38, at("voltage_margin"), 1e-9)
	widest := delta * at("widest_gap_m") / 0.5e-3
	assert.InDelta(t, 38*(1-kept), 24.36*widest+6.72*math.Sqrt(widest), 1e-6)

	r.Trim.Ignition.Gap = 0
	_, ok = r.Gap()
	assert.False(t, ok)
}

// TestSupplyVoltages: the spec's own among those of its system.
func TestSupplyVoltages(t *testing.T) {
	assert.Equal(t, []float64{14, 13.5, 12, 11}, supplyVoltages(13.5))
	assert.Equal(t, []float64{14, 12, 11}, supplyVoltages(14))
	assert.Equal(t, []float64{28, 27, 24, 22}, supplyVoltages(27))
	assert.Equal(t, []float64{14, 12, 11, 6}, supplyVoltages(6))
}

// TestJudgeSpark: what is well, what is only to be noted and what fails, each once.
func TestJudgeSpark(t *testing.T) {
	judge := func(name, trimName, path string, change func(trim *spec.Trim), speeds ...float64) map[string]check.Finding {
		trim := trimOf(t, path, trimName)
		change(trim)
		for i := range speeds {
			speeds[i] *= perRPM
		}
		r, err := Solve("check", trim, speeds)
		require.NoError(t, err, name)
		findings, err := r.JudgeSpark()
		require.NoError(t, err, name)
		byWhat := map[string]check.Finding{}
		for _, f := range findings {
			assert.NotContains(t, byWhat, f.What, name)
			byWhat[f.What] = f
		}
		return byWhat
	}
	const dwell, margin, octane = "coil has its full dwell up to", "ignition voltage margin", "octane number for full load"

	well := judge("as it is", "open", hillclimb, func(*spec.Trim) {}, 3000, 4500, 7000)
	require.Len(t, well, 2)
	assert.Equal(t, check.OK, well[dwell].Verdict)
	assert.Equal(t, check.OK, well[margin].Verdict)
	assert.InDelta(t, 4500*perRPM, well[margin].Speed, 1e-9, "where the gas is densest")
	assert.Contains(t, well[margin].Remark, "common practice, no source")

	one := judge("one coil for all", "open", hillclimb, func(trim *spec.Trim) { trim.Ignition.Coil.SparksPerCycle = 5 }, 4500)
	assert.Equal(t, check.Note, one[dwell].Verdict)
	assert.InDelta(t, 31510*perRPM/5, one[dwell].Value, perRPM)
	assert.Contains(t, one[dwell].Remark, "at the limiter the coil is charged for 1.68 ms instead of 2.41 ms") // 4π/(5 · 816.8 rad/s) − 1.4 ms

	never := judge("no time", "open", hillclimb, func(trim *spec.Trim) {
		trim.Ignition.Coil.SparksPerCycle, trim.Ignition.Coil.SparkTime = 5, 4e-3
	}, 4500)
	assert.Equal(t, check.Fail, never[dwell].Verdict)

	assert.Equal(t, check.Note, judge("wide gap", "open", hillclimb, func(trim *spec.Trim) { trim.Ignition.Gap = 0.6e-3 }, 4500)[margin].Verdict)
	assert.Equal(t, check.Fail, judge("far too wide", "open", hillclimb, func(trim *spec.Trim) { trim.Ignition.Gap = 0.9e-3 }, 4500)[margin].Verdict)
	assert.Empty(t, judge("no ignition", "open", hillclimb, func(trim *spec.Trim) { trim.Ignition = nil }, 4500))

	poor := judge("poor fuel", "open", hillclimb, func(trim *spec.Trim) { trim.Fuel.KnockOctane = 88 }, 2500, 4500)
	f := poor[octane]
	assert.Equal(t, check.Fail, f.Verdict)
	assert.InDelta(t, 4500*perRPM, f.Speed, 1e-9)
	assert.Greater(t, f.Limit, 88.5)
	// A fuel with that number just does it: the boost asked for, at the latest phasing.
	enough := trimOf(t, hillclimb, "open")
	enough.Fuel.KnockOctane = f.Limit * (1 + 1e-5)
	r, err := Solve("check", enough, []float64{4500 * perRPM})
	require.NoError(t, err)
	assert.Equal(t, airpath.Target, r.Outcomes[0].Point.Limit)
	assert.InDelta(t, enough.Engine.Combustion.LatestCA50, r.Outcomes[0].Point.CA50, 0.01*degree)

	assert.Equal(t, check.Fail, judge("naturally aspirated", "free", clubFour, func(trim *spec.Trim) { trim.Fuel.KnockOctane = 70 }, 2500)[octane].Verdict)
}

// BenchmarkPlane is the plane that the command computes by default: 22 speeds and 12 manifold pressures, and with them what the phasing would be
// without knock.
func BenchmarkPlane(b *testing.B) {
	trim := trimOf(b, hillclimb, "capped")
	r, err := Solve("spark", trim, boost.Speeds(1500*perRPM, 7800*perRPM, 300*perRPM))
	if err != nil {
		b.Fatal(err)
	}
	var pressures []float64
	for i := range 12 {
		pressures = append(pressures, 40e3+float64(i)*19e3)
	}
	b.ReportAllocs()
	for b.Loop() {
		s, err := r.Spark()
		if err != nil {
			b.Fatal(err)
		}
		p, err := s.Plane(pressures)
		if err != nil {
			b.Fatal(err)
		}
		if len(p.BaseTable().Rows) == 0 {
			b.Fatal("no points")
		}
	}
}
