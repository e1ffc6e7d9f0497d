package sheet

import (
	"fmt"
	"strings"

	"bellmouth/internal/boost"
	"bellmouth/internal/run"
)

// restNote says how the engine is held at part load. held are the compressor outlet pressures that the spring holds, Pa, 0 where
// they are not known, and full the full loads at the same speeds.
func (r *Run) restNote(held []float64, full []boost.Outcome) string {
	switch {
	case !r.Forced() || r.Trim.Wastegate == nil:
		return "At part load the throttle takes the rest."
	case r.Trim.Actuator == nil:
		return strings.Join(r.restDoubts(held, full), " ")
	}
	return strings.Join(append([]string{"Below the boost on the spring the throttle does the rest."}, r.restDoubts(held, full)...), " ")
}

// restDoubts says what to doubt of how the engine is held at part load, for the same.
func (r *Run) restDoubts(held []float64, full []boost.Outcome) []string {
	switch {
	case !r.Forced() || r.Trim.Wastegate == nil:
		return nil
	case r.Trim.Actuator == nil:
		return []string{"At part load the wastegate is taken to be wide open. A spring that keeps it closed raises the turbine inlet pressure and costs torque: " +
			"give wastegate.actuator in the spec to count it."}
	}
	var unknown []float64
	for i, outlet := range held {
		if o := &full[i]; outlet == 0 && o.Err == nil {
			unknown = append(unknown, o.Speed)
		}
	}
	if unknown == nil {
		return nil
	}
	return []string{fmt.Sprintf("At %s no boost is found that the spring holds: the wastegate is taken to be wide open there.", run.SpeedList(unknown))}
}
