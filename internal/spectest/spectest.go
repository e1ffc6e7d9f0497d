// Package spectest serves tests: the trims of the example specs, loaded and altered.
package spectest

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"bellmouth/internal/spec"
	"bellmouth/internal/supply"
)

// PerRPM is an engine speed of 1 rpm, rad/s.
const PerRPM = math.Pi / 30

// LitreAnHour is a volume flow of 1 L/h, m³/s.
const LitreAnHour = 1e-3 / 3600

// The example specs, as seen from a package under internal.
const (
	Hillclimb = "../../examples/hillclimb.yaml"
	ClubFour  = "../../examples/club-four.yaml"
)

// CopyFiles copies the files that the example specs name, maps and courses, into a folder.
func CopyFiles(t testing.TB, folder string) {
	t.Helper()
	from := filepath.Dir(Hillclimb)
	files, err := filepath.Glob(filepath.Join(from, "*.csv"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(folder, filepath.Base(file)), data, 0o644))
	}
}

// Trim returns a trim of a spec file.
func Trim(t testing.TB, path, name string) *spec.Trim {
	t.Helper()
	s, err := spec.Load(path)
	require.NoError(t, err)
	trim, err := s.Trim(name)
	require.NoError(t, err)
	return &trim
}

// Speeds returns engine speeds, rad/s, from one to another, rpm, in steps of so many.
func Speeds(from, to, step float64) []float64 {
	var speeds []float64
	for n := from; n <= to; n += step {
		speeds = append(speeds, n*PerRPM)
	}
	return speeds
}

// Pump returns a pump tested at 12 V by its flows, L/h, at pressures, bar.
func Pump(t testing.TB, flowAt map[float64]float64, pressures ...float64) *supply.Pump {
	t.Helper()
	test := supply.Test{Voltage: 12}
	for _, p := range pressures {
		test.Points = append(test.Points, supply.Point{Rise: p * 1e5, Flow: flowAt[p] * LitreAnHour})
	}
	made, err := supply.NewPump([]supply.Test{test})
	require.NoError(t, err)
	return made
}

// FitPumps gives a trim other pumps and nothing but them.
func FitPumps(trim *spec.Trim, pumps supply.Source) {
	sup := *trim.Supply
	sup.System = supply.System{Pumps: pumps}
	sup.Lift = nil
	trim.Supply = &sup
}
