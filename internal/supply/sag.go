package supply

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"bellmouth/internal/injector"
)

// A Sag is an engine's operating point as its battery weakens.
type Sag struct {
	System           *System // nil: the rail holds what its regulator asks, whatever the voltage
	Rail             Rail
	Staging          *injector.Staging
	ManifoldPressure float64 // Pa absolute
	VenuePressure    float64 // Pa absolute
	Speed            float64 // engine speed, rad/s
	Cylinders        int
	FuelPerCycle     float64 // that one cylinder takes in a cycle, kg
	Liquid           Liquid
	PumpDrop         float64 // voltage lost between battery and pumps, V
	InjectorDrop     float64 // voltage lost between battery and injectors, V
	LeastMargin      float64 // smallest accepted pump margin, 0 or more
	DutyLimit        float64 // highest accepted duty, above 0 to 1
}

// A SagRow is the point at one battery voltage.
type SagRow struct {
	Voltage            float64   // of the battery, V
	Supply             Operation // zero where the rail is taken to hold
	PressureDifference float64   // over the injectors with the rail as it is, Pa
	Delivered          bool      // false: no pressure is left over the injectors, and Injection is zero
	Injection          injector.Split
}

// A SagLimit is something that a weak battery breaks.
type SagLimit int

const (
	SagPumpMargin    SagLimit = iota // pump margin below the least accepted
	SagRail                          // rail pressure falls
	SagPrimaryDuty                   // primary injectors past the duty limit
	SagSecondaryDuty                 // secondary injectors past the duty limit
	sagLimits
)

func (l SagLimit) String() string {
	switch l {
	case SagPumpMargin:
		return "pump margin"
	case SagRail:
		return "rail pressure"
	case SagPrimaryDuty:
		return "primary duty"
	case SagSecondaryDuty:
		return "secondary duty"
	}
	return fmt.Sprintf("limit %d", int(l))
}

// A SagBreak is the battery voltage at which a limit is passed.
type SagBreak struct {
	Limit   SagLimit
	Voltage float64 // highest at which it is passed, V
	AtStart bool    // passed at the first voltage already: it may be so above
}

// A SagResult is what a sagging battery does.
type SagResult struct {
	Rows   []SagRow
	Breaks []SagBreak // what breaks, first the first; those that hold are left out
}

// First returns what breaks first, and false when all holds.
func (r *SagResult) First() (SagBreak, bool) {
	if len(r.Breaks) == 0 {
		return SagBreak{}, false
	}
	return r.Breaks[0], true
}

// Over returns the point at battery voltages from one, V, down to another in steps, V, and the voltage at which each limit
// is passed, to 1e-9 V. The lowest voltage is always a row.
//
// With less voltage the pumps give less and the injectors' dead time grows. When the pumps are short the rail falls to
// what they hold, and the injectors, which still have to give the same fuel, work with that. The voltage of the pumps is the
// battery's less PumpDrop, that of the injectors less InjectorDrop. Without a fuel system only the dead time grows.
func (s *Sag) Over(from, to, step float64) (SagResult, error) {
	if !(to > 0 && from >= to && step > 0) || math.IsInf(from, 1) {
		return SagResult{}, fmt.Errorf("battery voltages are %v V to %v V by %v V; want falling ones above 0", from, to, step)
	}
	if (from-to)/step > 1000 {
		return SagResult{}, fmt.Errorf("battery voltages are %v V to %v V by %v V; want at most 1000 steps", from, to, step)
	}
	if err := s.validate(); err != nil {
		return SagResult{}, err
	}
	var out SagResult
	var broken [sagLimits]bool
	for i := 0; ; i++ {
		voltage := from - float64(i)*step
		last := voltage <= to+1e-9*step
		if last {
			voltage = to
		}
		row, err := s.at(voltage)
		if err != nil {
			return SagResult{}, err
		}
		for l := range sagLimits {
			if broken[l] || !s.passed(l, &row) {
				continue
			}
			broken[l] = true
			b := SagBreak{Limit: l, Voltage: voltage, AtStart: i == 0}
			if i > 0 {
				if b.Voltage, err = s.crossing(l, voltage, out.Rows[i-1].Voltage); err != nil {
					return SagResult{}, err
				}
			}
			out.Breaks = append(out.Breaks, b)
		}
		out.Rows = append(out.Rows, row)
		if last {
			break
		}
	}
	sort.SliceStable(out.Breaks, func(i, j int) bool { return out.Breaks[i].Voltage > out.Breaks[j].Voltage })
	return out, nil
}

// crossing returns the voltage between one at which a limit is passed and a higher one at which it holds. It halves
// rather than interpolates: duty steps where the second set comes in.
func (s *Sag) crossing(l SagLimit, passed, holds float64) (float64, error) {
	for holds-passed > 1e-9 {
		mid := passed + (holds-passed)/2
		row, err := s.at(mid)
		if err != nil {
			return 0, err
		}
		if s.passed(l, &row) {
			passed = mid
		} else {
			holds = mid
		}
	}
	return passed, nil
}

func (s *Sag) passed(l SagLimit, r *SagRow) bool {
	switch l {
	case SagPumpMargin:
		return s.System != nil && !(r.Supply.Margin >= s.LeastMargin)
	case SagRail:
		return r.Supply.Short()
	case SagPrimaryDuty:
		return !r.Delivered || !(r.Injection.Primary.Duty <= s.DutyLimit)
	case SagSecondaryDuty:
		return r.Delivered && !(r.Injection.Secondary.Duty <= s.DutyLimit)
	}
	return false
}

func (s *Sag) at(voltage float64) (SagRow, error) {
	fail := func(err error) (SagRow, error) { return SagRow{}, fmt.Errorf("battery at %.4g V: %w", voltage, err) }
	row := SagRow{Voltage: voltage}
	rail := s.Rail.AboveVenue(s.ManifoldPressure, s.VenuePressure)
	var err error
	if s.System != nil {
		row.Supply, err = s.System.At(State{
			Voltage: voltage - s.PumpDrop, RailPressure: rail,
			Demand: s.FuelPerCycle * float64(s.Cylinders) / injector.CycleTime(s.Speed) / s.Liquid.Density, Liquid: s.Liquid,
		})
		if err != nil {
			return fail(err)
		}
		rail = row.Supply.RailPressure
	}
	row.PressureDifference = rail + s.VenuePressure - s.ManifoldPressure
	if !(row.PressureDifference > 0) || row.Supply.Notes&NoteStarved != 0 {
		row.PressureDifference = math.Max(0, row.PressureDifference)
		return row, nil
	}
	row.Injection, err = s.Staging.Split(s.FuelPerCycle, injector.Conditions{
		Speed: s.Speed, PressureDifference: row.PressureDifference, FuelDensity: s.Liquid.Density, Voltage: voltage - s.InjectorDrop,
	})
	if err != nil {
		return fail(err)
	}
	row.Delivered = true
	return row, nil
}

func (s *Sag) validate() error {
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"MAP", "Pa", s.ManifoldPressure},
		{"venue pressure", "Pa", s.VenuePressure},
		{"engine speed", "rad/s", s.Speed},
		{"fuel of a cycle", "kg", s.FuelPerCycle},
	} {
		if !positive(v.value) {
			return fmt.Errorf("%s is %v %s; want more than 0", v.name, v.value, v.unit)
		}
	}
	for _, v := range []struct {
		name, unit string
		value      float64
	}{
		{"voltage drop to the pumps", "V", s.PumpDrop},
		{"voltage drop to the injectors", "V", s.InjectorDrop},
	} {
		if !notNegative(v.value) {
			return fmt.Errorf("%s is %v %s; want 0 or more", v.name, v.value, v.unit)
		}
	}
	switch {
	case s.Staging == nil:
		return errors.New("there are no injectors")
	case s.Cylinders < 1:
		return fmt.Errorf("there are %d cylinders; want 1 or more", s.Cylinders)
	case !notNegative(s.LeastMargin):
		return fmt.Errorf("least pump margin is %v; want 0 or more", s.LeastMargin)
	case !(s.DutyLimit > 0 && s.DutyLimit <= 1):
		return fmt.Errorf("duty limit is %v; want more than 0 and at most 1", s.DutyLimit)
	}
	if s.System == nil && positive(s.Liquid.Density) {
		return nil // without a line nothing asks how thick the fuel is
	}
	return s.Liquid.Validate()
}
