package supply_test

import (
	"math"
	"testing"

	"bellmouth/internal/supply"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var petrol = supply.Liquid{Density: 740, Viscosity: 0.5e-3}

// fitted is an invented system: a lift pump behind which a main pump pushes through 5 m of line and a filter.
func fitted(t testing.TB) *supply.System {
	t.Helper()
	return &supply.System{
		Pumps: supply.Series{straight(t, 13, 420, 1), mainPump(t)},
		Lines: []supply.Line{
			{Length: 1, Bore: 0.010, Roughness: 1.5e-6, Fittings: 2},
			{Length: 4, Bore: 0.008, Roughness: 1.5e-6, Fittings: 5},
		},
		Filters: []supply.Filter{{Flow: 200 * litre, PressureLoss: 6e3, LinearShare: 0.8, Tested: petrol}},
		Return:  []supply.Line{{Length: 4, Bore: 0.006, Roughness: 1.5e-6, Fittings: 4}},
	}
}

func at(t testing.TB, s *supply.System, x supply.State) supply.Operation {
	t.Helper()
	o, err := s.At(x)
	require.NoError(t, err)
	return o
}

func TestFlowAndPressureAreConserved(t *testing.T) {
	s := fitted(t)
	for _, volts := range []float64{12, 12.9, 13.5, 14} {
		for rail := 3.5 * bar; rail <= 5.6*bar; rail += 0.3 * bar {
			for _, demand := range []float64{5, 60, 150, 190, 240} {
				x := supply.State{Voltage: volts, RailPressure: rail, Demand: demand * litre, Liquid: petrol}
				o := at(t, s, x)
				line, filter, back := 0.0, 0.0, 0.0
				for _, l := range s.Lines {
					line += lineFlow(t, l, o.PumpFlow, petrol).Loss
				}
				for _, f := range s.Filters {
					loss, err := f.Loss(o.PumpFlow, petrol)
					require.NoError(t, err)
					filter += loss
				}
				for _, l := range s.Return {
					back += lineFlow(t, l, o.ReturnFlow, petrol).Loss
				}
				assert.InEpsilon(t, line, o.LineLoss, 1e-9)
				assert.InEpsilon(t, filter, o.FilterLoss, 1e-9)
				assert.InDelta(t, back, o.ReturnLoss, 1e-9*rail)
				// Pressure: what the pumps add at that flow is the rail and the losses.
				assert.InEpsilon(t, rail+line+filter, o.Rise, 1e-9)
				assert.InEpsilon(t, o.PumpFlow, flowAt(t, s.Pumps, o.Rise, volts), 1e-9)
				assert.InEpsilon(t, 1+o.Margin, o.PumpFlow/x.Demand, 1e-12)
				if !o.Short() {
					assert.InEpsilon(t, o.PumpFlow, x.Demand+o.ReturnFlow, 1e-9)
					assert.Equal(t, rail, o.RailPressure)
					continue
				}
				// Short: the pumps give the demand at the rail pressure that is left.
				assert.Zero(t, o.ReturnFlow)
				assert.Less(t, o.RailPressure, rail)
				again := at(t, s, supply.State{Voltage: volts, RailPressure: o.RailPressure, Demand: x.Demand, Liquid: petrol})
				assert.InEpsilon(t, x.Demand, again.PumpFlow, 1e-9)
			}
		}
	}
}

func TestSystemByHand(t *testing.T) {
	// A straight pump and laminar lines are all linear. Pump: 40 l/h down to 8 bar. Line: Hagen and Poiseuille, thick
	// liquid, k = 128 μ L/(π d⁴). Then Q = Q0 (1 − pr/ps)/(1 + k Q0/ps).
	thick := supply.Liquid{Density: 800, Viscosity: 0.02}
	pipe := func(length float64) supply.Line { return supply.Line{Length: length, Bore: 0.004} }
	k := func(length float64) float64 { return 128 * 0.02 * length / (math.Pi * math.Pow(0.004, 4)) }
	q0 := 40 * litre
	s := &supply.System{Pumps: straight(t, 13, 40, 8), Lines: []supply.Line{pipe(1), pipe(2)}}
	x := supply.State{Voltage: 13, RailPressure: 4 * bar, Demand: 10 * litre, Liquid: thick}
	o := at(t, s, x)
	want := q0 * 0.5 / (1 + k(3)*q0/(8*bar))
	assert.InEpsilon(t, want, o.PumpFlow, 1e-9)
	assert.InEpsilon(t, want-10*litre, o.ReturnFlow, 1e-9)
	assert.InEpsilon(t, k(3)*want, o.LineLoss, 1e-9)
	assert.Zero(t, o.FilterLoss)
	assert.Zero(t, o.ReturnLoss)
	assert.Zero(t, o.Notes)

	// More is wanted, 0.8 Q0: the rail falls to ps (1 − Q/Q0) − k Q.
	x.Demand = 0.8 * q0
	o = at(t, s, x)
	assert.True(t, o.Short())
	assert.InEpsilon(t, 8*bar*0.2-k(3)*0.8*q0, o.RailPressure, 1e-9)
	assert.InEpsilon(t, want/(0.8*q0)-1, o.Margin, 1e-9)
	x.Demand = 1.2 * q0 // more than it gives against nothing
	o = at(t, s, x)
	assert.Equal(t, supply.NoteShort|supply.NoteStarved, o.Notes)
	assert.Zero(t, o.RailPressure)

	// A return line that alone takes more than the regulator asks: pr = kr (Q − Qe).
	// Q = Q0 (1 − (k Q + kr (Q − Qe))/ps), so Q = Q0 (1 + kr Qe/ps)/(1 + (k + kr) Q0/ps).
	s.Return = []supply.Line{pipe(40)}
	x.Demand, x.RailPressure = 2*litre, 0.5*bar
	o = at(t, s, x)
	want = q0 * (1 + k(40)*2*litre/(8*bar)) / (1 + k(43)*q0/(8*bar))
	assert.InEpsilon(t, want, o.PumpFlow, 1e-9)
	assert.InEpsilon(t, k(40)*(want-2*litre), o.RailPressure, 1e-9)
	assert.Greater(t, o.RailPressure, 0.5*bar)
	assert.Equal(t, supply.NoteRailCreeps, o.Notes)

	// A rail asked past the shut-off: nothing comes at that pressure.
	x.RailPressure = 9 * bar
	o = at(t, s, x)
	assert.Zero(t, o.PumpFlow)
	assert.Equal(t, -1.0, o.Margin)
	assert.True(t, o.Short())
	assert.InEpsilon(t, 8*bar*(1-2.0/40)-k(3)*2*litre, o.RailPressure, 1e-9) // what is left with the demand
}

func TestBothSidesOfShort(t *testing.T) {
	s := fitted(t)
	x := supply.State{Voltage: 13, RailPressure: 4.5 * bar, Demand: 100 * litre, Liquid: petrol}
	flow := at(t, s, x).PumpFlow
	x.Demand = flow * (1 - 1e-9)
	enough := at(t, s, x)
	assert.False(t, enough.Short())
	assert.InDelta(t, 0, enough.ReturnFlow, 1e-8*flow)
	x.Demand = flow * (1 + 1e-9)
	short := at(t, s, x)
	assert.True(t, short.Short())
	assert.InDelta(t, 4.5*bar, short.RailPressure, 1) // 1e-9 of the flow on a curve of about 3e5 Pa over half of it
	assert.InDelta(t, 0, short.Margin, 2e-9)
}

func TestMoreIsNeverLess(t *testing.T) {
	s := fitted(t)
	x := supply.State{RailPressure: 4.5 * bar, Demand: 150 * litre, Liquid: petrol}
	last := 0.0
	for x.Voltage = 11; x.Voltage <= 15; x.Voltage += 0.1 {
		o := at(t, s, x)
		assert.Greater(t, o.PumpFlow, last)
		last = o.PumpFlow
	}
	x.Voltage, last = 13, 0
	for d := 0.005; d < 0.014; d += 0.0005 {
		s.Lines[1].Bore = d
		o := at(t, s, x)
		assert.Greater(t, o.PumpFlow, last)
		last = o.PumpFlow
	}
	last = math.Inf(1)
	for x.RailPressure = 3 * bar; x.RailPressure < 5.9*bar; x.RailPressure += 0.1 * bar {
		o := at(t, s, x)
		assert.Less(t, o.PumpFlow, last)
		last = o.PumpFlow
	}
}

func TestTransitionalIsNoted(t *testing.T) {
	// 15.7 l/h in 4 mm of petrol: Re = 4 ρ Q/(π d μ) = 4 · 740 · 15.7 l/h/(π 0.004 · 0.0005) = 2054; twice that is past 4000, and
	// one and a half times it between.
	s := &supply.System{Pumps: straight(t, 13, 40, 8), Lines: []supply.Line{{Length: 1, Bore: 0.004}}}
	for _, p := range []struct {
		rail  float64
		notes supply.Note
	}{{5 * bar, 0}, {3.5 * bar, supply.NoteTransitional}, {0.5 * bar, 0}} {
		o := at(t, s, supply.State{Voltage: 13, RailPressure: p.rail, Demand: litre, Liquid: petrol})
		re := 4 * 740 * o.PumpFlow / (math.Pi * 0.004 * 0.5e-3)
		assert.Equal(t, p.notes, o.Notes, "Re %v", re)
		assert.Equal(t, re > 2300 && re < 4000, o.Notes != 0)
	}
}

func TestRail(t *testing.T) {
	r := supply.Rail{Pressure: 4 * bar, FollowsManifold: true}
	assert.InDelta(t, 5.5*bar, r.AboveVenue(2.45*bar, 0.95*bar), 1e-9)
	r.FollowsManifold = false
	assert.Equal(t, 4*bar, r.AboveVenue(2.45*bar, 0.95*bar))
}

func TestSystemRefusals(t *testing.T) {
	good := supply.State{Voltage: 13, RailPressure: 4 * bar, Demand: 100 * litre, Liquid: petrol}
	for _, p := range []struct {
		change func(*supply.System, *supply.State)
		want   string
	}{
		{func(s *supply.System, _ *supply.State) { s.Pumps = nil }, "there is no pump"},
		{func(s *supply.System, _ *supply.State) { s.Lines[1].Bore = 0 }, "line 2: line bore is 0 m; want more than 0"},
		{func(s *supply.System, _ *supply.State) { s.Return[0].Length = -1 }, "return line 1: line length is -1 m; want 0 or more"},
		{func(s *supply.System, _ *supply.State) { s.Filters[0].Flow = 0 }, "filter 1: flow of the filter's measurement is 0 m³/s; want more than 0"},
		{func(_ *supply.System, x *supply.State) { x.Voltage = 0 }, "voltage at the pumps is 0 V; want more than 0"},
		{func(_ *supply.System, x *supply.State) { x.RailPressure = math.NaN() }, "rail pressure is NaN Pa above the venue; want more than 0"},
		{func(_ *supply.System, x *supply.State) { x.Demand = 0 }, "fuel demand is 0 m³/s; want more than 0"},
		{func(_ *supply.System, x *supply.State) { x.Liquid.Density = 0 }, "fuel density is 0 kg/m³; want more than 0"},
	} {
		s, x := fitted(t), good
		p.change(s, &x)
		_, err := s.At(x)
		assert.EqualError(t, err, p.want)
	}
	// A rail past the end of the pump's table, which does not reach its shut-off.
	x := good
	x.RailPressure = 7 * bar
	_, err := fitted(t).At(x)
	var out *supply.RangeError
	require.ErrorAs(t, err, &out)
	assert.Equal(t, "pressure that the pumps have to give", out.What)
	x = good
	x.Voltage = 6
	_, err = fitted(t).At(x)
	assert.ErrorContains(t, err, "pump 1 of 2: voltage at the pumps is 6 V; the pumps are known from 9.75 to 16.25 V")
}

func TestNotes(t *testing.T) {
	all := supply.NoteVoltageOutside | supply.NotePressureBelow | supply.NoteTransitional | supply.NoteRailCreeps | supply.NoteShort | supply.NoteStarved
	assert.Len(t, all.Texts(), 6)
	assert.Empty(t, supply.Note(0).Texts())
}

func BenchmarkAt(b *testing.B) {
	s := fitted(b)
	x := supply.State{Voltage: 13, RailPressure: 4.5 * bar, Demand: 150 * litre, Liquid: petrol}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.At(x); err != nil {
			b.Fatal(err)
		}
	}
}
