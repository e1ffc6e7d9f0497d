package supply_test

import (
	"math"
	"testing"

	"bellmouth/internal/supply"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestUseByHand(t *testing.T) {
	// Half of the time at 180 l/h, 30 % at 60 l/h, a fifth shut: 108 l/h. A stage of 150 s takes 4.5 l.
	profile := []supply.Phase{{0.5, 180 * litre}, {0.3, 60 * litre}, {0.2, 0}}
	mean, err := supply.MeanFlow(profile)
	require.NoError(t, err)
	assert.InEpsilon(t, 108*litre, mean, 1e-12)
	use, err := supply.Use(profile, 150)
	require.NoError(t, err)
	assert.InEpsilon(t, 4.5e-3, use, 1e-12)

	// 40 l with 4 l not counted on: 36 l last 1200 s, and are 8 stages.
	tank := supply.Tank{Volume: 40e-3, Reserve: 4e-3}
	lasts, err := tank.Time(mean)
	require.NoError(t, err)
	assert.InEpsilon(t, 1200, lasts, 1e-12)
	runs, err := tank.Runs(use)
	require.NoError(t, err)
	assert.Equal(t, 8, runs)
	runs, err = tank.Runs(use * 1.001)
	require.NoError(t, err)
	assert.Equal(t, 7, runs)
}

func TestUseRefusals(t *testing.T) {
	for _, p := range []struct {
		profile []supply.Phase
		want    string
	}{
		{nil, "duty profile has no phases"},
		{[]supply.Phase{{0.5, 1e-5}, {0.4, 0}}, "shares of time in the duty profile add up to 0.9; want 1"},
		{[]supply.Phase{{1.5, 1e-5}}, "phase 1 of the duty profile: share of time is 1.5; want 0 to 1"},
		{[]supply.Phase{{1, math.NaN()}}, "phase 1 of the duty profile: fuel flow is NaN m³/s; want 0 or more"},
	} {
		_, err := supply.MeanFlow(p.profile)
		assert.EqualError(t, err, p.want)
		_, err = supply.Use(p.profile, 100)
		assert.EqualError(t, err, p.want)
	}
	_, err := supply.Use([]supply.Phase{{1, 1e-5}}, 0)
	assert.EqualError(t, err, "duration is 0 s; want more than 0")
	for _, p := range []struct {
		tank supply.Tank
		want string
	}{
		{supply.Tank{}, "tank volume is 0 m³; want more than 0"},
		{supply.Tank{Volume: 0.04, Reserve: 0.04}, "tank reserve is 0.04 m³; want 0 or more and less than the tank's 0.04 m³"},
	} {
		_, err := p.tank.Time(1e-5)
		assert.EqualError(t, err, p.want)
		_, err = p.tank.Runs(1e-3)
		assert.EqualError(t, err, p.want)
	}
	_, err = supply.Tank{Volume: 0.04}.Time(0)
	assert.EqualError(t, err, "fuel flow is 0 m³/s; want more than 0")
	for _, use := range []float64{0, -1, math.NaN(), 1e-300} {
		_, err = supply.Tank{Volume: 0.04}.Runs(use)
		assert.ErrorContains(t, err, "fuel of a run is")
	}
}
