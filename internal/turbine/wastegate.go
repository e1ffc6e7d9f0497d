package turbine

import (
	"fmt"
	"math"

	"bellmouth/internal/gas"
)

// A Wastegate is one or several equal poppet valves that lead exhaust past the turbine.
type Wastegate struct {
	Bore      float64 // diameter of the valve's seat d, m
	Lift      float64 // greatest lift, m
	Discharge float64 // discharge coefficient Cd of the open area
	Count     int     // valves
}

// Validate returns an error when a figure is outside its range.
func (w Wastegate) Validate() error {
	switch {
	case !(w.Bore > 0) || math.IsInf(w.Bore, 1):
		return fmt.Errorf("wastegate bore is %v m; want more than 0", w.Bore)
	case !(w.Lift > 0) || math.IsInf(w.Lift, 1):
		return fmt.Errorf("wastegate lift is %v m; want more than 0", w.Lift)
	case !(w.Discharge > 0 && w.Discharge <= 1):
		return fmt.Errorf("wastegate discharge coefficient is %v; want more than 0 and at most 1", w.Discharge)
	case w.Count < 1:
		return fmt.Errorf("wastegate count is %d; want at least 1", w.Count)
	}
	return nil
}

// OpenArea returns the open area of all valves at a lift l, m².
//
//	A = n π d min(l, d/4)
//
// The curtain round the valve is the narrowest place until it reaches the area of the seat, at a lift of a quarter of the
// bore. A lift below 0 or above the greatest counts as that end.
func (w Wastegate) OpenArea(lift float64) float64 {
	lift = math.Max(0, math.Min(lift, w.Lift))
	return float64(w.Count) * math.Pi * w.Bore * math.Min(lift, w.Bore/4)
}

// A Nozzle is what a valve between exhaust manifold and turbine outlet finds on both its sides.
type Nozzle struct {
	Pressure       float64 // total pressure before it p3, Pa absolute
	Temperature    float64 // total temperature before it T3, K
	OutletPressure float64 // p4, Pa absolute
	Gamma          float64
	GasConstant    float64 // J/(kg K)
	Pulse          Pulse   // of the exhaust before it; only its factor of flow counts
}

// flux returns the mass flow through a unit of effective area, kg/(s m²). The other way round nothing flows.
func (n Nozzle) flux() float64 {
	if !(n.Pressure > n.OutletPressure) {
		return 0
	}
	pulse, _ := n.Pulse.Factors(n.Pressure / n.OutletPressure)
	return pulse * n.Pressure / math.Sqrt(n.GasConstant*n.Temperature) * gas.FlowFunction(n.OutletPressure/n.Pressure, n.Gamma)
}

// Flow returns the mass flow through all valves at a lift, kg/s.
//
//	m = f Cd A p3/√(R T3) ψ(p4/p3, γ)
//
// f is the pulses' factor of flow, 1 in a steady stream: a valve beside the turbine is a nozzle before the same pressure.
// Source: de Saint-Venant and Wantzel, as in NACA Report 1135 (1953).
func (w Wastegate) Flow(n Nozzle, lift float64) float64 {
	return w.Discharge * w.OpenArea(lift) * n.flux()
}

// MaxFlow returns the mass flow through all valves when fully open, kg/s.
func (w Wastegate) MaxFlow(n Nozzle) float64 { return w.Flow(n, w.Lift) }

// LiftFor returns the lift, m, at which the valves pass the mass flow, kg/s, and whether they can.
//
//	l = m/(Cd n π d flux)
//
// Where they cannot, the lift is the greatest.
func (w Wastegate) LiftFor(n Nozzle, flow float64) (lift float64, ok bool) {
	if !(flow > 0) {
		return 0, flow <= 0
	}
	if !(flow <= w.MaxFlow(n)) {
		return w.Lift, false
	}
	lift = flow / (w.Discharge * float64(w.Count) * math.Pi * w.Bore * n.flux())
	return math.Min(lift, w.Lift), true
}
