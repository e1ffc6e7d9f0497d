package geometry

import (
	"fmt"
	"math"
)

// A Chamber is the parts that make up the volume above the piston at top dead centre.
type Chamber struct {
	Head            float64 // volume of the combustion chamber in the head, m³
	GasketBore      float64 // diameter of the hole in the head gasket, m
	GasketThickness float64 // thickness of the gasket when clamped, m
	PistonDish      float64 // volume of the dish in the piston crown, m³; negative for a dome
	DeckClearance   float64 // piston's flat below the block's deck at top dead centre, m; negative when it stands above
}

// ClearanceVolume returns the volume above the piston at top dead centre Vc, m³, for a bore, m.
//
//	Vc = head + π/4 (gasket bore)² (gasket thickness) + dish + π/4 B² (deck clearance)
//
// The crevice round the top land is left out: measure it into the dish where it counts.
// A part that is not finite, a gasket narrower than the bore, or a sum that is not positive is an error.
func (ch Chamber) ClearanceVolume(bore float64) (float64, error) {
	rest, err := ch.withoutHead(bore)
	if err != nil {
		return 0, err
	}
	v := ch.Head + rest
	if !positive(v) {
		return 0, fmt.Errorf("the parts of the chamber add up to %.4g m³; want more than 0", v)
	}
	return v, nil
}

// CompressionRatio returns the compression ratio rc that the chamber gives a cylinder of this bore and stroke.
//
//	rc = (Vd + Vc)/Vc
//
// The cylinder's own compression ratio is not used. Source: Heywood (1988), eq. 2.1.
func (ch Chamber) CompressionRatio(c Cylinder) (float64, error) {
	vc, err := ch.ClearanceVolume(c.Bore)
	if err != nil {
		return 0, err
	}
	c.CompressionRatio = 2 // any valid value: only the other dimensions are looked at
	if err := c.Validate(); err != nil {
		return 0, err
	}
	return 1 + c.Displacement()/vc, nil
}

// GasketVolume returns the volume of the hole in the clamped gasket, m³.
func (ch Chamber) GasketVolume() float64 {
	return math.Pi / 4 * ch.GasketBore * ch.GasketBore * ch.GasketThickness
}

// withoutHead returns the volume of gasket, piston crown and deck together, m³.
func (ch Chamber) withoutHead(bore float64) (float64, error) {
	if !positive(bore) {
		return 0, fmt.Errorf("bore is %v m; want more than 0", bore)
	}
	if !(ch.GasketThickness >= 0) || math.IsInf(ch.GasketThickness, 0) {
		return 0, fmt.Errorf("gasket thickness is %v m; want 0 or more", ch.GasketThickness)
	}
	if ch.GasketThickness > 0 && !(ch.GasketBore >= bore) {
		return 0, fmt.Errorf("gasket bore is %v m; want at least the bore, %v m", ch.GasketBore, bore)
	}
	v := ch.GasketVolume() + ch.PistonDish + math.Pi/4*bore*bore*ch.DeckClearance
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("gasket, piston and deck add up to %v m³", v)
	}
	return v, nil
}
