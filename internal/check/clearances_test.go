package check

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/units"
)

func clearancesOf(t *testing.T, name string, change func(trim *spec.Trim)) map[string]Finding {
	trim := spectest.Trim(t, spectest.Hillclimb, name)
	change(trim)
	v := &Review{Fine: &run.Run{Trim: trim}}
	found := map[string]Finding{}
	for _, f := range v.clearances() {
		found[f.ID] = f
		if f.Verdict != OK {
			c, ok := Find(f.ID)
			require.True(t, ok, f.ID)
			f.Do = c.do(v, &f)
			found[f.ID] = f
		}
	}
	return found
}

// Usual ranges are noted where they are left, stated ones fail: bearing of a 47 mm journal 0.047 to 0.0597 mm, top ring of an 84 mm bore 0.0065 · 84
// = 0.546 mm.
func TestClearancesAgainstTheirRange(t *testing.T) {
	measured := func(key string, x float64) Finding {
		return clearancesOf(t, "open", func(trim *spec.Trim) {
			fits := append([]spec.Fit(nil), trim.Engine.Clearances...)
			for i := range fits {
				if fits[i].Key == key {
					fits[i].Measured = x
				}
			}
			trim.Engine.Clearances = fits
		})[fitID(key)]
	}
	for _, x := range []struct {
		key  string
		mm   float64
		want Verdict
	}{
		{"crank_pin", 0.0471, OK}, {"crank_pin", 0.0468, Note}, {"crank_pin", 0.0596, OK}, {"crank_pin", 0.0599, Note},
		{"top_ring", 0.547, OK}, {"top_ring", 0.545, Note}, {"top_ring", 3, OK}, {"second_ring", 0.683, OK}, {"second_ring", 0.682, Note}, {"oil_ring", 0.38, Note},
		{"piston", 0.075, OK}, {"piston", 0.0745, Fail}, {"piston", 0.1, OK}, {"piston", 0.1005, Fail},
	} {
		assert.Equal(t, x.want, measured(x.key, x.mm*1e-3).Verdict, "%s %v", x.key, x.mm)
	}
	assert.Equal(t, "Open the piston clearance from 0.070 mm to 0.075 mm or more.", units.Resolve(measured("piston", 70e-6).Do, units.Metric))
	assert.Equal(t, "Close the piston clearance from 0.110 mm to 0.100 mm or less.", units.Resolve(measured("piston", 110e-6).Do, units.Metric))
}

func TestPistonToValveIsJudged(t *testing.T) {
	base := clearancesOf(t, "open", func(*spec.Trim) {})
	assert.Equal(t, OK, base[inletRoom].Verdict)
	moved := func(inlet, exhaust float64) map[string]Finding {
		return clearancesOf(t, "open", func(trim *spec.Trim) {
			room := *trim.Engine.PistonToValve
			in, ex := *room.Inlet, *room.Exhaust
			in.Shift, ex.Shift = inlet*math.Pi/180, exhaust*math.Pi/180
			room.Inlet, room.Exhaust = &in, &ex
			trim.Engine.PistonToValve = &room
		})
	}
	near := moved(-18, 19)
	assert.Equal(t, Fail, near[inletRoom].Verdict)
	assert.Regexp(t, `^Set the inlet shaft 1\.\d deg later, in degrees of the crank, or cut deeper pockets: `+
		`they have 1\.\d+ mm at the least, and 1\.500 mm are wanted\.$`, units.Resolve(near[inletRoom].Do, units.Metric))
	assert.Equal(t, Fail, near[exhaustRoom].Verdict)
	assert.Regexp(t, `^Set the exhaust shaft 1\.\d deg earlier`, units.Resolve(near[exhaustRoom].Do, units.Metric))
	// Moved back by what the sentence says, the room is what is wanted.
	far := moved(-16, 17)
	assert.Equal(t, OK, far[inletRoom].Verdict)
	assert.Equal(t, OK, far[exhaustRoom].Verdict)
	// Deeper by a millimetre is a millimetre more room, wherever that is.
	deep := clearancesOf(t, "open", func(trim *spec.Trim) {
		room := *trim.Engine.PistonToValve
		in := *room.Inlet
		in.Drop += 1e-3
		room.Inlet = &in
		trim.Engine.PistonToValve = &room
	})
	assert.InDelta(t, base[inletRoom].Value+1e-3, deep[inletRoom].Value, 1e-9)
}

// 38.05 mm at 75 degC of 23e-6/K is 38.0019 mm at 20 degC: more than 38 mm. A restrictor that is out is not judged.
func TestRestrictorBoreAt20(t *testing.T) {
	warm := func(trim *spec.Trim) {
		trim.Intake.Measured = &spec.MeasuredBore{Bore: 0.03805, Temperature: 348.15, Expansion: 23e-6}
	}
	f := clearancesOf(t, "capped", warm)[restrictorBore]
	assert.Equal(t, Fail, f.Verdict)
	assert.InDelta(t, 38.0019276e-3, f.Value, 1e-10)
	assert.Equal(t, "Fit a restrictor of 38.000 mm or less at 20 degC: the one measured has 38.002 mm there.", units.Resolve(f.Do, units.Metric))
	assert.Equal(t, OK, clearancesOf(t, "capped", func(*spec.Trim) {})[restrictorBore].Verdict)
	assert.NotContains(t, clearancesOf(t, "open", warm), restrictorBore)
}
