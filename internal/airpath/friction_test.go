package airpath

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/friction"
)

// A point's friction is that of its own speed, pressures and engine, worked here from the published sum, and from the component
// model's gas term alone: the state with less boost differs by it.
func TestFrictionOfAPoint(t *testing.T) {
	s := unrestricted()
	chenFlynn := friction.PublishedChenFlynn()
	s.Friction = friction.Choice{ChenFlynn: &chenFlynn, Factor: 0.8}
	p := solved(t, s, 5000*rpm, 120e3)
	up := 2 * 0.082 * 5000 / 60 // mean piston speed, m/s
	assert.InEpsilon(t, 0.8*(0.137e5+0.005*p.PeakPressure+0.162e5*up), p.FMEP, 1e-12)
	assert.InDelta(t, p.IMEP-p.PMEP-p.FMEP, p.BMEP, 1e-6)
	assert.Zero(t, p.Notes&(NoteFrictionSpeed|NoteFrictionBoost|NoteFrictionHeld))

	s = unrestricted()
	high, low := solved(t, s, 5000*rpm, 120e3), solved(t, s, 5000*rpm, 40e3)
	// 6.89 (0.088 rc + 0.182 rc^(1.33 − 0.0238 Sp)) kPa for each multiple of the venue's pressure: SAE 2003-01-0725, from memory.
	perRatio := 6.89e3 * (0.088*8.6 + 0.182*math.Pow(8.6, 1.33-0.0238*up))
	assert.InEpsilon(t, perRatio*(high.ManifoldPressure-low.ManifoldPressure)/s.Venue.Pressure, high.FMEP-low.FMEP, 1e-6)
	s.Friction.Factor = 2
	assert.InEpsilon(t, 2*high.FMEP, solved(t, s, 5000*rpm, 120e3).FMEP, 1e-9)
}

// A point says in what its friction is extrapolated.
func TestFrictionNotes(t *testing.T) {
	for _, at := range []struct {
		s     Setup
		speed float64
		want  Note
	}{
		{aspirated(), 5000, 0}, {aspirated(), 6500, NoteFrictionSpeed}, {unrestricted(), 5000, NoteFrictionBoost},
		{unrestricted(), 6500, NoteFrictionSpeed | NoteFrictionBoost},
	} {
		p := solved(t, at.s, at.speed*rpm, 100e3)
		got := p.Notes & (NoteFrictionSpeed | NoteFrictionBoost | NoteFrictionHeld)
		assert.Equal(t, at.want, got, "%v rpm", at.speed)
		for _, text := range got.Texts() {
			assert.Contains(t, text, "friction extrapolated")
		}
	}
}

func TestFrictionRefused(t *testing.T) {
	s := invented()
	s.Friction.Components.MainBearings.Diameter = 54
	_, err := New(s)
	var bad *SetupError
	require.ErrorAs(t, err, &bad)
	assert.ErrorContains(t, err, "main bearing diameter is 54")
}
