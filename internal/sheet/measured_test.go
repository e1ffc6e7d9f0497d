package sheet

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/numeric"
	"bellmouth/internal/refdata"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
)

// measured returns the engine of testdata/engines/aspirated-1900.yaml: what its source gives, and generic breathing that was written down
// before the first comparison and not changed since. What is not there is the program's default.
func measured(t testing.TB) *airpath.Solver {
	s, err := spec.Load("../../testdata/engines/aspirated-1900.yaml")
	require.NoError(t, err)
	trim, err := s.Trim(spec.BaseTrim)
	require.NoError(t, err)
	setup, err := run.Setup("boost", &trim)
	require.NoError(t, err)
	e, err := airpath.New(setup)
	require.NoError(t, err)
	return e.NewSolver()
}

// Brake specific fuel consumption of a measured production engine at part load: SAE 910676 (1991), fig. 4. Published part-load maps of such
// engines differ by more from each other than the mean asked for here.
//
// The scatter is that of the map as much as the model's. At 1 bar it asks for losses that fall from 1500 to 3500 rpm and are back at 5000 rpm,
// which no friction law gives: those rows are off by up to 35 %. Without them the scatter is 6 %. A straight line of fuel over BMEP at every
// speed, its loss a quadratic of the speed and all four constants fitted to the map itself, still leaves 4.3 %.
func TestMeasuredConsumption(t *testing.T) {
	v := measured(t)
	var all, loaded deviation
	for _, row := range refdata.Read(t, "measured_engine_1900.csv") {
		if row["full_load"] == "1" {
			continue
		}
		speed, bmep := row.F(t, "speed_rpm")*perRPM, row.F(t, "bmep_bar")*1e5
		var p airpath.Point
		_, err := numeric.FindRoot(func(pm float64) float64 {
			var err error
			p, err = v.Solve(airpath.Demand{Speed: speed, Target: pm, Throttled: true})
			require.NoError(t, err)
			return p.BMEP - bmep
		}, 15e3, 98e3, 1)
		require.NoError(t, err, "%v", row)
		d := p.Consumption*3.6e9/row.F(t, "bsfc_g_kwh") - 1
		all.add(d)
		if row["bmep_bar"] != "1" {
			loaded.add(d)
		}
	}
	t.Logf("all %v, from 2 bar on %v", all, loaded)
	assert.Greater(t, all.n, 90)
	assert.InDelta(t, 0, all.mean(), 0.04)
	assert.Less(t, loaded.rms(), 0.07)
	assert.Less(t, all.rms(), 0.085)
}

// Full load of the same engine: 165 Nm at 4800 rpm and 95 kW at 6000 rpm. The torque hangs on the filling, which is a guess here; the consumption
// at full load does not.
func TestMeasuredFullLoad(t *testing.T) {
	v := measured(t)
	at := func(n float64) airpath.Point {
		p, err := v.Solve(airpath.Demand{Speed: n * perRPM, Target: math.Inf(1)})
		require.NoError(t, err)
		return p
	}
	assert.InEpsilon(t, 165, at(4800).Torque, 0.05)
	assert.InEpsilon(t, 95e3, at(6000).Power, 0.06)
	// Measured at full load: 275 g/kWh at 4500 rpm, 284 at 5000 rpm, 292 at 6000 rpm.
	for n, want := range map[float64]float64{4500: 275.4, 5000: 284.4, 6000: 291.6} {
		assert.InEpsilon(t, want, at(n).Consumption*3.6e9, 0.065, "%v rpm", n)
	}
}

// A deviation gathers relative differences.
type deviation struct {
	sum, square float64
	n           int
}

func (d *deviation) add(x float64) {
	d.sum, d.square, d.n = d.sum+x, d.square+x*x, d.n+1
}

func (d *deviation) mean() float64 { return d.sum / float64(d.n) }
func (d *deviation) rms() float64  { return math.Sqrt(d.square / float64(d.n)) }
