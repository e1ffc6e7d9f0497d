package wiring

import "math"

// A Battery is the car's battery at rest.
type Battery struct {
	Voltage    float64 // without load, V
	Resistance float64 // inside, for a current out, Ω
	Charging   float64 // current that it takes at the regulator's voltage, above 0, A
	Charge     float64 // that it holds when full, A s
	Usable     float64 // share of that which is counted on, above 0 to 1
}

// A Source is alternator and battery together.
type Source struct {
	Battery Battery
	Output  float64 // of the alternator at its speed, at most, A; 0: it does not charge
	Set     float64 // voltage that its regulator holds, V
}

// A Supply is what the source does.
type Supply struct {
	Voltage    float64 // at the terminals, V
	Alternator float64 // current that it gives, A
	Battery    float64 // current into the battery, A; negative: out of it
}

// At returns what alternator and battery do with the sum of the loads I, A.
//
//	what the alternator cannot give comes out of the battery:  U = Ub − Rb (I − Imax)
//	what it can give besides goes in:  U = Ub + (Ur − Ub)/Ic (Imax − I), at most the regulator's Ur, with which the battery takes Ic
//
// The alternator gives as much as keeps the regulator's voltage, and no more than it can. A regulator set below the battery's voltage charges nothing,
// and lets the battery fall to it before it helps. Source: Kirchhoff's laws; that a nearly full battery takes a small, fixed current at the regulator's
// voltage, and in proportion below, is ours: its resistance for a current in is far above that for one out. The battery's own voltage is taken as
// constant. A voltage of 0 or less says that the battery cannot give the current.
func (s *Source) At(current float64) Supply {
	b := &s.Battery
	into := s.Output - current // if the alternator gives all
	switch {
	case s.Output > 0 && s.Set <= b.Voltage:
		u := math.Max(b.Voltage-b.Resistance*current, math.Min(s.Set, b.Voltage+b.Resistance*into))
		into = (u - b.Voltage) / b.Resistance
		return Supply{Voltage: u, Alternator: math.Max(0, current+into), Battery: into}
	case into > 0:
		into = math.Min(into, b.Charging)
		return Supply{Voltage: b.Voltage + (s.Set-b.Voltage)*into/b.Charging, Alternator: current + into, Battery: into}
	}
	return Supply{Voltage: b.Voltage + b.Resistance*into, Alternator: s.Output, Battery: into}
}

// Lasts returns how long a full battery gives a current, A, from what is counted on of it: s.
//
//	t = usable Q/I
//
// Source: conservation of charge. A battery holds less against a current above that of its rating, and less when cold or old.
func (b *Battery) Lasts(current float64) float64 { return b.Usable * b.Charge / current }
