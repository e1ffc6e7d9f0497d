package cli

import (
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/sheet"
	"bellmouth/internal/units"
)

const (
	bar             = 1e5       // Pa
	lowestPressure  = 0.2 * bar // in a manifold, absolute; below it no engine gives torque
	highestPressure = 12 * bar
	firstPressure   = 0.4 * bar  // of the default range
	leastStep       = 0.05 * bar // so that no two columns read the same in any unit
	mostPressures   = 100        // in one range
)

// planeStep returns the step of engine speed of a plane by default, rad/s: the smallest round one that makes no more rows than an
// engine control's table has.
func planeStep(lo, hi float64) float64 {
	const mostRows = 25
	for _, step := range []float64{100, 200, 250, 300, 400, 500} {
		if (hi-lo)/(step*perRPM) <= mostRows-1 {
			return step * perRPM
		}
	}
	return 1000 * perRPM
}

// pressures returns the manifold pressures of a plane, Pa absolute, rising: those asked for, or by default from 0.4 bar to the highest
// of the run's full load in about 12 columns.
func (o *options) pressures(r *sheet.Run) ([]float64, error) {
	if o.pressure != "" {
		return parsePressures(o.pressure, r.Trim.Venue.Pressure)
	}
	most := r.Trim.Venue.Pressure
	if i := boost.Highest(r.Outcomes, func(p *airpath.Point) float64 { return p.ManifoldPressure }); i >= 0 {
		most = r.Outcomes[i].Point.ManifoldPressure
	}
	return planePressures(most), nil
}

// planePressures returns the manifold pressures of a plane by default, Pa absolute, up to most.
func planePressures(most float64) []float64 {
	const mostColumns = 13
	for _, step := range []float64{0.05, 0.1, 0.2, 0.25, 0.5} {
		if (most-firstPressure)/(step*bar) <= mostColumns-1 {
			return stepped(firstPressure, most, step*bar)
		}
	}
	return stepped(firstPressure, most, bar)
}

// stepped returns pressures from lo to hi, with hi as the last even where the step does not meet it: it takes the place of a last step
// that lies near it.
func stepped(lo, hi, step float64) []float64 {
	if !(hi > lo) {
		return []float64{lo}
	}
	n := int(math.Floor((hi-lo)/step + 0.75))
	values := make([]float64, 0, n+2)
	for i := range n {
		values = append(values, math.Round(lo+float64(i)*step))
	}
	return append(values, hi)
}

// parsePressures reads a range of manifold pressures, Pa absolute; venue is the venue's pressure, Pa. Parts without a unit have that of
// the last part, or are in bar, absolute.
func parsePressures(text string, venue float64) ([]float64, error) {
	var values [3]float64
	single, err := parseParts("--pressure", text, "0.4:2.4:0.2", func(i int, part string) (err error) {
		if i == 2 {
			part = strings.TrimSuffix(strings.TrimSuffix(part, " gauge"), " abs") // a step counts from nowhere
			values[i], err = units.Parse(part, units.PressureDifference)
			return err
		}
		reading, err := units.ParsePressure(part, false)
		values[i] = reading.Absolute(venue)
		return err
	})
	if err != nil {
		return nil, err
	}
	lo, hi := values[0], values[1]
	if single {
		hi = lo
	}
	switch {
	case !(lo >= lowestPressure*(1-1e-9)):
		return nil, fmt.Errorf("--pressure %s begins below %s absolute", text, limitWords(lowestPressure, 1, units.Up))
	case !(hi <= highestPressure*(1+1e-9)):
		return nil, fmt.Errorf("--pressure %s goes beyond %s absolute", text, limitWords(highestPressure, 0, units.Down))
	}
	return ranged("--pressure "+text, "pressure", lo, hi, values[2], single)
}

// limitWords names a pressure that a flag has to keep to: what is printed does.
func limitWords(p float64, digits int, side units.Side) string {
	return units.Figure{Value: p, Kind: units.PressureDifference, Digits: digits, Side: side}.Mark()
}

// ranged returns the values of a range, or why it is none. given is the flag with its value, what the noun for one of them.
func ranged(given, what string, lo, hi, step float64, single bool) ([]float64, error) {
	switch {
	case single:
		return []float64{lo}, nil
	case hi < lo:
		return nil, fmt.Errorf("%s runs downwards; want the lower %s first", given, what)
	case !(step >= leastStep*(1-1e-9)):
		return nil, fmt.Errorf("%s has a step below %s", given, limitWords(leastStep, 2, units.Up))
	case (hi-lo)/step > mostPressures:
		return nil, fmt.Errorf("%s has more than %d %ss", given, mostPressures, what)
	}
	return stepped(lo, hi, step), nil
}

// parseParts splits LO:HI:STEP, or one pressure, and hands each part to read with its unit: that of the last part, or bar, where it has none.
func parseParts(flag, text, example string, read func(i int, part string) error) (single bool, err error) {
	parts := strings.Split(text, ":")
	neither := fmt.Errorf("%s %q is neither LO:HI:STEP, such as %s, nor one pressure", flag, text, example)
	if len(parts) != 1 && len(parts) != 3 {
		return false, neither
	}
	_, last := units.Split(strings.TrimSpace(parts[len(parts)-1]))
	if last == "" {
		last = "bar"
	}
	for i, part := range parts {
		part = strings.TrimSpace(part)
		if part == "" {
			return false, neither
		}
		if _, unit := units.Split(part); unit == "" {
			part += " " + last
		}
		if err := read(i, part); err != nil {
			return false, fmt.Errorf("%s %q: %w", flag, text, err)
		}
	}
	return len(parts) == 1, nil
}
