package wiring

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/refdata"
)

// TestWireDrop: every published row, R = ρ L/A at working temperature, with the drop and the power lost in it.
func TestWireDrop(t *testing.T) {
	const tol = 1e-11 // the rows carry twelve digits
	for _, row := range refdata.Read(t, "wire_drop.csv") {
		w := Wire{Conductor: Solid(row.F(t, "area_mm2") * 1e-6), Length: row.F(t, "conductor_length_m"), Temperature: row.F(t, "conductor_T_C") + 273.15}
		current, want := row.F(t, "current_A"), row.F(t, "drop_V")
		assert.InDelta(t, row.F(t, "resistance_ohm"), w.Resistance(), tol)
		source := Source{Battery: Battery{Voltage: row.F(t, "supply_V"), Resistance: 1e-12}}
		n := Network{Source: source, Channels: []Channel{{"a", w, []Load{{"l", steady(current)}}}}}
		s, err := n.Settle()
		require.NoError(t, err)
		assert.InDelta(t, want, s.Channels[0].Drop, 1e-9)
		assert.InDelta(t, row.F(t, "drop_percent"), 100*s.Channels[0].Loads[0].Drop/source.Battery.Voltage, 1e-8)
		assert.InDelta(t, row.F(t, "loss_W"), s.Channels[0].Lost, 1e-8)
	}
}

func TestGauges(t *testing.T) {
	for _, row := range refdata.Read(t, "awg.csv") { // ASTM B258 with 17.241 Ω mm²/km
		want := row.F(t, "ohm_per_km_20C_iacs")
		assert.InDelta(t, want, 1e3*Solid(row.F(t, "area_mm2")*1e-6).Resistance, 1e-9*want)
	}
}

// TestClass5: the standard's rows as two collections have them, and those at 80 °C and 105 °C.
func TestClass5(t *testing.T) {
	at := func(row refdata.Row, area, resistance string, temperature float64) {
		w := Wire{Conductor: Flexible(row.F(t, area) * 1e-6), Length: 1000, Temperature: temperature}
		want := row.F(t, resistance)
		assert.InDelta(t, want, w.Resistance(), 1e-5*want) // six digits
	}
	for _, row := range refdata.Read(t, "iec60228.csv") {
		if row.F(t, "area_mm2") != 70 { // beyond our sizes
			at(row, "area_mm2", "class5_ohm_per_km", 293.15)
		}
	}
	rows := refdata.Read(t, "iec60228_class5.csv")
	assert.Len(t, rows, len(class5))
	for _, row := range rows {
		at(row, "area[mm2]", "R20_plain[ohm/km]", 293.15)
		at(row, "area[mm2]", "R80_plain[ohm/km]", 353.15)
		at(row, "area[mm2]", "R105_plain[ohm/km]", 378.15)
	}
	// Between sizes, by hand for 3 mm²: 19.95 and 19.8 Ω mm²/km at 2.5 and 4, a third of the way 19.9; over 3.
	assert.InDelta(t, 19.9/3*1e-3, Flexible(3e-6).Resistance, 1e-12)
}

// TestResistanceTrends: longer, thinner, hotter and with more contacts a wire never has less resistance, and one without length and contacts has none.
func TestResistanceTrends(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		w := Wire{Conductor: Flexible(math.Exp(r.Float64()*6-2) * 1e-6), Length: r.Float64() * 9, Return: r.Float64() * 9, Temperature: 250 + 150*r.Float64(),
			Contacts: r.Float64() * 0.01}
		base, longer, thinner, hotter, worse := w.Resistance(), w, w, w, w
		longer.Return *= 1.3
		thinner.Conductor = Flexible(w.Area * (1 - 0.3*r.Float64()))
		hotter.Temperature += 20
		worse.Contacts += 0.001
		for _, more := range []Wire{longer, thinner, hotter, worse} {
			assert.GreaterOrEqual(t, more.Resistance(), base)
		}
		assert.Zero(t, (&Wire{Conductor: w.Conductor, Temperature: w.Temperature}).Resistance())
	}
}

func TestCarries(t *testing.T) {
	for _, c := range []struct {
		i             Insulation
		area, current float64
		outside       bool
	}{
		{PVC, 0.65, 5.75, false}, {PVC, 1, 8.75, false}, {PVC, 1.5, 12.75, false}, {PVC, 2, 17.5, false}, {PVC, 2.5, 21.75, false}, {PVC, 3, 25.5, false}, // as read
		{ThinWall, 2, 25, false},                                 // as read
		{PVC, 1.25, 10.75, false}, {ThinWall, 3.75, 37.5, false}, // half-way by hand
		{PVC, 25, 119, false}, {ThinWall, 35, 148, false}, {PVC, 13, 82, false}, // of the standard, the last half-way
		{PVC, 100, 180, true}, {PVC, 0.325, 2.875, true}, {ThinWall, 0.25, 5.5, true}, // the safe side
	} {
		got, outside := Carries(c.i, c.area*1e-6)
		assert.InDelta(t, c.current, got, 1e-9, "%+v", c)
		assert.Equal(t, c.outside, outside, "%+v", c)
	}
}

// TestSmallest by hand: 10 A over 4 m and 4 m back at 20 °C. At 0.3 V the wire may have 3.75 mΩ/m: 6 mm² has 3.3, 4 mm² 4.95. With 2 V the current rules: 1 mm²
// carries 8.75 A, 1.5 mm² 12.75 A.
func TestSmallest(t *testing.T) {
	w := Wire{Length: 4, Return: 4, Temperature: 293.15}
	c, err := Smallest(w, Need{Current: 10, Drawn: 10, Drop: 0.3, Bundle: 1})
	require.NoError(t, err)
	assert.InDelta(t, 6e-6, c.Area, 1e-15)
	c, err = Smallest(w, Need{Current: 10, Drawn: 10, Drop: 2, Bundle: 1})
	require.NoError(t, err)
	assert.InDelta(t, 1.5e-6, c.Area, 1e-15)
	c, err = Smallest(w, Need{Current: 10, Drawn: 10, Drop: 2, Bundle: 0.7}) // 12.75 A 0.7 is 8.9 A
	require.NoError(t, err)
	assert.InDelta(t, 2.5e-6, c.Area, 1e-15)
	_, err = Smallest(w, Need{Current: 190, Drawn: 10, Drop: 2, Bundle: 1})
	assert.ErrorIs(t, err, ErrNoWire)
	w.Contacts = 0.1
	_, err = Smallest(w, Need{Current: 10, Drawn: 10, Drop: 0.9, Bundle: 1})
	assert.ErrorIs(t, err, ErrNoWire, "the contacts alone lose 1 V")
}

// TestAdiabatic: k of IEC 60364-4-43, table 43A, for copper in PVC, in cross-linked polyethylene and in rubber.
func TestAdiabatic(t *testing.T) {
	for _, c := range []struct{ from, to, want float64 }{{70, 160, 115}, {90, 250, 143}, {60, 200, 141}} {
		assert.InDelta(t, c.want*1e6, adiabatic(c.from, c.to), 0.5e6, "%+v", c) // three digits
	}
}

// TestBears by hand: from 30 °C to 70 °C copper bears 226 √ln(304.5/264.5) = 84.81 A √s/mm². 25 mm² bear 1060 A for 4 s; 1 mm² bears 84.81/√900 = 2.8 A, less
// than the 8.75 A that it carries continuously.
func TestBears(t *testing.T) {
	got, outside := Bears(PVC, 25e-6, 0.8, 4)
	assert.InDelta(t, 1060.1, got, 0.1)
	assert.False(t, outside)
	got, _ = Bears(ThinWall, 25e-6, 0.8, 4) // to 105 °C: 226 √ln(339.5/264.5) = 112.92
	assert.InDelta(t, 1411.5, got, 0.1)
	got, _ = Bears(PVC, 1e-6, 0.8, 900)
	assert.InDelta(t, 7, got, 1e-9)
	got, outside = Bears(PVC, 25e-6, 0.8, 0)
	assert.InDelta(t, 95.2, got, 1e-9)
	assert.False(t, outside)
	// 230 A for 4 s: 42.4 A/mm², so 6 mm² with 254 A where 4 mm² has 170 A.
	c, err := Smallest(Wire{Temperature: 293.15}, Need{Current: 230, Time: 4, Drop: 1, Bundle: 1}, Need{Current: 10, Drop: 1, Bundle: 1})
	require.NoError(t, err)
	assert.InDelta(t, 6e-6, c.Area, 1e-15)
}

func TestValidate(t *testing.T) {
	good := Wire{Conductor: Flexible(1e-6), Length: 1, Return: 0, Temperature: 300}
	require.NoError(t, good.Validate())
	for name, spoil := range map[string]func(w *Wire){
		"area":                       func(w *Wire) { w.Area = 0 },
		"resistance of a metre":      func(w *Wire) { w.Conductor.Resistance = math.NaN() },
		"length":                     func(w *Wire) { w.Length = -1 },
		"return length":              func(w *Wire) { w.Return = math.Inf(1) },
		"temperature":                func(w *Wire) { w.Temperature = 30 },
		"resistance of the contacts": func(w *Wire) { w.Contacts = -1 },
	} {
		w := good
		spoil(&w)
		assert.ErrorContains(t, w.Validate(), "wire's "+name, name)
	}
}
