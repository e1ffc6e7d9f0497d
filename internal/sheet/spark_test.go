package sheet

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/render"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
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

// TestOctaneNeeded: the number shown is what the fuel has less what it has to spare at best CA50, and stands out where the fuel has too little. Both
// signed differences are there for scripts. The burn planes have the fuel's own number as a grid where it differs from point to point.
func TestOctaneNeeded(t *testing.T) {
	r := solved(t, hillclimb, "capped", 2500, 4500, 7500)
	s, p := sparks(t, r, 40e3, 120e3, 200e3)
	full := s.FullLoad()
	needed, has, spare := column(t, full, "best_octane_index"), column(t, full, "octane_index"), column(t, full, "best_octane_margin")
	for i := range full.Rows {
		assert.InDelta(t, has[i].Number()-spare[i].Number(), needed[i].Number(), 1e-9)
		assert.Equal(t, needed[i].Number() > has[i].Number(), needed[i].Tone() == table.Caution)
	}
	assert.Greater(t, needed[1].Number(), has[1].Number(), "knock holds the burn")
	assert.Less(t, needed[2].Number(), has[2].Number())
	burn := p.BurnPlanes()
	for i, own := range column(t, burn, "octane_index") {
		assert.InDelta(t, own.Number()-column(t, burn, "best_octane_margin")[i].Number(), column(t, burn, "best_octane_index")[i].Number(), 1e-9)
	}
	shown := func(of table.Table, key string) bool {
		for _, c := range of.Columns {
			if c.Key == key {
				return !c.Detail
			}
		}
		require.Fail(t, "no column", key)
		return false
	}
	for _, of := range []table.Table{full, burn} {
		assert.True(t, shown(of, "best_octane_index"))
		assert.False(t, shown(of, "best_octane_margin"))
		assert.False(t, shown(of, "octane_margin"))
	}
	assert.True(t, shown(full, "octane_index"))
	assert.True(t, shown(burn, "octane_index"), "a hot charge of light load makes less of the fuel")
	_, p = sparks(t, r, 120e3, 200e3)
	burn = p.BurnPlanes()
	assert.False(t, shown(burn, "octane_index"))
	assert.Contains(t, burn.Notes, fmt.Sprintf("The fuel's octane index is %.1f at every point.", has[0].Number()))
}

// TestFullLoadFitsOnePage: the table that a tuner takes the spark from is not broken at 100 columns.
func TestFullLoadFitsOnePage(t *testing.T) {
	for _, c := range [][2]string{{hillclimb, "open"}, {hillclimb, "capped"}, {clubFour, "free"}} {
		s, _ := sparks(t, solved(t, c[0], c[1], 2000, 5000, 7500), 40e3)
		var out strings.Builder
		require.NoError(t, render.Text(&out, table.Document{Command: "spark", Tables: []table.Table{s.FullLoad()}}, render.Options{Width: 100}))
		assert.NotContains(t, out.String(), "continued", c[1])
	}
}

// TestSparkPlaneWhereKnockCuts: with a fuel too poor for the target the boost ends at the latest CA50, and the plane says so.
func TestSparkPlaneWhereKnockCuts(t *testing.T) {
	trim := trimOf(t, hillclimb, "open")
	trim.Fuel.KnockOctane = 88
	r, err := Solve(t.Context(), "spark", trim, []float64{4500 * perRPM})
	require.NoError(t, err)
	require.Equal(t, airpath.Knock, r.Outcomes[0].Point.Limit)
	_, plane := sparks(t, r, 100e3, 150e3, 180e3, 240e3)
	base := plane.BaseTable()
	require.Contains(t, base.In(units.Metric).Notes, "At 4500 rpm the boost ends where even the latest CA50 accepted, 26.0 deg, begins to knock.")
	above := column(t, base, "above_full_load")
	assert.True(t, above[len(above)-1].Yes(), "what a control meets next to the edge")

	// Naturally aspirated there is no boost to cut.
	trim = trimOf(t, clubFour, "free")
	trim.Fuel.KnockOctane = 70
	r, err = Solve(t.Context(), "spark", trim, []float64{2500 * perRPM})
	require.NoError(t, err)
	require.NotZero(t, r.Outcomes[0].Point.Notes&airpath.NoteKnockUnmet)
	_, plane = sparks(t, r, 40e3, 99e3)
	base = plane.BaseTable()
	assert.Contains(t, base.In(units.Metric).Notes, "At 2500 rpm full load knocks at every CA50 accepted.")
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
	needed := column(t, effects, "best_octane_index_change")
	for i := range 2 {
		at := spark[4*i : 4*i+4]
		assert.Positive(t, at[0].Number(), "more octane")
		assert.Negative(t, at[1].Number(), "a warmer charge")
		assert.Negative(t, at[2].Number(), "more compression")
		assert.Positive(t, at[3].Number(), "a richer, cooler charge")
		assert.Positive(t, torque[4*i].Number())
		assert.Negative(t, torque[4*i+1].Number())
		assert.InDelta(t, 1, octane[4*i].Number(), 0.02, "the fuel's own number is what is added; CA50 is solved to 1e-5 of the knock limit")
		assert.InDelta(t, 0, needed[4*i].Number(), 0.02, "a better fuel is needed no more than before")
		assert.Positive(t, needed[4*i+1].Number(), "a warmer charge")
		assert.Positive(t, needed[4*i+2].Number(), "more compression")
		assert.Negative(t, needed[4*i+3].Number(), "a richer, cooler charge")
	}
	assert.Equal(t, r.Outcomes[boost.Highest(r.Outcomes, func(p *airpath.Point) float64 { return p.Torque })].Speed, column(t, effects, "rpm")[0].Number())

	// Without a cooler it is the venue's air that warms.
	na := solved(t, clubFour, "free", 5000)
	s, _ = sparks(t, na, 40e3)
	effects, ok = s.Effects()
	require.True(t, ok)
	assert.Len(t, effects.Rows, 4, "one speed")
	assert.Equal(t, "air 10 K warmer, as moist", column(t, effects.In(units.Metric), "change")[1].Text())
}

// TestCoilByHand: 2.9 mH, 0.55 Ω, 12 V across the winding at 13.5 V, 8 A needed.
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
	assert.Empty(t, over.Notes, "the dwell fits at every speed")
	slow := solved(t, hillclimb, "open", 6000)
	slow.Trim.Ignition.Coil.SparksPerCycle = 5
	cut, ok := slow.CoilVoltage()
	require.True(t, ok)
	assert.Equal(t, []string{"The limiter is at 7800 rpm: above the speed of the full dwell the coil is charged for less."}, cut.In(units.Metric).Notes)
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
	assert.InDelta(t, 38*(1-check.VoltageKept), 24.36*widest+6.72*math.Sqrt(widest), 1e-6)

	r.Trim.Ignition.Gap = 0
	_, ok = r.Gap()
	assert.False(t, ok)
}

// BenchmarkPlane is the plane that the command computes by default: 22 speeds and 12 manifold pressures, and with them where the burn would be
// without knock.
func BenchmarkPlane(b *testing.B) {
	trim := trimOf(b, hillclimb, "capped")
	r, err := Solve(b.Context(), "spark", trim, boost.Speeds(1500*perRPM, 7800*perRPM, 300*perRPM))
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
