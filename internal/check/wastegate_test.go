package check_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/boost"
	"bellmouth/internal/check"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/wastegate"
)

// gateOf returns the gate of a trim of the example over its whole speed range, the trim changed first.
func gateOf(t testing.TB, name string, change func(trim *spec.Trim)) *run.Gate {
	t.Helper()
	trim := spectest.Trim(t, spectest.Hillclimb, name)
	change(trim)
	r, err := run.Solve(t.Context(), "check", trim, boost.Speeds(1500*rpm, 7800*rpm, 500*rpm))
	require.NoError(t, err)
	g, err := r.Gate()
	require.NoError(t, err)
	return g
}

// The example holds its boost, and its checks say so.
func TestWastegate(t *testing.T) {
	for _, trim := range []string{"open", "capped"} {
		fs := check.Wastegate(gateOf(t, trim, func(*spec.Trim) {}))
		assert.Len(t, fs, 3)
		assert.Empty(t, check.Failed(fs))
		for _, f := range fs {
			assert.Equal(t, check.OK, f.Verdict, f.What)
			assert.GreaterOrEqual(t, f.Margin(), 0.0)
		}
	}
	little := check.Wastegate(gateOf(t, "open", func(trim *spec.Trim) { trim.Control.Actuator.Preload = 705 }))
	assert.Equal(t, "boost-control-duty", little[2].ID)
	assert.Equal(t, check.Note, little[2].Verdict, "next to no duty: something to know, and nothing that fails")
	bare := gateOf(t, "open", func(trim *spec.Trim) { trim.Actuator, trim.Control = nil, nil })
	assert.Empty(t, check.Wastegate(bare))
	assert.False(t, bare.HasActuator())
}

// What is short fails, and its remark is what it means for the boost.
func TestWastegateShort(t *testing.T) {
	for name, c := range map[string]struct {
		change func(trim *spec.Trim)
		id     string
		what   string
	}{
		"weak spring":   {func(trim *spec.Trim) { trim.Control.Actuator.Preload = 60 }, "actuator-force", "wastegate actuator force to spare"},
		"strong spring": {func(trim *spec.Trim) { trim.Control.Actuator.Preload = 900 }, "actuator-force", "wastegate actuator force to spare"},
		"short stroke":  {func(trim *spec.Trim) { trim.Control.Actuator.Stroke = 0.0035 }, "actuator-lift", "wastegate lift to spare"},
		"small valve":   {func(trim *spec.Trim) { trim.Wastegate.Bore = 0.022 }, "", ""},
	} {
		g := gateOf(t, "open", c.change)
		short := 0
		for i := range g.Points {
			if o := &g.Points[i]; o.Short() == run.Nothing {
				assert.Empty(t, check.ShortMeans(o), name)
			} else {
				assert.NotEmpty(t, check.ShortMeans(o), name)
				short++
			}
		}
		assert.Positive(t, short, name)
		var failed []string
		fs := check.Wastegate(g)
		for _, f := range fs {
			if f.Verdict == check.Fail {
				failed = append(failed, f.ID)
				assert.NotEmpty(t, f.Remark, name)
			}
		}
		if c.id != "" {
			assert.Contains(t, failed, c.id, name)
			assert.Contains(t, check.Failed(fs), c.what, name)
		}
	}
}

// Tables stand out what the checks find: a hundredth of a newton short is not short, and a tenth of the duty is enough to regulate with.
func TestLittleAndLacking(t *testing.T) {
	assert.False(t, check.LacksForce(&wastegate.Holding{ForceMargin: -0.009}))
	assert.True(t, check.LacksForce(&wastegate.Holding{ForceMargin: -0.011}))
	assert.False(t, check.LittleLeft(0.101))
	assert.True(t, check.LittleLeft(0.099))
	assert.False(t, check.Late(0.1, 0.1+check.LateBy))
	assert.False(t, check.Late(0.1+0.0017, 0.1), "less than a tenth of a degree, 0.001745 rad")
	assert.True(t, check.Late(0.1+0.0018, 0.1))
}
