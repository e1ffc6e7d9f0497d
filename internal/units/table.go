package units

import "math"

// A unit converts by SI = (value + shift)·mul/div. Two factors instead of one keep decimal units exact: 84 mm is
// 84/1000, the float64 nearest to 0.084, where 84·0.001 need not be.
type unit struct {
	name  string
	also  []string // other spellings
	mul   float64
	div   float64
	shift float64
}

func (u unit) toSI(v float64) float64   { return (v + u.shift) * u.mul / u.div }
func (u unit) fromSI(v float64) float64 { return v*u.div/u.mul - u.shift }

// Exact by definition: the international yard and pound agreement of 1959 (NIST SP 811, 2008, appendix B) and the
// standard acceleration of free fall (CGPM 1901).
const (
	standardGravity = 9.80665
	inch            = 0.0254
	foot            = 12 * inch
	mile            = 5280 * foot
	pound           = 0.45359237
	poundForce      = pound * standardGravity
	psi             = poundForce / (inch * inch)
	horsepower      = 550 * foot * poundForce
	metricHorse     = 75 * standardGravity // 75 kgf m/s
	usGallon        = 231 * inch * inch * inch
	imperialGallon  = 4.54609e-3
	btu             = 1055.05585262 // international table
	btuPerPound     = 2326.0        // by which the international-table BTU is defined, so exact
	atmosphere      = 101325.0
	// Conventional columns: mercury at 0 °C is 13 595.1 kg/m³ and water at 4 °C is 1000 kg/m³, both under standard
	// gravity (NIST SP 811, 2008, appendix B). An inch of mercury at 60 °F is 0.28 % less and is not used here.
	mercury = 13595.1 * standardGravity
	water   = 1000 * standardGravity
)

func by(mul float64, name string, also ...string) unit {
	return unit{name: name, also: also, mul: mul, div: 1}
}

func over(div float64, name string, also ...string) unit {
	return unit{name: name, also: also, mul: 1, div: div}
}

func ratio(mul, div float64, name string, also ...string) unit {
	return unit{name: name, also: also, mul: mul, div: div}
}

var pressureUnits = []unit{
	by(1e5, "bar"), by(1e3, "kPa"), by(1e2, "hPa"), by(1, "Pa"), by(1e6, "MPa"), by(1e2, "mbar"),
	by(psi, "psi"), by(mercury*inch, "inHg"), by(mercury*1e-3, "mmHg"), by(water*inch, "inH2O"),
	by(atmosphere, "atm"), by(standardGravity*1e4, "kgf/cm2"),
}

// Quantities that are shown in more than one way share their units.
var (
	lengthUnits = []unit{over(1e3, "mm"), over(1e2, "cm"), by(1, "m"), by(1e3, "km"), over(1e6, "µm", "um"),
		by(inch, "in"), by(foot, "ft"), by(mile, "mile", "miles"), ratio(inch, 1000, "thou")}
	massUnits   = []unit{by(1, "kg"), over(1e3, "g"), over(1e6, "mg"), by(pound, "lb"), ratio(pound, 16, "oz")}
	volumeUnits = []unit{over(1e6, "cm3", "cc", "mL", "ml"), over(1e3, "L", "l", "dm3"), over(1e9, "mm3"), by(1, "m3"),
		by(inch*inch*inch, "ci", "in3"), by(foot*foot*foot, "ft3"), by(usGallon, "US gal"),
		by(imperialGallon, "imp gal")}
	areaUnits       = []unit{over(1e4, "cm2"), over(1e6, "mm2"), by(1, "m2"), by(inch*inch, "in2"), by(foot*foot, "ft2")}
	timeUnits       = []unit{over(1e3, "ms"), by(1, "s"), over(1e6, "µs", "us"), by(60, "min"), by(3600, "h")}
	volumeFlowUnits = []unit{over(60e6, "cm3/min", "cc/min", "mL/min", "ml/min"), over(3600e3, "L/h", "l/h"),
		over(60e3, "L/min", "l/min"), over(1e3, "L/s", "l/s"), over(1e6, "cm3/s", "cc/s"), over(3600, "m3/h"),
		by(1, "m3/s"), ratio(foot*foot*foot, 60, "CFM", "cfm", "ft3/min"), ratio(usGallon, 3600, "US gal/h"), ratio(usGallon, 60, "US gal/min")}
	velocityUnits = []unit{by(1, "m/s"), over(3.6, "km/h"), ratio(mile, 3600, "mph"), ratio(1852, 3600, "knot", "knots"),
		by(foot, "ft/s"), ratio(foot, 60, "ft/min")}
	energyUnits  = []unit{by(1, "J"), over(1e3, "mJ"), by(1e3, "kJ"), by(1e6, "MJ"), by(btu, "BTU")}
	powerUnits   = []unit{by(1e3, "kW"), by(1, "W"), by(horsepower, "hp"), by(metricHorse, "PS")}
	voltageUnits = []unit{by(1, "V"), over(1e3, "mV"), by(1e3, "kV")}
)

// kinds is read only. The first unit of each list is the one a message gives as its example.
var kinds = [...]kindInfo{
	Number: {noun: "a number", show: [3]shown{{"", 3}, {"", 3}, {"", 3}}},
	Fraction: {noun: "a fraction",
		units: []unit{over(100, "%")},
		show:  [3]shown{{"%", 1}, {"%", 1}, {"", 4}}},
	Length: {noun: "a length", suffix: "_m", units: lengthUnits,
		show: [3]shown{{"mm", 1}, {"in", 3}, {"m", 4}}},
	FilmThickness: {noun: "a length", suffix: "_m", units: lengthUnits,
		show: [3]shown{{"µm", 2}, {"thou", 3}, {"m", 8}}},
	Area: {noun: "an area", suffix: "_m2",
		units: areaUnits,
		show:  [3]shown{{"cm2", 2}, {"in2", 3}, {"m2", 6}}},
	Volume: {noun: "a volume", suffix: "_m3", units: volumeUnits,
		show: [3]shown{{"cm3", 1}, {"ci", 2}, {"m3", 7}}},
	TankVolume: {noun: "a volume", suffix: "_m3", units: volumeUnits,
		show: [3]shown{{"L", 1}, {"US gal", 2}, {"m3", 5}}},
	Mass: {noun: "a mass", suffix: "_kg", units: massUnits,
		show: [3]shown{{"kg", 3}, {"lb", 3}, {"kg", 6}}},
	SmallMass: {noun: "a mass", suffix: "_kg", units: massUnits,
		show: [3]shown{{"mg", 1}, {"mg", 1}, {"kg", 9}}},
	Time: {noun: "a time", suffix: "_s", units: timeUnits,
		show: [3]shown{{"ms", 2}, {"ms", 2}, {"s", 5}}},
	Duration: {noun: "a time", suffix: "_s", units: timeUnits,
		show: [3]shown{{"min", 1}, {"min", 1}, {"s", 0}}},
	ShortDuration: {noun: "a time", suffix: "_s", units: timeUnits,
		show: [3]shown{{"s", 1}, {"s", 1}, {"s", 2}}},
	Angle: {noun: "an angle", suffix: "_deg",
		units: []unit{ratio(math.Pi, 180, "deg", "°"), by(1, "rad")},
		show:  [3]shown{{"deg", 1}, {"deg", 1}, {"rad", 4}}},
	Speed: {noun: "a speed of rotation", suffix: "_rpm",
		units: []unit{ratio(math.Pi, 30, "rpm", "rev/min"), by(1, "rad/s"), by(2*math.Pi, "Hz", "rev/s")},
		show:  [3]shown{{"rpm", 0}, {"rpm", 0}, {"rad/s", 2}}},
	Velocity: {noun: "a velocity", suffix: "_m_s", units: velocityUnits,
		show: [3]shown{{"m/s", 1}, {"ft/s", 1}, {"m/s", 2}}},
	RoadSpeed: {noun: "a velocity", suffix: "_m_s", units: velocityUnits,
		show: [3]shown{{"km/h", 0}, {"mph", 0}, {"m/s", 2}}},
	Acceleration: {noun: "an acceleration", suffix: "_m_s2",
		units: []unit{by(1, "m/s2"), by(standardGravity, "g"), by(foot, "ft/s2")},
		show:  [3]shown{{"g", 2}, {"g", 2}, {"m/s2", 2}}},
	Temperature: {noun: "a temperature", suffix: "_k",
		units: []unit{{name: "degC", also: []string{"°C", "C"}, mul: 1, div: 1, shift: 273.15}, by(1, "K"),
			{name: "degF", also: []string{"°F", "F"}, mul: 5, div: 9, shift: 459.67}, ratio(5, 9, "degR", "°R")},
		show: [3]shown{{"degC", 0}, {"degF", 0}, {"K", 1}}},
	TemperatureDifference: {noun: "a temperature difference", suffix: "_k",
		units: []unit{by(1, "K", "degC", "°C", "C"), ratio(5, 9, "degF", "°F", "F", "degR", "°R")},
		show:  [3]shown{{"K", 1}, {"degF", 1}, {"K", 2}}},
	Pressure: {noun: "an absolute pressure", suffix: "_pa", units: pressureUnits,
		show: [3]shown{{"bar", 2}, {"psi", 1}, {"Pa", 0}}},
	GaugePressure: {noun: "a gauge pressure", suffix: "_pa", units: pressureUnits,
		show: [3]shown{{"bar", 2}, {"psi", 1}, {"Pa", 0}}},
	PressureDifference: {noun: "a pressure difference", suffix: "_pa", units: pressureUnits,
		show: [3]shown{{"bar", 2}, {"psi", 1}, {"Pa", 0}}},
	MassFlow: {noun: "a mass flow", suffix: "_kg_s",
		units: []unit{by(1, "kg/s"), over(1e3, "g/s"), over(3600, "kg/h"), over(60, "kg/min"),
			ratio(pound, 60, "lb/min"), ratio(pound, 3600, "lb/h")},
		show: [3]shown{{"g/s", 1}, {"lb/min", 2}, {"kg/s", 5}}},
	VolumeFlow: {noun: "a volume flow", suffix: "_m3_s", units: volumeFlowUnits,
		show: [3]shown{{"cm3/min", 0}, {"cm3/min", 0}, {"m3/s", 9}}},
	PumpFlow: {noun: "a volume flow", suffix: "_m3_s", units: volumeFlowUnits,
		show: [3]shown{{"L/h", 0}, {"US gal/h", 1}, {"m3/s", 9}}},
	UseFlow: {noun: "a volume flow", suffix: "_m3_s", units: volumeFlowUnits,
		show: [3]shown{{"L/min", 2}, {"US gal/min", 2}, {"m3/s", 9}}},
	Density: {noun: "a density", suffix: "_kg_m3",
		units: []unit{by(1, "kg/m3"), by(1e3, "g/cm3", "g/cc"), by(1e3, "kg/L", "kg/l"),
			by(pound/(foot*foot*foot), "lb/ft3"), by(pound/usGallon, "lb/US gal"), by(pound/imperialGallon, "lb/imp gal")},
		show: [3]shown{{"kg/m3", 3}, {"lb/ft3", 4}, {"kg/m3", 4}}},
	Force: {noun: "a force", suffix: "_n",
		units: []unit{by(1, "N"), by(1e3, "kN"), by(poundForce, "lbf"), by(standardGravity, "kgf")},
		show:  [3]shown{{"N", 0}, {"lbf", 0}, {"N", 1}}},
	Torque: {noun: "a torque", suffix: "_nm",
		units: []unit{by(1, "Nm", "N m"), by(poundForce*foot, "lbf ft", "ft lbf", "lb ft", "ft lb"),
			by(standardGravity, "kgf m"), by(poundForce*inch, "lbf in", "in lbf")},
		show: [3]shown{{"Nm", 0}, {"lbf ft", 0}, {"Nm", 1}}},
	Power: {noun: "a power", suffix: "_w", units: powerUnits,
		show: [3]shown{{"kW", 1}, {"hp", 1}, {"W", 0}}},
	SmallPower: {noun: "a power", suffix: "_w", units: powerUnits,
		show: [3]shown{{"W", 0}, {"W", 0}, {"W", 1}}},
	Energy: {noun: "an energy", suffix: "_j", units: energyUnits,
		show: [3]shown{{"mJ", 1}, {"mJ", 1}, {"J", 4}}},
	RunEnergy: {noun: "an energy", suffix: "_j", units: energyUnits,
		show: [3]shown{{"kJ", 0}, {"BTU", 0}, {"J", 0}}},
	BatteryEnergy: {noun: "an energy", suffix: "_j",
		units: []unit{by(3600, "Wh"), by(3.6e6, "kWh"), by(1, "J"), by(1e3, "kJ")},
		show:  [3]shown{{"Wh", 1}, {"Wh", 1}, {"J", 0}}},
	SpecificEnergy: {noun: "a specific energy", suffix: "_j_kg",
		units: []unit{by(1e6, "MJ/kg"), by(1e3, "kJ/kg"), by(1, "J/kg"), by(btuPerPound, "BTU/lb")},
		show:  [3]shown{{"MJ/kg", 3}, {"BTU/lb", 0}, {"J/kg", 0}}},
	FuelConsumption: {noun: "a specific fuel consumption", suffix: "_kg_j",
		units: []unit{over(3.6e9, "g/kWh", "g/kW/h"), over(3.6e6, "kg/kWh", "kg/kW/h"),
			ratio(pound, horsepower*3600, "lb/hp/h"), by(1, "kg/J")},
		show: [3]shown{{"g/kWh", 0}, {"lb/hp/h", 3}, {"kg/J", 11}}},
	Voltage: {noun: "a voltage", suffix: "_v", units: voltageUnits,
		show: [3]shown{{"V", 2}, {"V", 2}, {"V", 3}}},
	HighVoltage: {noun: "a voltage", suffix: "_v", units: voltageUnits,
		show: [3]shown{{"kV", 1}, {"kV", 1}, {"V", 0}}},
	Current: {noun: "a current", suffix: "_a",
		units: []unit{by(1, "A"), over(1e3, "mA")},
		show:  [3]shown{{"A", 1}, {"A", 1}, {"A", 3}}},
	Resistance: {noun: "a resistance", suffix: "_ohm",
		units: []unit{by(1, "ohm", "Ω"), over(1e3, "mohm", "mΩ"), by(1e3, "kohm", "kΩ")},
		show:  [3]shown{{"ohm", 3}, {"ohm", 3}, {"ohm", 5}}},
	WireArea: {noun: "an area", suffix: "_m2", units: areaUnits,
		show: [3]shown{{"mm2", 2}, {"mm2", 2}, {"m2", 9}}},
	Charge: {noun: "a charge", suffix: "_a_s",
		units: []unit{by(3600, "Ah", "A h"), by(1, "As", "A s", "C"), ratio(3600, 1000, "mAh")},
		show:  [3]shown{{"Ah", 1}, {"Ah", 1}, {"As", 0}}},
	Inductance: {noun: "an inductance", suffix: "_h",
		units: []unit{over(1e3, "mH"), by(1, "H"), over(1e6, "µH", "uH")},
		show:  [3]shown{{"mH", 2}, {"mH", 2}, {"H", 6}}},
	KinematicViscosity: {noun: "a kinematic viscosity", suffix: "_m2_s",
		units: []unit{over(1e6, "mm2/s", "cSt"), by(1, "m2/s")},
		show:  [3]shown{{"mm2/s", 1}, {"cSt", 1}, {"m2/s", 9}}},
	DynamicViscosity: {noun: "a dynamic viscosity", suffix: "_pa_s",
		units: []unit{over(1e3, "mPa s", "cP"), by(1, "Pa s")},
		show:  [3]shown{{"mPa s", 1}, {"cP", 1}, {"Pa s", 6}}},
	Stress: {noun: "a stress", suffix: "_pa",
		units: []unit{by(1e6, "MPa", "N/mm2"), by(1e9, "GPa"), by(1e5, "bar"), by(psi, "psi"), by(1e3*psi, "ksi"), by(1, "Pa")},
		show:  [3]shown{{"MPa", 1}, {"psi", 0}, {"Pa", 0}}},
	Stiffness: {noun: "a stiffness", suffix: "_n_m",
		units: []unit{by(1e3, "N/mm", "kN/m"), by(1, "N/m"), by(poundForce/inch, "lbf/in")},
		show:  [3]shown{{"N/mm", 1}, {"lbf/in", 1}, {"N/m", 0}}},
	RunTime: {noun: "a time", suffix: "_s", units: timeUnits,
		show: [3]shown{{"s", 2}, {"s", 2}, {"s", 3}}},
	Distance: {noun: "a length", suffix: "_m", units: lengthUnits,
		show: [3]shown{{"m", 0}, {"ft", 0}, {"m", 1}}},
	Inertia: {noun: "a moment of inertia", suffix: "_kg_m2",
		units: []unit{by(1, "kg m2", "kgm2"), over(1e4, "kg cm2", "kgcm2"), over(1e6, "kg mm2", "kgmm2"), by(pound*inch*inch, "lb in2"), by(pound*foot*foot,
			"lb ft2")},
		show: [3]shown{{"kg m2", 3}, {"lb ft2", 2}, {"kg m2", 5}}},
	ThermalConductance: {noun: "a thermal conductance", suffix: "_w_k",
		units: []unit{by(1e3, "kW/K"), by(1, "W/K"), ratio(btu*9, 5*60, "BTU/min/degF")},
		show:  [3]shown{{"kW/K", 3}, {"BTU/min/degF", 1}, {"W/K", 1}}},
}

// gaugeDiameter returns the diameter, m, of a bare round wire of an American Wire Gauge number; 0, −1, −2 and −3 stand
// for 1/0 to 4/0.
//
//	d = 0.005 in · 92^((36 − n)/39)
//
// Source: ASTM B258. Holds for 4/0 to 40, the sizes of that standard's table that vehicles use.
func gaugeDiameter(n float64) float64 { return 0.005 * inch * math.Pow(92, (36-n)/39) }
