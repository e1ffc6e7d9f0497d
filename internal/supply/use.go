package supply

import (
	"errors"
	"fmt"
	"math"
)

// A Phase is a part of a run at one fuel flow.
type Phase struct {
	Share float64 // of the time, 0 to 1
	Flow  float64 // of fuel, m³/s
}

// MeanFlow returns the mean fuel flow of a run, m³/s.
//
//	Q = Σ share Q
//
// Shares that do not add up to 1 within 1e-6, and no phases, are errors.
func MeanFlow(profile []Phase) (float64, error) {
	if len(profile) == 0 {
		return 0, errors.New("duty profile has no phases")
	}
	sum, mean := 0.0, 0.0
	for i, p := range profile {
		switch {
		case !(p.Share >= 0 && p.Share <= 1):
			return 0, fmt.Errorf("phase %d of the duty profile: share of time is %v; want 0 to 1", i+1, p.Share)
		case !notNegative(p.Flow):
			return 0, fmt.Errorf("phase %d of the duty profile: fuel flow is %v m³/s; want 0 or more", i+1, p.Flow)
		}
		sum += p.Share
		mean += p.Share * p.Flow
	}
	if math.Abs(sum-1) > 1e-6 {
		return 0, fmt.Errorf("shares of time in the duty profile add up to %.6g; want 1", sum)
	}
	return mean, nil
}

// Use returns the volume of fuel that a stage or lap of a duration, s, takes, m³.
//
//	V = t Σ share Q
func Use(profile []Phase, duration float64) (float64, error) {
	if !positive(duration) {
		return 0, fmt.Errorf("duration is %v s; want more than 0", duration)
	}
	mean, err := MeanFlow(profile)
	return mean * duration, err
}

// A Tank holds the fuel.
type Tank struct {
	Volume  float64 // m³
	Reserve float64 // of it not counted on: what the pickup cannot reach, and what must be left, m³
}

// usable returns the volume that can be counted on, m³.
func (t Tank) usable() (float64, error) {
	switch {
	case !positive(t.Volume):
		return 0, fmt.Errorf("tank volume is %v m³; want more than 0", t.Volume)
	case !(t.Reserve >= 0 && t.Reserve < t.Volume):
		return 0, fmt.Errorf("tank reserve is %v m³; want 0 or more and less than the tank's %v m³", t.Reserve, t.Volume)
	}
	return t.Volume - t.Reserve, nil
}

// Time returns how long the tank lasts at a fuel flow, m³/s: s.
//
//	t = (volume − reserve)/Q
func (t Tank) Time(flow float64) (float64, error) {
	usable, err := t.usable()
	if err != nil {
		return 0, err
	}
	if !positive(flow) {
		return 0, fmt.Errorf("fuel flow is %v m³/s; want more than 0", flow)
	}
	return usable / flow, nil
}

// Runs returns how many whole stages or laps the tank lasts that take a volume, m³, each.
func (t Tank) Runs(use float64) (int, error) {
	usable, err := t.usable()
	if err != nil {
		return 0, err
	}
	runs := math.Floor(usable / use * (1 + 1e-12)) // a tank of just so many runs has them all
	if !(use > 0) || !(runs < math.MaxInt32) {
		return 0, fmt.Errorf("fuel of a run is %v m³; want more than 0 and a part of the tank", use)
	}
	return int(runs), nil
}
