package sheet

import (
	"maps"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/table"
)

// gateOf returns the gate of a trim over its whole speed range, the trim changed first, for its tables. Its figures are tested in run.
func gateOf(t testing.TB, name string, change func(trim *spec.Trim)) *Gate {
	t.Helper()
	trim := trimOf(t, hillclimb, name)
	if change != nil {
		change(trim)
	}
	step := 900.0 // rpm
	if *soak {
		step = 500
	}
	r, err := Solve(t.Context(), "wastegate", trim, boost.Speeds(1500*perRPM, 7800*perRPM, step*perRPM))
	require.NoError(t, err)
	g, err := r.Gate()
	require.NoError(t, err)
	return g
}

// The tables of boost controls that hold, creep, run away or have no balance are sound.
func TestTablesOfRandomBoostControls(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	engines := 7 // the points themselves are tested in the package that solves them, on more
	if *soak {
		engines = 60
	}
	for n := range engines {
		g := gateOf(t, []string{"open", "capped"}[n%2], spectest.RandomBoostControl(rng))
		doc := table.Document{Command: "wastegate", Tables: gateTables(t, g)}
		require.NoError(t, doc.Check(), "%d", n)
	}
}

// gateTables returns all tables of a gate.
func gateTables(t *testing.T, g *Gate) []table.Table {
	if !g.HasActuator() {
		return []table.Table{g.Valve()}
	}
	tables := []table.Table{g.Control(), g.Range(), g.Valve(), g.Sizing()}
	if g.Driven() {
		d, err := g.DutyRange()
		require.NoError(t, err)
		p, err := d.Over([]float64{0.3e5, 1e5, 3e5})
		require.NoError(t, err)
		tables = append(tables, d.Table(), p.Table())
	}
	return tables
}

// Tables are sound whatever the boost control is made of, and where points have no solution.
func TestGateTables(t *testing.T) {
	all := spectest.BoostControls()
	all["no actuator"] = func(trim *spec.Trim) { trim.Actuator, trim.Control = nil, nil }
	all["no pulsed valve"] = func(trim *spec.Trim) { trim.Control.Opening, trim.Control.Closing = nil, nil }
	all["small valve"] = func(trim *spec.Trim) { trim.Wastegate.Bore = 0.022 }
	all["far too small a valve"] = func(trim *spec.Trim) { trim.Wastegate.Bore = 0.008 }
	all["a very short stroke"] = func(trim *spec.Trim) { trim.Control.Actuator.Stroke = 0.0005 }
	all["no balance"] = func(trim *spec.Trim) {
		trim.Control.Actuator.ValveDiameter, trim.Control.Actuator.ExhaustShuts = 0.09, true
	}
	for i, name := range slices.Sorted(maps.Keys(all)) {
		change, trims := all[name], []string{"open", "capped"}
		if !*soak {
			trims = trims[i%2:][:1]
		}
		for _, trim := range trims {
			doc := table.Document{Command: "wastegate", Tables: gateTables(t, gateOf(t, trim, change))}
			assert.NoError(t, doc.Check(), "%s, %s", name, trim)
		}
	}
	r := solved(t, hillclimb, "capped", 2000, 4000)
	for i := range r.Outcomes {
		r.Outcomes[i].Err = &airpath.PointError{Speed: r.Outcomes[i].Speed, Stage: "turbine", Reason: "no expansion ratio drives the compressor"}
		g, err := r.Gate()
		require.NoError(t, err)
		doc := table.Document{Command: "wastegate", Tables: gateTables(t, g)}
		assert.NoError(t, doc.Check())
	}
}

// TestSizingOutOfReach: a stroke too short for every point is said once, and in the tuner's words.
func TestSizingOutOfReach(t *testing.T) {
	trim := trimOf(t, hillclimb, "capped")
	trim.Control.Actuator.Stroke = 0.5e-3
	r, err := Solve(t.Context(), "wastegate", trim, []float64{5000 * perRPM})
	require.NoError(t, err)
	g, err := r.Gate()
	require.NoError(t, err)
	assert.Equal(t, "The preload that suits is not known: no solved point lies within the actuator's stroke and short of wide open.", g.Sizing().Notes[0])
}
