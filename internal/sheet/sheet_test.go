package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/render"
	"bellmouth/internal/restrictor"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spec"
	"bellmouth/internal/table"
)

const perRPM = math.Pi / 30

func trimOf(t testing.TB, path, name string) *spec.Trim {
	t.Helper()
	return runtest.Trim(t, path, name)
}

const (
	hillclimb = runtest.Hillclimb
	clubFour  = runtest.ClubFour
)

func solved(t testing.TB, path, name string, speeds ...float64) *Run {
	t.Helper()
	for i := range speeds {
		speeds[i] *= perRPM
	}
	r, err := Solve("sheet", trimOf(t, path, name), speeds)
	require.NoError(t, err)
	return r
}

// tables returns all tables of a run.
func tables(t testing.TB, r *Run) []table.Table {
	t.Helper()
	findings, err := r.Judge()
	require.NoError(t, err)
	all := []table.Table{r.Summary(nil), r.Points(), r.Filling(), r.Combustion(), r.Energy(), r.Fuel(), r.Checks(findings), FuelProperties(r.Trim), Air(r.Trim, ""), Geometry(r.Trim, "")}
	if r.Forced() {
		all = append(all, r.Compressor(), r.Turbine())
	}
	if r.Trim.Intake.Restrictor != nil {
		limit, err := r.Restrictor()
		require.NoError(t, err)
		loss, err := r.RestrictorLoss()
		require.NoError(t, err)
		all = append(all, limit, loss, r.ChokeBoost())
	}
	if s, ok := r.Shut(); ok {
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
	assert.EqualError(t, r.Unsolved()[0], `trim "capped", 4000 rpm: turbine: no expansion ratio drives the compressor`)
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
			assert.Equal(t, `no solution: trim "capped", 4000 rpm: turbine: no expansion ratio drives the compressor`, cell.Note())
		default:
			assert.Equal(t, table.NoValue, cell.Content(), c.Key)
		}
	}
}

// TestChoked: the filter's loss and the throat's flow, each by its own formula, agree at the state found.
func TestChoked(t *testing.T) {
	for path, trim := range map[string]string{hillclimb: "capped", clubFour: "restricted"} {
		r := solved(t, path, trim, 5000)
		th, err := r.choked()
		require.NoError(t, err)
		v := r.Trim.Venue
		loss := r.Trim.Intake.FilterLossCoefficient * th.MaxFlow * th.MaxFlow * v.Temperature / v.Pressure
		// Where the discharge coefficient goes by Reynolds number it moves a little with the pressure: 1e-6 of the loss's change.
		assert.InDelta(t, v.Pressure-loss, th.up.Pressure, 0.5, trim)
		assert.Greater(t, loss, 100.0, "a filter that loses something is needed to prove it")
	}
}

// TestChokedPoint: the most air of the restrictor's table is what the solved engine takes where the throat chokes; the
// two come by different ways.
func TestChokedPoint(t *testing.T) {
	r := solved(t, hillclimb, "capped", 7000)
	require.Equal(t, airpath.Restrictor, r.Outcomes[0].Point.Limit)
	th, err := r.choked()
	require.NoError(t, err)
	assert.InEpsilon(t, th.MaxFlow, r.Outcomes[0].Point.AirFlow, 1e-4)
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

// TestSetup: what is missing is named, with what asked for it.
func TestSetup(t *testing.T) {
	read := func(text string) *spec.Trim {
		s, err := spec.Read("x.yaml", []byte(text), nil)
		require.NoError(t, err)
		trim, err := s.Trim(spec.BaseTrim)
		require.NoError(t, err)
		return &trim
	}
	_, err := run.Setup("boost", read("engine: {cylinders: 4, bore: 86 mm, stroke: 86 mm, rod: 146 mm, compression_ratio: 10, limiter: 7000 rpm}\n"))
	require.Error(t, err)
	for _, part := range []string{"boost needs", "engine.valves", "engine.volumetric_efficiency", "the section fuel"} {
		assert.ErrorContains(t, err, part)
	}
	var bad *spec.Error
	assert.ErrorAs(t, err, &bad)

	s, err := run.Setup("boost", trimOf(t, hillclimb, "capped"))
	require.NoError(t, err)
	assert.Equal(t, &restrictor.Restrictor{Bore: 0.038, Discharge: 0.97, Recovery: 0.8}, s.Restrictor)
	assert.InDelta(t, 0.9, s.Injection.AllowedDuty, 1e-12)
	assert.False(t, s.Injection.Fixed)
	assert.InDelta(t, 4e5, s.Injection.RailPressure, 1e-6)

	n, err := run.Setup("sheet", trimOf(t, clubFour, "free"))
	require.NoError(t, err)
	assert.Nil(t, n.Compressor)
	assert.Nil(t, n.Restrictor)
	assert.True(t, n.Injection.Fixed)
}

// BenchmarkSheet is a trim from its parts to all its tables: 14 speeds.
func BenchmarkSheet(b *testing.B) {
	trim := trimOf(b, hillclimb, "capped")
	speeds := boost.Speeds(1500*perRPM, 7800*perRPM, 500*perRPM)
	b.ReportAllocs()
	for b.Loop() {
		r, err := Solve("sheet", trim, speeds)
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
	assert.Len(t, d.Rows, len(a.Defaults))
	assert.Equal(t, []string{"open", "capped"}, d.Rows[0][3].List())
	_, ok = Defaults([]*spec.Trim{{Name: "x"}})
	assert.False(t, ok)
}
