package sheet

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/airpath"
	"bellmouth/internal/numeric"
	"bellmouth/internal/refdata"
	"bellmouth/internal/spec"
)

// measured returns the engine of testdata/engines/aspirated-1900.yaml. Its inputs were written down before the first comparison.
func measured(t testing.TB) (*airpath.Engine, airpath.Setup) {
	s, err := spec.Load("../../testdata/engines/aspirated-1900.yaml")
	require.NoError(t, err)
	trim, err := s.Trim(spec.BaseTrim)
	require.NoError(t, err)
	setup, err := Setup("boost", &trim)
	require.NoError(t, err)
	e, err := airpath.New(setup)
	require.NoError(t, err)
	return e, setup
}

func TestMeasuredAspirated(t *testing.T) {
	e, _ := measured(t)
	v := e.NewSolver()
	var sum, square float64
	count := 0
	for _, row := range refdata.Read(t, "measured_engine_1900.csv") {
		speed := row.F(t, "speed_rpm") * math.Pi / 30
		bmep := row.F(t, "bmep_bar") * 1e5
		if row["full_load"] == "1" {
			continue
		}
		var p airpath.Point
		root, err := numeric.FindRoot(func(pm float64) float64 {
			var err error
			p, err = v.Solve(airpath.Demand{Speed: speed, Target: pm, Throttled: true})
			if err != nil {
				t.Fatal(row, pm, err)
			}
			return p.BMEP - bmep
		}, 15e3, 98e3, 1)
		if err != nil {
			fmt.Println(row, err)
			continue
		}
		_ = root
		got := p.Consumption * 3.6e9
		d := got/row.F(t, "bsfc_g_kwh") - 1
		fmt.Printf("%5.0f %4.0f bar: %6.1f of %6.1f  %+5.1f %%  pm %.1f kPa FMEP %.2f PMEP %.2f IMEP %.2f T3 %.0f K burn %.0f spark %.1f resid %.3f heat %.3f lambda %.2f ve %.2f knock %.2f CA50 %.1f\n", speed*30/math.Pi, bmep/1e5, got, row.F(t, "bsfc_g_kwh"), 100*d,
			p.ManifoldPressure/1e3, p.FMEP/1e5, p.PMEP/1e5, p.IMEP/1e5, p.TurbineInletTemperature, p.BurnAngle*180/math.Pi, -p.SparkAngle*180/math.Pi, p.ResidualFraction, p.CylinderHeat/p.Energy.Fuel, p.Lambda, p.VolumetricEfficiency, p.KnockIntegral, p.CA50*57.3)
		sum += d
		square += d * d
		count++
	}
	fmt.Printf("mean %.1f %% rms %.1f %%\n", 100*sum/float64(count), 100*math.Sqrt(square/float64(count)))
	for _, n := range []float64{1000, 2000, 3000, 4000, 4800, 5500, 6000} {
		p, err := v.Solve(airpath.Demand{Speed: n * math.Pi / 30, Target: math.Inf(1)})
		assert.NoError(t, err)
		fmt.Printf("%v: %.1f Nm %.1f kW bsfc %.0f pm %.1f p3 %.1f IMEP %.2f PMEP %.2f FMEP %.2f T3 %.0f spark %.1f burn %.0f CA50 %.1f K %.2f heat %.3f closes %.3f %v\n", n, p.Torque, p.Power/1e3, p.Consumption*3.6e9, p.ManifoldPressure/1e3, p.TurbineInletPressure/1e3, p.IMEP/1e5, p.PMEP/1e5, p.FMEP/1e5, p.TurbineInletTemperature, -p.SparkAngle*57.3, p.BurnAngle*57.3, p.CA50*57.3, p.KnockIntegral, p.CylinderHeat/p.Energy.Fuel, p.ClosingRatio, p.Notes.Texts())
	}
}
