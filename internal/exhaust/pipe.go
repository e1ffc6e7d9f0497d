// Package exhaust computes how far the exhaust cools between valve and turbine, or the point where it is measured. The
// temperature that a probe there reads belongs to it, since a measured exhaust temperature is that reading.
//
// Heat passes from the gas to the walls by convection alone. Gas radiation is left out; in pipes of a few centimetres it is a few
// per cent of convection (common practice, no source). So is what flows along the walls from the manifold to the cooled head, and the
// drop of temperature through a wall, since h times thickness over conductivity is about 0.01 for steel and iron.
package exhaust

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/remark"
	"bellmouth/internal/units"
)

// stefanBoltzmann is σ, W/(m² K⁴). Source: CODATA 2018, exact.
const stefanBoltzmann = 5.670374419e-8

// A Wall is what the heat of a pipe goes to: coolant that holds it at a temperature, or the surroundings of a free pipe.
type Wall struct {
	Temperature float64 // at which coolant holds it Tw, K; 0: the pipe is free and finds its own, by the figures below
	Thickness   float64 // m
	Emissivity  float64 // of the outer surface ε
	Transfer    float64 // outer coefficient of convection ho, W/(m² K)
	Exposure    float64 // loss to the outside over that of the bare pipe F; 1: bare, 0: none
}

// The walls a pipe can have when nothing better is known. All figures are assumptions, from memory, and so are their ranges.
const (
	PortWallTemperature = 480  // water-cooled exhaust port, K; 420 to 520
	OxidisedEmissivity  = 0.8  // oxidised steel or cast iron; 0.6 to 0.9
	OuterTransfer       = 25   // moving air round a manifold, W/(m² K); 10 at rest, 60 in a draught
	Bare                = 1    // exposure of a bare tube or casting
	Wrapped             = 0.5  // under heat wrap; 0.3 to 0.7
	AirGap              = 0.25 // double-walled, or under a tight shield; 0.15 to 0.4
)

// Cooled returns the wall of a port in a water-cooled head.
func Cooled() Wall { return Wall{Temperature: PortWallTemperature} }

// Free returns the wall of a manifold's pipe of this thickness, m, and exposure: Bare, Wrapped or AirGap.
func Free(thickness, exposure float64) Wall {
	return Wall{Thickness: thickness, Emissivity: OxidisedEmissivity, Transfer: OuterTransfer, Exposure: exposure}
}

// A Pipe is one piece of one cylinder's way out.
type Pipe struct {
	Length float64 // L, m; 0: none
	Bore   float64 // D, of the circle with the same area, m
	Wall   Wall
}

// Validate returns an error when a figure is outside its range.
func (p *Pipe) Validate() error {
	if !(p.Length >= 0 && p.Length <= 10) {
		return fmt.Errorf("length is %v m; want 0 to 10 m", p.Length)
	}
	if !(p.Bore >= 0.005 && p.Bore <= 0.5) {
		return fmt.Errorf("bore is %v m; want 0.005 m to 0.5 m", p.Bore)
	}
	w := &p.Wall
	if w.Temperature != 0 {
		return gas.CheckRange("wall temperature", w.Temperature, 250, 1500, "K")
	}
	switch {
	case !(w.Thickness >= 0 && w.Thickness <= 0.05):
		return fmt.Errorf("wall thickness is %v m; want 0 to 0.05 m", w.Thickness)
	case !(w.Emissivity >= 0 && w.Emissivity <= 1):
		return fmt.Errorf("emissivity of the wall is %v; want 0 to 1", w.Emissivity)
	case !(w.Transfer >= 0 && w.Transfer <= 1000):
		return fmt.Errorf("outer coefficient of convection is %v W/(m² K); want 0 to 1000", w.Transfer)
	case !(w.Exposure >= 0 && w.Exposure <= 1):
		return fmt.Errorf("exposure of the wall is %v; want 0 to 1", w.Exposure)
	}
	return nil
}

// A System is the way of the exhaust from the valves of every cylinder to turbine, collector or probe. Each cylinder has a port in
// the head, then a runner of the manifold, its primary.
type System struct {
	Port    Pipe
	Primary Pipe
	Count   int // cylinders
}

// Validate returns an error that names the piece and the figure outside its range.
func (s *System) Validate() error {
	if s.Count < 1 {
		return fmt.Errorf("cylinder count is %d; want at least 1", s.Count)
	}
	if err := s.Port.Validate(); err != nil {
		return fmt.Errorf("exhaust port: %w", err)
	}
	if err := s.Primary.Validate(); err != nil {
		return fmt.Errorf("exhaust primary: %w", err)
	}
	return nil
}

// Until returns the system as far as a point that lies the distance, m, downstream of the head's face: a probe's, say. A point
// beyond the primary's end leaves the system as it is.
func (s System) Until(distance float64) System {
	s.Primary.Length = max(min(s.Primary.Length, distance), 0)
	return s
}

// A Geometry is what Default takes its dimensions from.
type Geometry struct {
	Cylinders       int
	Bore            float64 // of the cylinder, m
	ExhaustCount    int     // exhaust valves of a cylinder
	ExhaustDiameter float64 // of an exhaust valve's head, m
	Turbocharged    bool
}

// Default returns the system of an engine of which only cylinder and valves are known.
//
//	port:    L = 1.05 B, D = 0.9 √n Dv, wall held at 480 K
//	primary: D = 1.05 of the port's; to the turbine 250 mm of 3 mm wall, to a collector 600 mm of 1.5 mm, both bare
//
// B is the cylinder's bore, n and Dv count and head diameter of its exhaust valves. The port is 90 mm long in a head of 86 mm bore,
// and its area 0.81 of the heads'. All of it is common practice, no source. What the pipes measure on the engine is better: a log
// manifold is half as long. A probe sits 50 mm to 150 mm from the head's face, see Until.
func Default(g Geometry) (System, error) {
	switch {
	case g.Cylinders < 1:
		return System{}, fmt.Errorf("cylinder count is %d; want at least 1", g.Cylinders)
	case g.ExhaustCount < 1:
		return System{}, fmt.Errorf("exhaust valve count is %d; want at least 1", g.ExhaustCount)
	case !(g.Bore > 0 && g.Bore <= 1):
		return System{}, fmt.Errorf("bore is %v m; want more than 0 and at most 1 m", g.Bore)
	case !(g.ExhaustDiameter > 0 && g.ExhaustDiameter <= g.Bore):
		return System{}, fmt.Errorf("exhaust valve diameter is %v m; want more than 0 and at most the bore, %v m", g.ExhaustDiameter, g.Bore)
	}
	bore := 0.9 * math.Sqrt(float64(g.ExhaustCount)) * g.ExhaustDiameter
	s := System{
		Port:    Pipe{Length: 1.05 * g.Bore, Bore: bore, Wall: Cooled()},
		Primary: Pipe{Length: 0.600, Bore: 1.05 * bore, Wall: Free(0.0015, Bare)},
		Count:   g.Cylinders,
	}
	if g.Turbocharged {
		s.Primary.Length, s.Primary.Wall = 0.250, Free(0.003, Bare)
	}
	return s, s.Validate()
}

// A Note is a set of remarks that cast doubt on a result without stopping it.
type Note uint8

// The notes of a result.
const (
	NoteReynolds    Note = 1 << iota // Reynolds number outside 5e3 to 2e5, where Nusselt was compared with other authors
	NoteTemperature                  // mean gas temperature outside 500 K to 4000 K, where Viscosity holds
	NoteSpeed                        // gas past a probe faster than Mach 0.5
	NoteSlow                         // gas past a probe so slow that CrossflowNusselt does not hold
	noteEnd
)

var noteTexts = map[Note]string{
	NoteReynolds:    "Reynolds number of the exhaust outside 5000 to 200 000: its heat transfer was not compared there",
	NoteTemperature: "exhaust below " + units.Kelvin(500) + " or above " + units.Kelvin(4000) + ", where its viscosity is not known to hold",
	NoteSpeed:       "gas passes the probe faster than Mach 0.5: its recovery is not known to hold",
	NoteSlow:        "gas stands almost still at the probe: the heat it gives the sheath is not known",
}

// Texts returns the notes in words.
func (n Note) Texts() []string { return remark.Texts(n, noteTexts) }

var errDiverged = errors.New("the wall's heat balance was not found")
