package runtest

import (
	"testing"

	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
)

// WithSpread solves a trim of a spec file at engine speeds, rpm, with its manifold's spread changed.
func WithSpread(t testing.TB, path, name string, change func(s *spec.Spread), rpm ...float64) *run.Run {
	t.Helper()
	trim := spectest.Trim(t, path, name)
	m, s := *trim.Manifold, *trim.Manifold.Spread
	change(&s)
	m.Spread = &s
	trim.Manifold = &m
	return Solve(t, trim, rpm...)
}

// Flowing makes a spread one of flow.
func Flowing(flow ...float64) func(s *spec.Spread) {
	return func(s *spec.Spread) { s.Flow, s.Lambda, s.ExhaustTemperature = flow, nil, nil }
}
