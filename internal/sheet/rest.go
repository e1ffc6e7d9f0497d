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
		return "At part load the wastegate is taken to be wide open as far as that leaves enough, and the throttle to take the rest: a spring that keeps it shut leaves more back pressure, less air and less torque. wastegate.actuator in the spec counts it."
	}
	text := "At part load the boost control opens the wastegate as far as its spring lets it, and the throttle takes the rest; above the spring's boost the throttle is open and the wastegate sets the pressure."
	var unknown []string
	for i, outlet := range held {
		if o := &full[i]; outlet == 0 && o.Err == nil {
			unknown = append(unknown, fmt.Sprintf("%.0f", run.RPM(o.Speed)))
		}
	}
	if unknown != nil {
		text += fmt.Sprintf(" At %s rpm no boost is found at which the spring comes to rest: the wastegate is taken to be wide open there.", strings.Join(unknown, ", "))
	}
	return text
}
