package sheet

import (
	"flag"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
	"bellmouth/internal/render"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/table"
	"bellmouth/internal/units"
)

var soak = flag.Bool("soak", false, "draw as many engines as takes a minute")

const (
	perRPM    = spectest.PerRPM
	hillclimb = spectest.Hillclimb
	clubFour  = spectest.ClubFour
)

func trimOf(t testing.TB, path, name string) *spec.Trim {
	t.Helper()
	return spectest.Trim(t, path, name)
}

func solved(t testing.TB, path, name string, speeds ...float64) *Run {
	t.Helper()
	for i := range speeds {
		speeds[i] *= perRPM
	}
	r, err := Solve(t.Context(), "sheet", trimOf(t, path, name), speeds)
	require.NoError(t, err)
	return r
}

// tables returns all tables of a run.
func tables(t testing.TB, r *Run) []table.Table {
	t.Helper()
	findings, err := r.Judge()
	require.NoError(t, err)
	all := []table.Table{r.Summary(nil), r.Points(), r.Filling(), r.Combustion(), r.Energy(), r.Fuel(), r.Checks(findings), FuelProperties(r.Trim),
		Air(r.Trim, ""), Geometry(r.Trim, "")}
	if r.Forced() {
		all = append(all, r.Compressor(), r.Turbine())
	}
	if r.Trim.Intake.Restrictor != nil {
		limit, err := r.Restrictor()
		require.NoError(t, err)
		loss, err := r.RestrictorLoss()
		require.NoError(t, err)
		all = append(all, limit, loss)
		if choke, ok := r.ChokeBoost(); ok {
			all = append(all, choke)
		}
	}
	if s, ok := r.Closed(); ok {
		all = append(all, s)
	}
	if s, ok := InjectorSets(r.Trim); ok {
		all = append(all, s)
	}
	return all
}

// TestTablesAreSound holds keys, titles and units of every table, with and without compressor, restrictor and solution.
func TestTablesAreSound(t *testing.T) {
	lost := solved(t, hillclimb, "capped", 2000, 4000, 6000)
	lost.Outcomes[1].Err = &airpath.PointError{Speed: lost.Outcomes[1].Speed, Stage: "turbine", Reason: "no expansion ratio drives the compressor"}
	none := solved(t, hillclimb, "capped", 2000)
	none.Outcomes[0].Err = lost.Outcomes[1].Err
	for name, r := range map[string]*Run{
		"open": solved(t, hillclimb, "open", 2000, 6000), "capped": solved(t, hillclimb, "capped", 2000, 6000),
		"free": solved(t, clubFour, "free", 2000, 6000), "restricted": solved(t, clubFour, "restricted", 2000, 8000),
		"a point lost": lost, "nothing solved": none,
	} {
		doc := table.Document{Command: "sheet", Tables: tables(t, r)}
		assert.NoError(t, doc.Check(), name)
		assert.NoError(t, render.Text(discard{}, doc, render.Options{}), name)
	}
}

type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

// TestLostPoint: what is known of a point without a solution is printed, and why there is no more.
func TestLostPoint(t *testing.T) {
	r := solved(t, hillclimb, "capped", 2000, 4000)
	r.Outcomes[1].Err = &airpath.PointError{Speed: r.Outcomes[1].Speed, Stage: "turbine", Reason: "no expansion ratio drives the compressor"}
	require.Len(t, r.Unsolved(), 1)
	assert.Equal(t, `trim "capped", 4000 rpm: turbine: no expansion ratio drives the compressor`, units.Resolve(r.Unsolved()[0].Error(), units.Metric))
	points := r.Points()
	for i, c := range points.Columns {
		cell := points.Rows[1][i]
		switch c.Key {
		case "rpm", "target_boost_pa":
			assert.Equal(t, table.NumberCell, cell.Content(), c.Key)
		case "limit":
			assert.Equal(t, noSolution, cell.Text())
		case "limits":
			assert.Equal(t, []string{noSolution}, cell.List())
			assert.Equal(t, `no solution: trim "capped", 4000 rpm: turbine: no expansion ratio drives the compressor`, units.Resolve(cell.Note(), units.Metric))
		default:
			assert.Equal(t, table.NoValue, cell.Content(), c.Key)
		}
	}
}

// TestWayOfALostPoint: the exhaust of a point without a solution has no temperatures.
func TestWayOfALostPoint(t *testing.T) {
	r := solved(t, clubFour, "free", 2000, 4000)
	r.Outcomes[1].Err = &airpath.PointError{Speed: r.Outcomes[1].Speed, Stage: "manifold", Reason: "none"}
	way, ok := r.WayOut()
	require.True(t, ok)
	require.NoError(t, way.Check())
	p := &r.Outcomes[0].Point
	assert.Equal(t, p.ValveTemperature, at(t, way, 0, "exhaust_valve_temperature_k").Number())
	assert.Equal(t, p.TurbineInletTemperature, at(t, way, 0, "turbine_inlet_temperature_k").Number())
	for _, key := range []string{"exhaust_valve_temperature_k", "exhaust_heat_w", "exhaust_wall_temperature_k", "turbine_inlet_temperature_k", "probe_reading_k"} {
		assert.Equal(t, "no solution at this speed", at(t, way, 1, key).Note())
	}
}

// TestPistonSpeedPastItsLimit: the table marks what the check fails, and a tenth of a per mille still counts as on the limit.
func TestPistonSpeedPastItsLimit(t *testing.T) {
	trim := trimOf(t, clubFour, "free")
	n := trim.Engine.Limiter
	mean := 2 * trim.Engine.Cylinder.Stroke * n / (2 * math.Pi) // m/s, without pin offset
	for share, want := range map[float64]table.Tone{0.9998: table.Failed, 0.99995: table.Plain, 1.1: table.Plain, 0: table.Plain} {
		trim.Limits.MeanPistonSpeed = mean * share
		assert.Equal(t, want, at(t, PistonMotion(trim, []float64{n}, ""), 0, "mean_piston_speed_m_s").Tone(), "%v", share)
	}
}

// TestUseOfTheRange: the full load that takes most fuel is looked for between the speeds asked for too.
func TestUseOfTheRange(t *testing.T) {
	peaky := func(trim *spec.Trim) {
		target, err := numeric.NewCurve([]float64{3000 * perRPM, 5000 * perRPM, 7500 * perRPM}, []float64{0.5e5, 1.4e5, 0.5e5})
		require.NoError(t, err)
		trim.Boost.Target = target
	}
	use := func(rpm ...float64) (flow, speed float64) {
		r := altered(t, hillclimb, "open", peaky, rpm...)
		made, tank := r.FuelUse(), r.Review().Feed()
		assert.Equal(t, at(t, made, 0, "fuel_use_m3").Number(), tank[len(tank)-1].Limit, "the tank is judged by the same")
		return at(t, made, 0, "full_load_use_m3_s").Number(), at(t, made, 0, "full_load_use_rpm").Number() / perRPM
	}
	flow, speed := use(3500, 4500, 6500, 7500)
	most, where := use(steps(4500, 6500, 20)...)
	assert.Greater(t, speed, 4600.0)
	assert.Less(t, speed, 6400.0)
	assert.InDelta(t, where, speed, 100, "a flat top")
	assert.InEpsilon(t, most, flow, 1e-3)
}

// TestOnset: found between the speeds, and true on its two sides.
func TestOnset(t *testing.T) {
	r := solved(t, hillclimb, "capped", 3000, 6000)
	chokes := func(o *boost.Outcome) bool { return o.Point.Limits.Has(airpath.Restrictor) }
	c := r.onset(chokes, "never")
	require.Equal(t, table.NumberCell, c.Content())
	at := c.Number() / perRPM
	assert.Empty(t, c.Note())
	sides := solved(t, hillclimb, "capped", at-6, at)
	assert.False(t, chokes(&sides.Outcomes[0]))
	assert.True(t, chokes(&sides.Outcomes[1]))
	never := func(*boost.Outcome) bool { return false }
	always := func(*boost.Outcome) bool { return true }
	assert.Equal(t, "never", r.onset(never, "never").Note())
	assert.InDelta(t, 3000*perRPM, r.onset(always, "never").Number(), 1e-9)
	assert.NotEmpty(t, r.onset(always, "never").Note(), "it may hold below the lowest speed too")
}

// BenchmarkSheet is a trim from its parts to all its tables: 14 speeds.
func BenchmarkSheet(b *testing.B) {
	trim := trimOf(b, hillclimb, "capped")
	speeds := boost.Speeds(1500*perRPM, 7800*perRPM, 500*perRPM)
	b.ReportAllocs()
	for b.Loop() {
		r, err := Solve(b.Context(), "sheet", trim, speeds)
		if err != nil {
			b.Fatal(err)
		}
		if len(tables(b, r)) == 0 {
			b.Fatal("no tables")
		}
	}
}

// TestEnergyAddsUp: first law, from the printed shares.
func TestEnergyAddsUp(t *testing.T) {
	for _, r := range []*Run{solved(t, hillclimb, "capped", 2500, 6500), solved(t, clubFour, "free", 2500, 6500)} {
		energy := r.Energy()
		for _, row := range energy.Rows {
			sum := 0.0
			for i, c := range energy.Columns {
				switch c.Key {
				case "rpm", "fuel_power_w":
				case "sensible_share":
					sum -= row[i].Number()
				default:
					sum += row[i].Number()
				}
			}
			assert.InDelta(t, 1, sum, 1e-5, "the solver closes the balance to 1e-6 of the fuel's energy")
		}
	}
}

// TestHead: what differs between trims is not printed as if it held for all.
func TestHead(t *testing.T) {
	s, err := spec.Load(hillclimb)
	require.NoError(t, err)
	a, b := trimOf(t, hillclimb, "open"), trimOf(t, hillclimb, "capped")
	has := func(h table.Table, key string) bool {
		for _, c := range h.Columns {
			if c.Key == key {
				return true
			}
		}
		return false
	}
	same := Head(s, []*spec.Trim{a, b})
	assert.True(t, has(same, "pressure_pa") && has(same, "displacement_m3"))
	assert.Empty(t, same.Notes)
	b.Venue.Temperature += 10
	b.Engine.Cylinder.CompressionRatio++
	differ := Head(s, []*spec.Trim{a, b})
	assert.False(t, has(differ, "pressure_pa") || has(differ, "displacement_m3"))
	assert.Len(t, differ.Notes, 2)
}

// TestDefaults: each default once, with the trims that rest on it.
func TestDefaults(t *testing.T) {
	a, b := trimOf(t, hillclimb, "open"), trimOf(t, hillclimb, "capped")
	d, ok := Defaults([]*spec.Trim{a, b})
	require.True(t, ok)
	assert.Len(t, d.Rows, len(a.Defaults)+1)
	assert.Equal(t, "intake.restrictor.count", d.Rows[len(a.Defaults)][0].Text())
	assert.Equal(t, []string{"capped"}, d.Rows[len(a.Defaults)][3].List(), "the open trim has no restrictor")
	assert.Equal(t, []string{"open", "capped"}, d.Rows[0][3].List())
	_, ok = Defaults([]*spec.Trim{{Name: "x"}})
	assert.False(t, ok)
}
