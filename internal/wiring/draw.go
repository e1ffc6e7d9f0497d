package wiring

import "math"

// A Draw is the current that a load takes from its supply.
type Draw struct {
	Mean  float64 // over time, A
	While float64 // mean square over mean, A: what flows on the average while the load draws; Mean of a steady one
	Peak  float64 // highest that comes back again and again, A
}

// Steady returns the draw of a constant current, A.
func Steady(current float64) Draw { return Draw{current, current, current} }

// A Pulse is one pulse of current of one device.
type Pulse struct {
	Time   float64 // that it lasts, s
	Charge float64 // ∫i dt, A s
	Square float64 // ∫i² dt, A² s
	Peak   float64 // A
}

// Saturated returns the pulse of a valve or coil that is switched straight onto a voltage U, V: i = U/R, its inductance left out, which is on the high side.
func Saturated(voltage, resistance, time float64) Pulse {
	i := voltage / resistance
	return Pulse{Time: time, Charge: i * time, Square: i * i * time, Peak: i}
}

// PeakAndHold returns the pulse of a valve whose driver gives a current Ip up to a time tp and holds a current Ih for the rest.
//
//	∫i dt = Ip min(t, tp) + Ih max(0, t − tp)
//
// The peak is taken for the whole of its time, though the current has to rise to it, and the hold as if no current went round in the driver: both
// are on the high side.
func PeakAndHold(peak, hold, peakTime, time float64) Pulse {
	at, then := math.Min(time, peakTime), math.Max(0, time-peakTime)
	p := Pulse{Time: time, Charge: peak*at + hold*then, Square: peak*peak*at + hold*hold*then}
	if time > 0 {
		p.Peak = peak
		if peakTime == 0 {
			p.Peak = hold
		}
	}
	return p
}

// Together returns the draw of n equal devices whose pulses follow each other evenly, each with one in a period, s. A pulse as long as the period
// or longer is on all the time.
//
//	n D = m + f, m whole:  m devices draw for a share 1 − f of the time, m + 1 for f
//	Ī = n ∫i dt/T,  mean of I² = (Q/t)² ((1 − f) m² + f (m + 1)² − n D) + n ∫i² dt/T
//
// Source: definitions; with pulses of constant current both are exact, with others the overlap is taken with their mean.
func Together(n int, period float64, p Pulse) Draw {
	if n == 0 || p.Time <= 0 || p.Charge == 0 {
		return Draw{}
	}
	duty := p.Time / period
	if duty > 1 {
		p.Charge, p.Square, duty = p.Charge/duty, p.Square/duty, 1
		p.Time = period
	}
	open := float64(n) * duty
	whole, part := math.Modf(open)
	if part < 1e-12 { // rounding opens no further device
		part = 0
	} else if part > 1-1e-12 {
		whole, part = whole+1, 0
	}
	each := p.Charge / p.Time
	d := Draw{Mean: float64(n) * p.Charge / period, Peak: p.Peak * whole}
	if part > 0 {
		d.Peak = p.Peak * (whole + 1)
	}
	both := (1-part)*whole*whole + part*(whole+1)*(whole+1)
	square := each*each*math.Max(0, both-open) + float64(n)*p.Square/period
	d.While = square / d.Mean
	return d
}

// A Law is how the current of a load goes with its voltage.
type Law struct {
	Current  float64 // I0, A
	Voltage  float64 // at which it draws that, V
	Exponent float64
}

// The exponents of laws.
const (
	ConstantPower   = -1.0
	ConstantCurrent = 0.0 // a pump against a pressure: its motor's torque goes with the current
	Ohmic           = 1.0
	Filament        = 0.55 // tungsten: from memory
	Fan             = 2.0  // torque with the square of the speed, speed with the voltage; the motor's own losses left out
)

// At returns the current at a voltage U, V.
//
//	I = I0 (U/U0)^n
func (l Law) At(voltage float64) float64 {
	switch l.Exponent {
	case ConstantCurrent:
		return l.Current
	case Ohmic:
		return l.Current * voltage / l.Voltage
	}
	return l.Current * math.Pow(voltage/l.Voltage, l.Exponent)
}

// A Load is what one circuit feeds.
type Load struct {
	Name string
	Draw func(voltage float64) (Draw, error) // at the voltage that arrives, V
}
