package run

import (
	"errors"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/geometry"
	"bellmouth/internal/spec"
)

// A CrankLoad is what one cylinder's crank train carries at an operating point.
type CrankLoad struct {
	Speed float64 // rad/s
	geometry.Loads
	PinArea float64 // projected area of a rod's bearing, m²; 0 where the spec does not tell it
	Err     error   // why there is none
}

// PinPressure and MeanPinPressure are the greatest and the mean pressure on the projected area of the crank pin's bearing, Pa. They need the area.
func (l *CrankLoad) PinPressure() float64     { return l.Pin.Value / l.PinArea }
func (l *CrankLoad) MeanPinPressure() float64 { return l.MeanPin / l.PinArea }

// ErrNoPin says why pressures of the crank pin are not known.
var ErrNoPin = errors.New("crank pins are given for the friction model components alone")

// Cranks computes what the crank train of a run's engine carries. It does not change and serves any number of goroutines.
type Cranks struct {
	trim    *spec.Trim
	tracer  *airpath.Tracer
	pinArea float64
}

// HasBottomEnd reports whether the trim says what moves with its pistons.
func (r *Run) HasBottomEnd() bool { return r.Trim.Engine.BottomEnd != nil }

// NewCranks makes it. It needs a bottom end.
func NewCranks(r *Run) (*Cranks, error) {
	tracer, err := r.Engine.NewTracer()
	if err != nil {
		return nil, err
	}
	c := Cranks{trim: r.Trim, tracer: tracer}
	if f := r.Trim.Engine.Friction.Components; f != nil {
		c.pinArea = f.CrankPins.Diameter * f.CrankPins.Length
	}
	return &c, nil
}

// At returns the loads at an outcome: those of the mean cycle at its operating point, the crankcase's pressure below the piston.
func (c *Cranks) At(o *boost.Outcome) CrankLoad {
	l := CrankLoad{Speed: o.Speed, PinArea: c.pinArea, Err: o.Err}
	if o.Err != nil {
		l.Err = ErrNoSolution
		return l
	}
	trace, err := c.tracer.At(&o.Point)
	if err != nil {
		l.Err = err
		return l
	}
	e := &c.trim.Engine
	l.Loads = e.Cylinder.Loads(e.BottomEnd.Masses, o.Speed, e.BottomEnd.CrankcasePressure, trace)
	return l
}

// Overrun returns the loads about the top dead centre of gas exchange at the limiter with the throttle closed: the cylinder is taken to be at the
// spec's overrun pressure. That is where the rod is pulled most, and all that is told of it.
func (c *Cranks) Overrun() CrankLoad {
	e := &c.trim.Engine
	const step = math.Pi / 360
	var trace []geometry.Pressure
	for i := -180; i <= 180; i++ {
		trace = append(trace, geometry.Pressure{Angle: 2*math.Pi + float64(i)*step, Value: e.BottomEnd.OverrunPressure})
	}
	all := e.Cylinder.Loads(e.BottomEnd.Masses, e.Limiter, e.BottomEnd.CrankcasePressure, trace)
	return CrankLoad{Speed: e.Limiter, PinArea: c.pinArea, Loads: geometry.Loads{Tension: all.Tension, Joint: all.Joint}}
}

// A LoadKind is one of the forces that a crank train is judged by.
type LoadKind int

// The forces.
const (
	RodTension LoadKind = iota
	RodCompression
	SideThrust
	PinLoad
	BoltLoad
)

// Peak returns the greatest of a kind.
func (l *CrankLoad) Peak(k LoadKind) geometry.Peak {
	return [...]geometry.Peak{l.Tension, l.Compression, l.Side, l.Pin, l.Joint}[k]
}

// A WorstLoad is the greatest of a kind over speed, on the overrun too.
type WorstLoad struct {
	Kind LoadKind
	geometry.Peak
	Load    CrankLoad
	Overrun bool // the throttle closed, at the limiter
}

// Worst returns the greatest of a kind at the loads of full load and on the overrun; ok is false where no point has a solution.
func Worst(k LoadKind, loads []CrankLoad, overrun CrankLoad) (w WorstLoad, ok bool) {
	w.Kind = k
	for i := range loads {
		if l := &loads[i]; l.Err == nil && (!ok || l.Peak(k).Value > w.Value) {
			w.Peak, w.Load, ok = l.Peak(k), *l, true
		}
	}
	if p := overrun.Peak(k); ok && p.Value > w.Value {
		w.Peak, w.Load, w.Overrun = p, overrun, true
	}
	return w, ok
}

// A Clamp is a joint under the greatest force that pulls it apart.
type Clamp struct {
	*spec.Fastenings
	Force   float64 // on the joint, N
	Speed   float64 // at which it is, rad/s
	Overrun bool
}

// Left and Pull are the share of the least clamp that the force leaves, and the greatest stress in a bolt, Pa.
func (c *Clamp) Left() float64 { return c.ClampLeft(c.Force) }
func (c *Clamp) Pull() float64 { return c.Stress(c.Force) }

// RodClamp returns the rod bolts under the greatest load; ok is false without them, or where no point has a solution.
func (r *Run) RodClamp(loads []CrankLoad, overrun CrankLoad) (c Clamp, ok bool) {
	end := r.Trim.Engine.BottomEnd
	if end == nil || end.RodBolts == nil {
		return Clamp{}, false
	}
	w, ok := Worst(BoltLoad, loads, overrun)
	return Clamp{Fastenings: end.RodBolts, Force: w.Value, Speed: w.Load.Speed, Overrun: w.Overrun}, ok
}

// HeadLift returns the force that lifts the head off one cylinder at a point, N: the peak pressure of the mean cycle above the venue's on the sealed
// area.
func (r *Run) HeadLift(p *airpath.Point) float64 {
	return (p.PeakPressure - r.Trim.Venue.Pressure) * r.Trim.Engine.Head.SealArea
}

// HeadClamp returns the bolts of the head under the greatest peak pressure; ok is false without them, or where no point has a solution.
func (r *Run) HeadClamp() (c Clamp, ok bool) {
	h := r.Trim.Engine.Head
	if h == nil {
		return Clamp{}, false
	}
	o := r.Peak(func(p *airpath.Point) float64 { return p.PeakPressure })
	if o == nil {
		return Clamp{}, false
	}
	return Clamp{Fastenings: &h.Bolts, Force: r.HeadLift(&o.Point), Speed: o.Speed}, true
}
