package spec

import (
	"bellmouth/internal/numeric"
	"bellmouth/internal/wiring"
)

// A Wiring is what feeds the car's electrical loads.
type Wiring struct {
	Insulation  wiring.Insulation
	LargestDrop float64        // accepted in wires, share of the source's voltage
	FuseLoad    float64        // share of a fuse's or a channel's rating that may flow continuously
	Bundle      float64        // share of a single wire's current that a wire carries where it lies
	Alternator  *Alternator    // nil without one
	Battery     wiring.Battery // at rest
	Feed        *wiring.Wire   // from the battery to the channels; nil: no loss there
	Channels    []Channel      // in the file's order, each with its loads
	Modes       []Mode         // in the file's order
	FullLoad    *Mode          // of Modes: whose loads are on at full load
	Loop        WiringLoop
	LeftOut     []LeftOut // in the file's order
}

// A LeftOut is a load that draws nothing, because the trim has not the part that it stands for.
type LeftOut struct {
	Load string
	Why  string
}

// A WiringLoop is whose voltage follows from the wiring, because the spec does not state it.
type WiringLoop struct{ Injectors, Pumps, Lift, Coils bool }

// Any reports whether a voltage follows from the wiring.
func (l WiringLoop) Any() bool { return l.Injectors || l.Pumps || l.Lift || l.Coils }

// An Alternator is what charges.
type Alternator struct {
	Voltage float64       // that its regulator holds, V
	Pulley  float64       // its speed over the engine's
	Output  numeric.Curve // at most, A, over its own speed
}

// A Channel is a managed output or a fuse, with the wire to its loads.
type Channel struct {
	Name  string
	Limit float64 // that a managed output bears continuously, A; 0: a fuse
	Peak  float64 // that it bears while its loads start, A
	Fuse  float64 // rating of the fuse, A; 0: a managed output
	Wire  wiring.Wire
	Loads []ElectricLoad
}

// A LoadKind is what draws a current.
type LoadKind int

// The kinds of loads.
const (
	SteadyLoad LoadKind = iota
	FanLoad
	LampLoad
	PrimaryInjectors
	SecondaryInjectors
	Coils
	MainPumps
	LiftPumps
	BoostValve
)

var loadKinds = [...]string{"steady", "fan", "lamp", "primary injectors", "secondary injectors", "coils", "fuel pumps", "lift pumps", "boost valve"}

// String returns the kind as the spec has it.
func (k LoadKind) String() string { return loadKinds[k] }

// An ElectricLoad is one load of a channel.
type ElectricLoad struct {
	Name       string
	Kind       LoadKind
	Count      int           // injectors, coils, pumps or valves on it
	Law        wiring.Law    // of steady loads, fans and lamps
	Resistance float64       // of one injector or valve that is switched straight on, Ω
	Peak, Hold float64       // of one injector with a driver that holds its current, A
	PeakTime   float64       // s
	Pump       numeric.Curve // current of one pump, A, over the pressure that it adds, Pa
	Closing    bool          // a boost valve of the port that closes the wastegate
	Inrush     float64       // when switched on, over the current at work
	InrushTime float64       // s
	EngineOff  bool          // the engine stops without it
}

// A Mode is which loads are on at an engine speed.
type Mode struct {
	Name  string
	Speed float64 // of the engine, rad/s
	On    []string
	Time  float64 // that it lasts, s; 0: without an end
	Fuel  float64 // share of the fuel of a cycle at full load
}

// Has reports whether a load is on.
func (m *Mode) Has(load string) bool {
	for _, name := range m.On {
		if name == load {
			return true
		}
	}
	return false
}
