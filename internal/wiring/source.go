package wiring

import "math"

// A Battery is the car's battery at rest.
type Battery struct {
	Voltage    float64 // without load, V
	Resistance float64 // inside, Ω
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
//	U = Ub + Rb (Imax − I), at most the regulator's voltage;  Ib = (U − Ub)/Rb,  Ia = I + Ib
//
// The alternator gives as much as keeps the regulator's voltage, and no more than it can; the battery takes or gives the rest through its
// resistance. A regulator set below what the battery holds by itself charges nothing. Source: Kirchhoff's laws. The battery's voltage is taken as
// constant, and so is what it takes: a full one takes less. A voltage of 0 or less says that the battery cannot give the current.
func (s *Source) At(current float64) Supply {
	b := &s.Battery
	u := b.Voltage + b.Resistance*(s.Output-current)
	if s.Output > 0 && u > s.Set {
		u = math.Max(s.Set, b.Voltage-b.Resistance*current)
	}
	into := (u - b.Voltage) / b.Resistance
	return Supply{Voltage: u, Alternator: math.Max(0, current+into), Battery: into}
}

// Lasts returns how long a full battery gives a current, A, from what is counted on of it: s.
//
//	t = usable Q/I
//
// Source: conservation of charge. A battery holds less against a current above that of its rating, and less when cold or old.
func (b *Battery) Lasts(current float64) float64 { return b.Usable * b.Charge / current }
