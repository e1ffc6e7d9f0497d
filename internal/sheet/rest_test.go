package sheet

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/boost"
	"bellmouth/internal/run"
	"bellmouth/internal/spec"
	"bellmouth/internal/turbine"
	"bellmouth/internal/units"
	"bellmouth/internal/wastegate"
)

// What the note says of part load is what the planes were computed with.
func TestRestNote(t *testing.T) {
	trim := &spec.Trim{}
	trim.Compressor, trim.Wastegate = new(spec.Compressor), new(turbine.Wastegate)
	r := &Run{Run: &run.Run{Trim: trim, Context: t.Context()}}
	full := []boost.Outcome{{Speed: 2000 * perRPM}, {Speed: 3000 * perRPM}, {Speed: 4000 * perRPM, Err: errors.New("none")}}
	assert.Contains(t, r.restNote([]float64{0, 1e5, 0}, full), "wastegate.actuator in the spec")

	trim.Actuator = new(wastegate.Actuator)
	assert.Contains(t, units.Resolve(r.restNote([]float64{0, 1e5, 0}, full), units.Metric), "At 2000 rpm no boost is found")
	assert.NotContains(t, r.restNote([]float64{1e5, 1e5, 0}, full), "no boost is found")
	assert.Len(t, r.restDoubts([]float64{0, 1e5, 0}, full), 1)
	assert.Empty(t, r.restDoubts([]float64{1e5, 1e5, 0}, full), "the spring is known to hold: nothing to doubt")

	trim.Wastegate = nil
	assert.Equal(t, "At part load the throttle takes the rest.", r.restNote(nil, nil))
	assert.Empty(t, r.restDoubts(nil, nil))
}
