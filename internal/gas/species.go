package gas

// MolarGasConstant is R, J/(mol K), as used in the 2002 fit of the coefficients. The CODATA 2018 value is 6e-6 smaller;
// it would not reproduce the fit.
const MolarGasConstant = 8.314510

// ReferenceTemperature is the temperature, K, at which the elements have zero enthalpy.
const ReferenceTemperature = 298.15

// A Species is one of the gases that air and burned charge are made of.
type Species int

// The species of a Composition, in its order.
const (
	N2 Species = iota
	O2
	Ar
	CO2
	H2O
	CO
	H2
	speciesCount
)

// String returns the chemical formula.
func (s Species) String() string {
	if s < 0 || s >= speciesCount {
		return "unknown species"
	}
	return speciesTable[s].name
}

// MolarMass returns the molar mass M, kg/mol, that belongs to the species' fit; zero for an unknown species.
func (s Species) MolarMass() float64 {
	if s < 0 || s >= speciesCount {
		return 0
	}
	return speciesTable[s].molarMass
}

// A Fit holds the nine coefficients a1 to a7, b1, b2 of one temperature range:
//
//	cp/R  = a1/T² + a2/T + a3 + a4 T + a5 T² + a6 T³ + a7 T⁴
//	H/RT  = −a1/T² + a2 ln T/T + a3 + a4 T/2 + a5 T²/3 + a6 T³/4 + a7 T⁴/5 + b1/T
//	S/R   = −a1/2T² − a2/T + a3 ln T + a4 T + a5 T²/2 + a6 T³/3 + a7 T⁴/4 + b2
//
// H includes the heat of formation from the elements at 298.15 K; S is at 1 bar.
// Source: McBride, Zehe and Gordon, NASA/TP-2002-211556.
type Fit [9]float64

// speciesTable holds the coefficients as printed in NASA/TP-2002-211556: low is 200 K to 1000 K, high 1000 K to 6000 K.
var speciesTable = [speciesCount]struct {
	name      string
	molarMass float64 // kg/mol
	low, high Fit
}{
	N2: {
		name: "N2", molarMass: 28.0134e-3,
		low:  Fit{22103.71497, -381.846182, 6.08273836, -0.00853091441, 1.384646189e-05, -9.62579362e-09, 2.519705809e-12, 710.846086, -10.76003744},
		high: Fit{587712.406, -2239.249073, 6.06694922, -0.00061396855, 1.491806679e-07, -1.923105485e-11, 1.061954386e-15, 12832.10415, -15.86640027},
	},
	O2: {
		name: "O2", molarMass: 31.9988e-3,
		low:  Fit{-34255.6342, 484.700097, 1.119010961, 0.00429388924, -6.83630052e-07, -2.0233727e-09, 1.039040018e-12, -3391.45487, 18.4969947},
		high: Fit{-1037939.022, 2344.830282, 1.819732036, 0.001267847582, -2.188067988e-07, 2.053719572e-11, -8.19346705e-16, -16890.10929, 17.38716506},
	},
	Ar: {
		name: "Ar", molarMass: 39.948e-3,
		low:  Fit{0, 0, 2.5, 0, 0, 0, 0, -745.375, 4.37967491},
		high: Fit{20.10538475, -0.0599266107, 2.500069401, -3.99214116e-08, 1.20527214e-11, -1.819015576e-15, 1.078576636e-19, -744.993961, 4.37918011},
	},
	CO2: {
		name: "CO2", molarMass: 44.0095e-3,
		low:  Fit{49436.5054, -626.411601, 5.30172524, 0.002503813816, -2.127308728e-07, -7.68998878e-10, 2.849677801e-13, -45281.9846, -7.04827944},
		high: Fit{117696.2419, -1788.791477, 8.29152319, -9.22315678e-05, 4.86367688e-09, -1.891053312e-12, 6.33003659e-16, -39083.5059, -26.52669281},
	},
	H2O: {
		name: "H2O", molarMass: 18.01528e-3,
		low:  Fit{-39479.6083, 575.573102, 0.931782653, 0.00722271286, -7.34255737e-06, 4.95504349e-09, -1.336933246e-12, -33039.7431, 17.24205775},
		high: Fit{1034972.096, -2412.698562, 4.64611078, 0.002291998307, -6.83683048e-07, 9.42646893e-11, -4.82238053e-15, -13842.86509, -7.97814851},
	},
	CO: {
		name: "CO", molarMass: 28.0101e-3,
		low:  Fit{14890.45326, -292.2285939, 5.72452717, -0.00817623503, 1.456903469e-05, -1.087746302e-08, 3.027941827e-12, -13031.31878, -7.85924135},
		high: Fit{461919.725, -1944.704863, 5.91671418, -0.000566428283, 1.39881454e-07, -1.787680361e-11, 9.62093557e-16, -2466.261084, -13.87413108},
	},
	H2: {
		name: "H2", molarMass: 2.01588e-3,
		low:  Fit{40783.2321, -800.918604, 8.21470201, -0.01269714457, 1.753605076e-05, -1.20286027e-08, 3.36809349e-12, 2682.484665, -30.43788844},
		high: Fit{560812.801, -837.150474, 2.975364532, 0.001252249124, -3.74071619e-07, 5.9366252e-11, -3.6069941e-15, 5339.82441, -2.202774769},
	},
}
