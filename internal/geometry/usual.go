package geometry

// UsualBearingClearance returns the usual diametral clearance of a plain bearing on a journal, m, from and to.
//
//	0.001 D to 0.001 D + 0.0005 in
//
// Common practice in the trade, no source that states a range of validity.
func UsualBearingClearance(journal float64) (least, most float64) {
	const margin = 0.0005 * 0.0254
	return 0.001 * journal, 0.001*journal + margin
}

// A RingUse is what an engine is driven for, as far as its ring gaps are concerned.
type RingUse int

// The uses.
const (
	RoadRings RingUse = iota
	MildBoostRings
	RaceRings
	RaceBoostRings
)

// String returns the use's name: "road", "mild boost", "race", "race boost".
func (u RingUse) String() string { return [...]string{"road", "mild boost", "race", "race boost"}[u] }

// UsualRingGap returns the usual least gap of the top and the second compression ring in a bore, m.
//
//	top = k B, k = 0.0045 road, 0.0050 mild boost, 0.0055 race, 0.0065 race with boost; second = 1.25 top
//
// Common practice in the trade, no source; the ring maker's own figures come first.
func UsualRingGap(bore float64, use RingUse) (top, second float64) {
	top = [...]float64{0.0045, 0.0050, 0.0055, 0.0065}[use] * bore
	return top, 1.25 * top
}

// UsualOilRingGap is the usual least gap of an oil ring's rails, 0.015 in, m. Common practice, no source.
const UsualOilRingGap = 0.015 * 0.0254

// BoreTemperature is the temperature at which dimensions are stated, K: 20 °C by ISO 1.
const BoreTemperature = 293.15

// BoreAt20 returns the bore at 20 °C of a part whose bore was measured at another temperature, m.
//
//	d20 = d/(1 + α (T − 293.15 K))
//
// expansion is α, 1/K, of the part's material; temperature T, K. Source: definition of the mean coefficient of linear expansion, ISO 1 for 20 °C.
func BoreAt20(bore, temperature, expansion float64) float64 {
	return bore / (1 + expansion*(temperature-BoreTemperature))
}
