// Package units turns text with a unit into SI values and SI values back into text. It is the one place where units
// other than SI exist: what has the wrong kind of unit, or none, does not get in.
package units

import "strings"

// A Kind is what a quantity measures. It decides which units fit, not how values combine.
type Kind int

const (
	Number                Kind = iota // a plain number, without unit
	Fraction                          // a share of one; text may say 0.78 or 78 %
	Length                            // m
	Area                              // m²
	Volume                            // m³
	Mass                              // kg
	Time                              // s
	Angle                             // rad
	Speed                             // of rotation, rad/s
	Velocity                          // m/s
	Acceleration                      // m/s²
	Temperature                       // K
	TemperatureDifference             // K
	Pressure                          // absolute, Pa
	GaugePressure                     // above the venue's pressure, Pa
	PressureDifference                // Pa
	MassFlow                          // kg/s
	VolumeFlow                        // m³/s
	Density                           // kg/m³
	Force                             // N
	Torque                            // N m
	Power                             // W
	Energy                            // J
	SpecificEnergy                    // J/kg
	FuelConsumption                   // brake specific, kg/J
	Voltage                           // V
	Current                           // A
	Resistance                        // Ω
	Inductance                        // H
	KinematicViscosity                // m²/s
	DynamicViscosity                  // Pa s
	Stiffness                         // N/m
	SmallMass                         // what one cycle takes, kg
	PumpFlow                          // of fuel in pump and line, m³/s
	UseFlow                           // of fuel as a tank loses it, m³/s
	TankVolume                        // m³
	Duration                          // of a run, s
	SmallPower                        // of an electrical part, W
	HighVoltage                       // of a spark, V
	RoadSpeed                         // of a car, m/s
	ShortDuration                     // of a corner, s
	FilmThickness                     // of oil, m
	Inertia                           // of what turns, kg m²
	Distance                          // along a road, m
	RunTime                           // of a run-up or a stage, s
	Stress                            // in a part, or of a bearing, Pa
	Charge                            // of a battery, A s
	BatteryEnergy                     // out of a battery, J
	WireArea                          // of a conductor, m²
	RunEnergy                         // of a car over a run, J
	ThermalConductance                // of a radiator, W/K
)

// A kindInfo is all that is known of a kind: what to call it, its units with the SI one among them, which of them a
// table shows, and how a JSON key ends.
type kindInfo struct {
	noun   string // with its article, for messages
	suffix string
	units  []unit
	show   [3]shown // by System
}

type shown struct {
	name   string
	digits int
}

// String returns the kind's name in words, "gauge pressure".
func (k Kind) String() string {
	if k < 0 || int(k) >= len(kinds) {
		return "unknown kind"
	}
	noun := kinds[k].noun
	return noun[strings.IndexByte(noun, ' ')+1:]
}

// SISuffix returns the end of a JSON key of this kind, "_pa" or "_kg_s", and "" for numbers and fractions. Engine and
// shaft speeds end in "_rpm" and angles in "_deg", since that is how they are read everywhere.
func SISuffix(k Kind) string { return kinds[k].suffix }

// unitNames lists the units that fit a kind, for messages.
func unitNames(k Kind) string {
	var b strings.Builder
	for i, u := range kinds[k].units {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(u.name)
	}
	return b.String()
}

// find returns the unit of a kind that text names, spelled as in the table or as one of its other spellings.
func find(text string, k Kind) (unit, bool) {
	for _, u := range kinds[k].units {
		if u.name == text {
			return u, true
		}
		for _, a := range u.also {
			if a == text {
				return u, true
			}
		}
	}
	return unit{}, false
}
