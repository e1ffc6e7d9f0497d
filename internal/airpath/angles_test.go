package airpath

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/fuel"
	"bellmouth/internal/numeric"
)

// The delay is the one of its own spark: put back at that spark the flame gives the delay again, at light load too, where each moves the other much.
func TestDelayIsOfItsOwnSpark(t *testing.T) {
	s := aspirated()
	s.Combustion.IgnitionDelay = must(numeric.NewCurve([]float64{1000 * rpm, 7000 * rpm}, []float64{0.3, 0.3}))
	e := must(New(s))
	v := e.NewSolver()
	for _, pressure := range []float64{30e3, 40e3, 60e3, 90e3} {
		p, err := v.Solve(Demand{Speed: 1500 * rpm, Target: pressure, Throttled: true})
		require.NoError(t, err)
		_, spark := e.flames(&v.r, &v.b, v.ca50, v.angles)
		factor, _, err := v.r.base.delay.AngleFactor(spark)
		require.NoError(t, err)
		assert.InEpsilon(t, min(v.r.stated.delay*factor, longestDelay), p.IgnitionDelay, 1e-7, "%v Pa", pressure)
		assert.Equal(t, p.IgnitionDelay == longestDelay, p.Notes&NoteAngleLongest != 0)
	}
}

// What holds of a fuel at every point is said once: no burning velocity of its own, no knock delay of methanol.
func TestRemarksOfFuels(t *testing.T) {
	remarks := func(name string) string {
		s := invented()
		s.Fuel = must(fuel.Named(name))
		s.Fuel.Octane = 0
		if s.Fuel.Unrated {
			s.Fuel.Octane = 100
		}
		return strings.Join(must(New(s)).Remarks(), "\n")
	}
	assert.Contains(t, remarks("methanol"), "No knock delay of methanol")
	assert.Contains(t, remarks("nitromethane"), "No burning velocity of this fuel")
	assert.NotContains(t, remarks("ron98"), "No ")
}
