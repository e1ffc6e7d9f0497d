package cli

import (
	"fmt"
	"math"
	"strings"

	"bellmouth/internal/run"
	"bellmouth/internal/sheet"
	"bellmouth/internal/units"
)

const highestBoost = 6 * bar // that a spec may ask for

// duties returns the duty over speed and boost, and what boosts a duty holds.
func (o *options) duties(g *sheet.Gate) (p trimPart, err error) {
	if !g.Driven() {
		p.warnings = []string{fmt.Sprintf("trim %s has no pulsed valve in wastegate.control: no duty over speed and boost", g.Run.Trim.Name)}
		return p, nil
	}
	d, err := g.DutyRange()
	if err != nil {
		return p, err
	}
	boosts, err := o.boosts(d.DutyRange)
	if err != nil {
		return p, err
	}
	if boosts == nil {
		p.warnings = []string{fmt.Sprintf("trim %s: at no speed computed has the duty a boost to choose: no duty over speed and boost", g.Run.Trim.Name)}
	} else {
		plane, err := d.Over(boosts)
		if err != nil {
			return p, err
		}
		p.add(plane.Table())
		p.lost = plane.Errors()
	}
	p.add(d.Table())
	return p, nil
}

// boosts returns the boosts of a duty plane, Pa above the venue, rising: those asked for, or by default from the lowest that is held to the highest,
// and none where the duty has none to choose.
func (o *options) boosts(d *run.DutyRange) ([]float64, error) {
	if o.boost != "" {
		return parseBoosts(o.boost)
	}
	lowest, highest, ok := d.Ends()
	if !ok {
		return nil, nil
	}
	return planeBoosts(lowest, highest), nil
}

// planeBoosts returns round boosts from the lowest, Pa above the venue, to the highest, and that one, in at most about 12 columns. None is below 0.
func planeBoosts(lowest, highest float64) []float64 {
	const mostColumns = 13
	for _, step := range []float64{0.05 * bar, 0.1 * bar, 0.2 * bar, 0.25 * bar, 0.5 * bar, bar} {
		lo := math.Max(0, math.Ceil(lowest/step-1e-9)*step)
		if (highest-lo)/step <= mostColumns-1 {
			return stepped(lo, math.Max(lo, highest), step)
		}
	}
	return stepped(math.Max(0, lowest), highest, bar)
}

// parseBoosts reads a range of boosts, Pa above the venue. Parts without a unit have that of the last part, or are in bar.
func parseBoosts(text string) ([]float64, error) {
	var values [3]float64
	single, err := parseParts("--boost", text, "0.6:1.8:0.1", func(i int, part string) (err error) {
		if i == 2 {
			values[i], err = units.Parse(strings.TrimSuffix(part, " gauge"), units.PressureDifference) // a step counts from nowhere
			return err
		}
		values[i], err = units.Parse(part, units.GaugePressure)
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
	case !(lo >= 0):
		return nil, fmt.Errorf("--boost %s begins below %s", text, limitWords(0, 0, units.Up))
	case !(hi <= highestBoost*(1+1e-9)):
		return nil, fmt.Errorf("--boost %s goes beyond %s", text, limitWords(highestBoost, 0, units.Down))
	}
	return ranged("--boost "+text, "boost", lo, hi, values[2], single)
}
