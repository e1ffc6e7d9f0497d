package check

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/runtest"
	"bellmouth/internal/spectest"
)

func bottomOf(t *testing.T, change func(l *limits)) map[string]Finding {
	trim := spectest.Trim(t, spectest.Hillclimb, "open")
	change(&limits{&trim.Limits.RodTension, &trim.Limits.RodCompression, &trim.Limits.CrankPinPressure, &trim.Limits.RodBoltMargin, &trim.Limits.HeadClampMargin})
	found := map[string]Finding{}
	for _, f := range At(runtest.Solve(t, trim, 4000, 7800)).bottom() {
		found[f.ID] = f
	}
	return found
}

type limits struct{ tension, compression, pin, rod, head *float64 }

// Each limit is held against its own figure, at the speed where that is worst, and both sides of it are judged.
func TestBottomLimits(t *testing.T) {
	loose := bottomOf(t, func(l *limits) { *l.tension, *l.compression, *l.pin = 100e3, 100e3, 500e6 })
	require.Len(t, loose, 7)
	for id, f := range loose {
		assert.Equal(t, OK, f.Verdict, id)
	}
	assert.InDelta(t, 7800*spectest.PerRPM, loose[rodTension].Speed, 1e-9)
	assert.Contains(t, loose[rodTension].Remark, "overrun")
	assert.InDelta(t, 4000*spectest.PerRPM, loose[rodCompression].Speed, 1e-9, "where the boost is highest")
	assert.Empty(t, loose[rodCompression].Remark)
	// The big end takes a little off the push: what is left lies on 47 by 18 mm. Its mean over the cycle is a quarter of that.
	const area = 0.047 * 0.018
	assert.Less(t, loose[pinPressure].Value, loose[rodCompression].Value/area)
	assert.Greater(t, loose[pinPressure].Value, 0.9*loose[rodCompression].Value/area)
	for id, just := range map[string]func(l *limits, f float64){
		rodTension:     func(l *limits, f float64) { *l.tension = loose[rodTension].Value * f },
		rodCompression: func(l *limits, f float64) { *l.compression = loose[rodCompression].Value * f },
		pinPressure:    func(l *limits, f float64) { *l.pin = loose[pinPressure].Value * f },
		rodClamp:       func(l *limits, f float64) { *l.rod = loose[rodClamp].Value / f },
		headClamp:      func(l *limits, f float64) { *l.head = loose[headClamp].Value / f },
	} {
		assert.Equal(t, OK, bottomOf(t, func(l *limits) { just(l, 1.01) })[id].Verdict, id)
		assert.Equal(t, Fail, bottomOf(t, func(l *limits) { just(l, 0.99) })[id].Verdict, id)
	}
	none := bottomOf(t, func(l *limits) { *l.pin = 0 })
	assert.Len(t, none, 4, "clamps are judged without a limit: they must not part")
}
