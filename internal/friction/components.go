package friction

import (
	"fmt"
	"slices"

	"bellmouth/internal/geometry"
)

// Bearings are the equal bearings of one kind in the whole engine.
type Bearings struct {
	Diameter float64 // of the journal, m
	Length   float64 // that carries, m
	Count    int
}

// Components are the parts whose friction the component model adds up.
type Components struct {
	MainBearings Bearings
	CrankPins    Bearings // Count is the number of big ends
	ValveTrain   ValveTrain
	Roller       bool // the cam followers roll; flat ones slide
	CamBearings  int  // of the whole engine
	// Auxiliaries is a factor on what a road engine drives: oil pump, water pump and an alternator that charges.
	Auxiliaries float64
	// OilViscosity is the oil's kinematic viscosity as it runs over that of the reference, ν/ν0: warm multigrade of the
	// correlation's engines.
	OilViscosity float64
}

// A ValveTrain is an arrangement of camshafts and what lies between cam and valve.
type ValveTrain int

// The arrangements that the correlation knows.
const (
	DOHCDirect ValveTrain = iota // two camshafts, each cam on its tappet
	SOHCDirect                   // one camshaft, each cam on its tappet
	SOHCFinger                   // one camshaft, finger followers, pivot at the end
	SOHCRocker                   // one camshaft, rockers, pivot in the middle
	PushRod                      // camshaft in the block
)

// valveTrains holds the constants of each arrangement.
// Source: Patton, Nitschke and Heywood, SAE 890836 (1989), table of valve train constants; from memory.
var valveTrains = [...]struct {
	name                                           string
	camshafts                                      int     // on each bank of cylinders
	flat, roller, oscillatingHydro, oscillatingMix float64 // Cff, Crf, Coh, Com
}{
	DOHCDirect: {"dohc-direct", 2, 133, 0.0050, 0.5, 10.7},
	SOHCDirect: {"sohc-direct", 1, 200, 0.0076, 0.5, 10.7},
	SOHCFinger: {"sohc-finger", 1, 600, 0.0227, 0.2, 42.8},
	SOHCRocker: {"sohc-rocker", 1, 400, 0.0151, 0.5, 21.4},
	PushRod:    {"push-rod", 1, 400, 0.0151, 0.5, 32.1},
}

func (v ValveTrain) valid() bool { return v >= 0 && int(v) < len(valveTrains) }

// String returns the arrangement's name, as in the spec.
func (v ValveTrain) String() string {
	if !v.valid() {
		return "unknown"
	}
	return valveTrains[v].name
}

// ValveTrains returns the names of the arrangements.
func ValveTrains() []string {
	names := make([]string, len(valveTrains))
	for i := range valveTrains {
		names[i] = valveTrains[i].name
	}
	return names
}

// ValveTrainNamed returns the arrangement of a name, and whether there is one.
func ValveTrainNamed(name string) (ValveTrain, bool) {
	i := slices.Index(ValveTrains(), name)
	return ValveTrain(max(i, 0)), i >= 0
}

// Bearings over the bore, common practice, no source: journals of a passenger car's spark-ignition engine.
const (
	MainDiameterOverBore = 0.64
	MainLengthOverBore   = 0.23
	PinDiameterOverBore  = 0.56
	PinLengthOverBore    = 0.21
)

// UsualMainBearings returns the main bearings that an engine of its bore and number of cylinders usually has: one beside each
// throw, and up to six cylinders in line, more in two banks. Common practice, no source.
func UsualMainBearings(e Engine) Bearings {
	return Bearings{MainDiameterOverBore * e.Cylinder.Bore, MainLengthOverBore * e.Cylinder.Bore, throws(e) + 1}
}

// UsualCrankPins returns the crank pins' bearings that an engine usually has. Common practice, no source.
func UsualCrankPins(e Engine) Bearings {
	return Bearings{PinDiameterOverBore * e.Cylinder.Bore, PinLengthOverBore * e.Cylinder.Bore, e.Cylinders}
}

// UsualValveTrain returns the arrangement that a number of valves per cylinder usually comes with: two camshafts on tappets
// for four or more, one with rockers for fewer. Common practice, no source.
func UsualValveTrain(v geometry.Valves) ValveTrain {
	if v.InletCount+v.ExhaustCount >= 4 {
		return DOHCDirect
	}
	return SOHCRocker
}

// UsualCamBearings returns the camshaft bearings that an engine usually has: one more than cylinders on each shaft. Common
// practice, no source.
func UsualCamBearings(e Engine, v ValveTrain) int {
	if !v.valid() {
		return 0
	}
	shafts := valveTrains[v].camshafts * banks(e)
	if v == PushRod {
		shafts = 1 // between the banks
	}
	return shafts * (throws(e) + 1)
}

// banks returns the number of banks that so many cylinders usually stand in.
func banks(e Engine) int {
	if e.Cylinders > 6 {
		return 2
	}
	return 1
}

// throws returns the number of throws of the crank: one for the cylinders side by side in the banks.
func throws(e Engine) int { return (e.Cylinders + banks(e) - 1) / banks(e) }

// Validate returns an error when a part's figure is not one of an engine with this cylinder.
func (c Components) Validate(e Engine) error {
	for _, b := range []struct {
		name string
		Bearings
	}{{"main bearing", c.MainBearings}, {"crank pin", c.CrankPins}} {
		bore := e.Cylinder.Bore
		switch {
		case !(b.Diameter >= 0.2*bore && b.Diameter <= 1.2*bore):
			return fmt.Errorf("%s diameter is %.4g m; want 0.2 to 1.2 of the bore, %.4g to %.4g m", b.name, b.Diameter, 0.2*bore, 1.2*bore)
		case !(b.Length >= 0.05*bore && b.Length <= b.Diameter):
			return fmt.Errorf("%s length is %.4g m; want 0.05 of the bore to the diameter, %.4g to %.4g m", b.name, b.Length, 0.05*bore, b.Diameter)
		case b.Count < 1 || b.Count > mostBearings:
			return fmt.Errorf("%s count is %d; want 1 to %d", b.name, b.Count, mostBearings)
		}
	}
	switch {
	case !c.ValveTrain.valid():
		return fmt.Errorf("valve train %d is not known", int(c.ValveTrain))
	case c.CamBearings < 1 || c.CamBearings > 4*mostBearings:
		return fmt.Errorf("number of cam bearings is %d; want 1 to %d", c.CamBearings, 4*mostBearings)
	case !(c.Auxiliaries >= 0 && c.Auxiliaries <= 3):
		return fmt.Errorf("auxiliaries' factor is %.4g; want 0 to 3", c.Auxiliaries)
	case !(c.OilViscosity >= 0.1 && c.OilViscosity <= 30):
		return fmt.Errorf("oil's viscosity is %.4g of the reference's; want 0.1 to 30", c.OilViscosity)
	}
	return nil
}

// mostBearings is more than a crank of 24 cylinders has.
const mostBearings = 30
