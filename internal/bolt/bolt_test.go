package bolt

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/refdata"
)

// Heads and holes of the table's bolts: washer face of ISO 4014, rounded as in the computed column, and medium hole of ISO 273, mm.
var faces = map[float64][2]float64{8: {11.6, 9}, 10: {14.6, 11}, 12: {16.6, 13.5}, 14: {19.6, 15.5}}

func tableBolt(t *testing.T, r refdata.Row) Bolt {
	d := r.F(t, "d[mm]")
	face, ok := faces[d]
	assert.True(t, ok, "no face of M%v", d)
	mu := r.F(t, "mu[-]")
	return Bolt{Diameter: d / 1e3, Pitch: r.F(t, "P[mm]") / 1e3, ThreadFriction: mu, HeadFriction: mu, HeadDiameter: face[0] / 1e3, HoleDiameter: face[1] / 1e3}
}

// The table of fine threads of VDI 2230:2001, µ 0.12: preload and torque at 90 % of the yield stress. Preloads are printed to three digits and torques to
// two or three, and the heads of the guideline's bolts differ by a per cent.
func TestTorqueOfTheGuideline(t *testing.T) {
	for _, r := range refdata.Read(t, "vdi2230_torque_check.csv") {
		b := tableBolt(t, r)
		assert.NoError(t, b.Validate())
		force, torque := 1e3*r.F(t, "F_table[kN]"), r.F(t, "M_table[Nm]")
		assert.InEpsilon(t, torque, b.Torque(force), 5e-3, "M%v", r["d[mm]"])
		assert.InEpsilon(t, r.F(t, "M_calc[Nm]"), b.Torque(force), 5e-5, "M%v: its d2 is rounded to 0.01 mm", r["d[mm]"])
		assert.InEpsilon(t, force, b.Preload(torque), 5e-3, "M%v", r["d[mm]"])
		// Yield stresses of ISO 898-1: 640 MPa of class 8.8 up to M16, 940 MPa of 10.9.
		yield := map[string]float64{"8.8": 640e6, "10.9": 940e6}[r["class"]]
		assert.InEpsilon(t, 0.9*yield, b.TighteningStress(force), 6e-3, "M%v %s", r["d[mm]"], r["class"])
	}
}

func TestStressArea(t *testing.T) {
	// ISO 898-1, table of stress areas, mm²: M8 × 1 39.2, M10 × 1.25 61.2, M12 × 1.25 92.1, M10 × 1.5 58.0; three digits.
	for _, x := range []struct{ d, p, area float64 }{{8, 1, 39.2}, {10, 1.25, 61.2}, {12, 1.25, 92.1}, {10, 1.5, 58.0}} {
		assert.InDelta(t, x.area, 1e6*Bolt{Diameter: x.d / 1e3, Pitch: x.p / 1e3}.StressArea(), 0.06, "M%v x %v", x.d, x.p)
	}
	waisted := Bolt{Diameter: 0.01, Pitch: 1.25e-3, Shank: 0.008}
	assert.InEpsilon(t, math.Pi/4*64e-6, waisted.StressArea(), 1e-12)
	waisted.Shank = 0.0095
	assert.InDelta(t, 61.2, 1e6*waisted.StressArea(), 0.06, "a shank thicker than the thread carries no more")
}

func TestJointByHand(t *testing.T) {
	// Two bolts of 30 kN, αA 1.5: 24 to 36 kN. Φ 0.2, 20 kN: the clamp of 48 kN loses 16, a third.
	j := Joint{Bolt: Bolt{Diameter: 0.009, Pitch: 1e-3}, Count: 2, Preload: Scattered(30e3, 1.5), Factor: 0.2}
	assert.NoError(t, j.Validate())
	assert.InDelta(t, 24e3, j.Preload.Least, 1e-9)
	assert.InDelta(t, 36e3, j.Preload.Most, 1e-9)
	assert.InDelta(t, 2./3, j.ClampLeft(20e3), 1e-12)
	assert.InDelta(t, 60e3, j.LiftOff(), 1e-9)
	assert.InDelta(t, 0, j.ClampLeft(j.LiftOff()), 1e-12)
	assert.InDelta(t, 1, j.ClampLeft(0), 1e-12)
	// Without friction and with hardly a pitch there is hardly a torsion: the stress is force over area. 36 + 2 kN, and past lift-off all of the force.
	bare := j
	bare.Pitch = 1e-9
	area := math.Pi / 4 * 81e-6
	assert.InEpsilon(t, 38e3/area, bare.Stress(20e3), 1e-6)
	assert.InEpsilon(t, 36e3/area, bare.Stress(-20e3), 1e-6, "what presses the joint takes no bolt's preload")
	assert.InEpsilon(t, 50e3/area, bare.Stress(100e3), 1e-6)
	// M9 × 1 at 36 kN, µ 0.1: d2 8.350481, d3 7.773131, d0 8.061806 mm, A0 51.0452 mm²; σ 38000/51.0452 = 744.44 MPa;
	// τ 0.5 · 36000 · (0.16 + 0.58 · 8.350481 · 0.1)/(π/12 · 523.960) = 84.562 MPa; √(744.44² + 3 · 84.562²) = 758.71 MPa.
	j.ThreadFriction = 0.1
	assert.InEpsilon(t, 758.71e6, j.Stress(20e3), 1e-5)
}

func TestRefused(t *testing.T) {
	good := Joint{Bolt: Bolt{Diameter: 0.01, Pitch: 1.25e-3, ThreadFriction: 0.12, HeadFriction: 0.12, HeadDiameter: 0.0146, HoleDiameter: 0.011},
		Count: 4, Preload: Scattered(40e3, 1.4), Factor: 0.2}
	assert.NoError(t, good.Validate())
	for name, spoil := range map[string]func(j *Joint){
		"no thread": func(j *Joint) { j.Diameter = 0 }, "no pitch": func(j *Joint) { j.Pitch = 0 }, "no root": func(j *Joint) { j.Pitch = 0.009 },
		"shank": func(j *Joint) { j.Shank = -1 }, "friction": func(j *Joint) { j.HeadFriction = math.NaN() }, "face": func(j *Joint) { j.HeadDiameter = 0.01 },
		"count": func(j *Joint) { j.Count = 0 }, "preload": func(j *Joint) { j.Preload.Least = 0 }, "factor": func(j *Joint) { j.Factor = 1 },
	} {
		j := good
		spoil(&j)
		assert.Error(t, j.Validate(), name)
	}
}
