package spec

import (
	"bellmouth/internal/gearing"
)

// A Driveline is what takes the torque.
type Driveline struct {
	TorqueLimit   float64   // of the gearbox, N m
	Gears         []float64 // ratio of each gear, from the first; nil when not given
	Final         float64   // ratio of the final drive; 0 when not given
	Efficiency    []float64 // of each gear, wheel torque over engine torque times ratio; nil without gears
	EngineInertia float64   // of crank, flywheel and clutch, kg m²; 0 when not given
	LaunchSpeed   float64   // engine speed of a standing start, rad/s; 0 when not given
	Shift         gearing.Shift
	DownTime      float64 // of a downshift, in which the engine comes up, s
	ShiftComputed bool    // what a shift leaves of the boost follows from turbine.rotor_inertia
}

// Ratios returns the overall ratio of each gear, gear and final drive, from the first; nil without gears.
func (d Driveline) Ratios() []float64 {
	var ratios []float64
	for _, gear := range d.Gears {
		ratios = append(ratios, gear*d.Final)
	}
	return ratios
}

// Overall returns the gears as they turn the wheels, from the first; nil without gears.
func (d Driveline) Overall() []gearing.Gear {
	var gears []gearing.Gear
	for i, ratio := range d.Ratios() {
		gears = append(gears, gearing.Gear{Overall: ratio, Efficiency: d.Efficiency[i]})
	}
	return gears
}

// Surfaces are what the car may drive on, in the order of the file.
type Surfaces []Surface

// A Surface is a road by name.
type Surface struct {
	Name string
	Grip float64
	// Rolling is the rolling resistance; the car's where the file has none for it.
	Rolling float64
}

// Named returns the surface of a name; ok is false where there is none.
func (s Surfaces) Named(name string) (surface Surface, ok bool) {
	for _, one := range s {
		if one.Name == name {
			return one, true
		}
	}
	return Surface{}, false
}

// Names returns the names of the surfaces.
func (s Surfaces) Names() []string {
	names := make([]string, len(s))
	for i := range s {
		names[i] = s[i].Name
	}
	return names
}
