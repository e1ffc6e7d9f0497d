package geometry

import "fmt"

// A Chamber that a wanted compression ratio asks for is the same one with a single part changed. Each of the functions below returns that part. It is
// an error where no such part can be made.

// missing returns by how much the clearance volume has to grow for a compression ratio, m³.
func (ch Chamber) missing(c Cylinder, ratio float64) (float64, error) {
	vc, err := ch.ClearanceVolume(c.Bore)
	if err != nil {
		return 0, err
	}
	c.CompressionRatio = ratio
	if err := c.Validate(); err != nil {
		return 0, err
	}
	return c.ClearanceVolume() - vc, nil
}

// HeadFor returns the volume of the chamber in the head for a compression ratio, m³.
//
//	Vd/(rc − 1) − gasket − dish − deck
//
// Source: Heywood (1988), eq. 2.1, solved for a part of Vc; so are the others.
func (ch Chamber) HeadFor(c Cylinder, ratio float64) (float64, error) {
	more, err := ch.missing(c, ratio)
	if err != nil {
		return 0, err
	}
	if ch.Head+more <= 0 {
		return 0, fmt.Errorf("no head is small enough: gasket, piston and deck alone make more than the whole")
	}
	return ch.Head + more, nil
}

// DishFor returns the volume of the dish in the piston's crown for a compression ratio, m³; negative for a dome.
func (ch Chamber) DishFor(c Cylinder, ratio float64) (float64, error) {
	more, err := ch.missing(c, ratio)
	return ch.PistonDish + more, err
}

// DeckFor returns the deck clearance for a compression ratio, m.
func (ch Chamber) DeckFor(c Cylinder, ratio float64) (float64, error) {
	more, err := ch.missing(c, ratio)
	if err != nil {
		return 0, err
	}
	deck := ch.DeckClearance + more/c.BoreArea()
	if deck+ch.GasketThickness <= 0 {
		return 0, errMeetsHead
	}
	return deck, nil
}

// GasketFor returns the thickness of the clamped gasket for a compression ratio, m.
func (ch Chamber) GasketFor(c Cylinder, ratio float64) (float64, error) {
	more, err := ch.missing(c, ratio)
	if err != nil {
		return 0, err
	}
	hole := c
	hole.Bore = max(ch.GasketBore, c.Bore)
	thickness := ch.GasketThickness + more/hole.BoreArea()
	if thickness+ch.DeckClearance <= 0 {
		return 0, errMeetsHead
	}
	if thickness <= 0 {
		return 0, fmt.Errorf("no gasket is thin enough")
	}
	return thickness, nil
}

var errMeetsHead = fmt.Errorf("the piston would meet the head")

// Squish returns the distance between the piston's flat and the head at top dead centre, cold and at rest, m.
//
//	gasket thickness + deck clearance
func (ch Chamber) Squish() float64 { return ch.GasketThickness + ch.DeckClearance }
