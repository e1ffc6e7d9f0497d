package spec

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOil(t *testing.T) {
	const least = "oil: {viscosity_40: 80 cSt, viscosity_100: 13.5 mm2/s, temperature: 221 degF"
	trim := trimOf(t, engine+least+", main_clearance: 0.06 mm}\n", "base")
	near := func(want, got float64, what string) { assert.InDelta(t, want, got, 1e-12, what) }
	near(378.15, trim.Oil.Temperature, "221 degF")
	near(398.15, trim.Oil.Bearing, "20 K more")
	near(30e-6, trim.Oil.Mains.Clearance, "half of what is measured over the diameter")
	near(0.0005*0.56*0.084, trim.Oil.Pins.Clearance, "0.001 of the usual journal, 0.56 of the bore, over the diameter")
	near(0.23*0.084, trim.Oil.Mains.Length, "usual length, 0.23 of the bore")
	assert.Equal(t, 6, trim.Oil.Circuit.Rows[0].Count, "five throws")
	assert.Nil(t, trim.Oil.Pump)
	assert.False(t, trim.Oil.FloorGiven)
	floor, held := trim.Oil.Floor.At(6000 * rpm)
	assert.InDelta(t, 60*6894.757293168361, floor, 1e-6)
	assert.False(t, held)

	for _, p := range []struct{ name, text, want string }{
		{"viscosities the wrong way", engine + "oil: {viscosity_40: 13.5 mm2/s, viscosity_100: 50 mm2/s, temperature: 100 degC}",
			"8:6: oil does not hold together: viscosities are 13.5 and 50 mm²/s; want them to fall with temperature"},
		{"too thin in the bearings", engine + "oil: {viscosity_40: 12 mm2/s, viscosity_100: 2.5 mm2/s, temperature: 130 degC}",
			"8:6: oil is too thin or too hot in the bearings: oil has "},
		{"groove", engine + least + ", groove_width: 15 mm}", "8:93: oil.groove_width is 15 mm; want at most half of the bearing's length, 9.66 mm"},
		{"no unit", engine + strings.Replace(least, "80 cSt", "80", 1) + "}",
			"8:21: oil.viscosity_40 is 80, which has no unit; want a kinematic viscosity in mm2/s, m2/s"},
		{"circulation without flow",
			sumpOf("[[0 mm, 0 mm], [400 mm, 0 mm], [400 mm, 250 mm]]", "depth: 15 cm\n  oil: 4 L\n  in_engine: 1 L",
				"{forward: 300 mm, left: 50 mm, height: 12 mm}") +
				"  circulation: {back: 80 %, time: 3 s}\n", "14:16: sump.circulation lacks flow, which oil.pump would tell; want either"},
	} {
		t.Run(p.name, func(t *testing.T) {
			got := messages(t, p.text)
			if assert.Len(t, got, 1) {
				assert.True(t, strings.HasPrefix(got[0], "hillclimb.yaml:"+p.want), "got:  %s\nwant: hillclimb.yaml:%s", got[0], p.want)
			}
		})
	}
}
