package check

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/run"
	"bellmouth/internal/units"
)

// What the ids of the findings on the cooling are.
const (
	coolantBoils   = "coolant-boiling"
	CoolantTooHot  = "coolant-temperature"
	coolingLasts   = "cooling-lasts"
	oilTemperature = "oil-temperature"
)

// LittleToBoiling is a distance from boiling that is noted where the spec does not say how much is wanted, K: hot walls boil the coolant before its bulk
// does. Common practice, no source.
const LittleToBoiling = 8.0

// Cooling returns the findings on the coolant and the oil: how near the coolant comes to boiling and to its limit in the duty, or in the mean of a stage or
// lap without one; whether the cooling lasts through every section of the duty; and the oil in the mean.
func Cooling(r *run.Run) ([]Finding, error) {
	if r.Trim.Cooling == nil {
		return nil, nil
	}
	c, err := r.Cooling()
	if errors.Is(err, run.ErrNoHeat) {
		return nil, nil // each point says why
	}
	if err != nil {
		return nil, err
	}
	hot, err := c.Hottest()
	if err != nil {
		return nil, err
	}
	limits := r.Trim.Limits
	where := HottestText(c, &hot)
	f := Finding{ID: coolantBoils, What: "coolant's distance from boiling", Speed: hot.EngineSpeed, Kind: units.TemperatureDifference, Floor: true,
		Value: c.Margin(hot.Temperature), Limit: limits.BoilingMargin, Remark: where}
	switch {
	case math.IsInf(hot.Temperature, 1):
		f.Value, f.Verdict, f.Remark = math.NaN(), Fail, "no air goes through the radiator; "+where
	case Passes(f.Limit, f.Value):
		f.Verdict = Fail
	case limits.BoilingMargin == 0 && f.Value < LittleToBoiling:
		f.Verdict, f.Remark = Note, fmt.Sprintf("below %s, common practice without a source; %s", shown(LittleToBoiling, f.Kind), where)
	}
	fs := []Finding{f}
	if limits.CoolantTemperature > 0 && !math.IsInf(hot.Temperature, 1) {
		f := Finding{ID: CoolantTooHot, What: "coolant temperature", Speed: hot.EngineSpeed, Kind: units.Temperature, Value: hot.Temperature,
			Limit: limits.CoolantTemperature, Remark: where}
		fs = append(fs, f.judged())
	}
	if f, ok, err := sections(c); err != nil {
		return nil, err
	} else if ok {
		fs = append(fs, f)
	}
	if c.Oil != nil && limits.OilTemperature > 0 {
		mean, err := c.Mean()
		if err != nil {
			return nil, err
		}
		f := Finding{ID: oilTemperature, What: "oil temperature", Speed: mean.EngineSpeed, Kind: units.Temperature, Value: mean.Oil, Limit: limits.OilTemperature,
			Remark: meanText(c)}
		if math.IsInf(f.Value, 1) {
			f.Value, f.Verdict, f.Remark = math.NaN(), Fail, "no air goes through the oil cooler; "+f.Remark
			return append(fs, f), nil
		}
		fs = append(fs, f.judged())
	}
	return fs, nil
}

// sections returns the finding on the section of the duty through which the cooling has least to spare, as a share of what it lasts; ok is false without a
// duty.
func sections(c *run.Cooling) (f Finding, ok bool, err error) {
	rounds, err := c.Duty()
	if err != nil || rounds == nil {
		return f, false, err
	}
	var worst *run.Section
	for k := range rounds {
		for i := range rounds[k] {
			if s := &rounds[k][i]; worst == nil || s.Lasts/s.Time < worst.Lasts/worst.Time {
				worst = s
			}
		}
	}
	f = Finding{ID: coolingLasts, What: "cooling through the sections of the duty", Speed: worst.EngineSpeed, Kind: units.ShortDuration, Floor: true,
		Value: worst.Lasts, Limit: worst.Time, Remark: worst.Name}
	switch {
	case math.IsInf(f.Value, 1):
		f.Value, f.Remark = math.NaN(), "every section for ever: the coolant settles below "+shown(c.Capped(), units.Temperature)
	case Passes(f.Limit, f.Value):
		f.Verdict = Fail
		f.Remark += fmt.Sprintf("; then the coolant has %s", shown(c.Capped(), units.Temperature))
	}
	return f, true, nil
}

// HottestText says where the coolant is hottest.
func HottestText(c *run.Cooling, h *run.Hottest) string {
	switch {
	case h.Section == nil:
		return meanText(c)
	case c.Cooling.Duty.Rounds > 1:
		return fmt.Sprintf("in %s, round %d", h.Section.Name, h.Round)
	}
	return "in " + h.Section.Name
}

func meanText(c *run.Cooling) string {
	return fmt.Sprintf("steady at %s and %.0f %% of the heat of full load", shown(c.RoadSpeed, units.RoadSpeed), c.Load*100)
}

// cooling returns the findings on coolant and oil.
func (v *Review) cooling() ([]Finding, error) { return Cooling(v.Grid) }
