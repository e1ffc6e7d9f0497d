package run_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/injector"
	"bellmouth/internal/run"
	"bellmouth/internal/runtest"
	"bellmouth/internal/spark"
	"bellmouth/internal/spec"
	"bellmouth/internal/spectest"
	"bellmouth/internal/supply"
)

// altered solves a trim of the five with values laid over its spec.
func altered(t *testing.T, trim string, rpm []float64, settings ...string) *run.Run {
	t.Helper()
	var all []spec.Setting
	for i := 0; i < len(settings); i += 2 {
		all = append(all, spec.Setting{Path: settings[i], Value: settings[i+1]})
	}
	s, err := spec.Load(spectest.Hillclimb, all...)
	require.NoError(t, err)
	one, err := s.Trim(trim)
	require.NoError(t, err)
	return runtest.Solve(t, &one, rpm...)
}

func circuits(t *testing.T, r *run.Run) *run.Circuits {
	t.Helper()
	c, err := r.Circuits()
	require.NoError(t, err)
	return c
}

// loadIn returns what a load of a circuit has and takes.
func loadIn(t *testing.T, r *run.Run, at *run.Circuit, name string) (voltage, mean, while, peak float64) {
	t.Helper()
	require.NoError(t, at.Err)
	for i, c := range r.Trim.Wiring.Channels {
		n := 0
		for _, l := range c.Loads {
			if !at.Mode.Has(l.Name) {
				continue
			}
			if l.Name == name {
				s := at.State.Channels[i].Loads[n]
				return s.Voltage, s.Mean, s.While, s.Peak
			}
			n++
		}
	}
	t.Fatalf("no load %s", name)
	return 0, 0, 0, 0
}

// TestEngineLoads: what injectors, coils and pumps draw at the voltage that arrives is what their own packages say of that voltage, put together by hand.
func TestEngineLoads(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3000, 6500)
	all := circuits(t, r).FullLoads()
	at, p, trim := &all[1], &r.Outcomes[1].Point, r.Trim
	density, err := trim.Fuel.Grade.DensityAt(trim.Fuel.Temperature)
	require.NoError(t, err)
	cycle := 4 * math.Pi / p.Speed
	split := func(u float64) injector.Split {
		s, err := trim.Injection.Staging.Split(p.FuelPerCycle, injector.Conditions{Speed: p.Speed, PressureDifference: p.RailDifference,
			FuelDensity: density, Voltage: u})
		require.NoError(t, err)
		return s
	}

	u, mean, while, peak := loadIn(t, r, at, "primary set") // 12.5 Ω, at two or three at once
	duty := split(u).Primary.Duty
	assert.InDelta(t, 5*duty*u/12.5, mean, 1e-9)
	m := math.Floor(5 * duty)
	f := 5*duty - m
	assert.InDelta(t, u/12.5*((1-f)*m*m+f*(m+1)*(m+1))/(5*duty), while, 1e-9)
	assert.InDelta(t, (m+1)*u/12.5, peak, 1e-9)

	u, mean, _, _ = loadIn(t, r, at, "secondary set") // 4 A for 1.1 ms, then 1 A
	assert.InDelta(t, 5*(4*1.1e-3+1*(split(u).Secondary.Pulse-1.1e-3))/cycle, mean, 1e-9)

	u, mean, _, _ = loadIn(t, r, at, "coils") // to 8 A, five coils
	dwell, err := trim.Ignition.Coil.DwellFor(8, u)
	require.NoError(t, err)
	fire, err := trim.Ignition.Coil.Fire(spark.Demand{Dwell: dwell, Voltage: u, Speed: p.Speed})
	require.NoError(t, err)
	assert.InDelta(t, 5*fire.MeanCurrent, mean, 1e-9)
	coil := trim.Ignition.Coil // by the step response i = i∞ (1 − e^(−t/τ)), integrated over the dwell
	end, tau := (u-coil.DriverDrop)/coil.Resistance, coil.Inductance/coil.Resistance
	assert.InDelta(t, 8, end*(1-math.Exp(-dwell/tau)), 1e-9)
	assert.InDelta(t, 5*end*(dwell-tau*(1-math.Exp(-dwell/tau)))/cycle, mean, 1e-9)

	u, mean, _, _ = loadIn(t, r, at, "main pump 1") // 8.5 A at 3 bar, 12.5 A at 7 bar: between them at what it adds
	liquid, err := r.Liquid()
	require.NoError(t, err)
	op, err := trim.Supply.System.At(supply.State{Voltage: u, RailPressure: 4e5 + p.ManifoldPressure - trim.Venue.Pressure,
		Demand: p.FuelFlow / liquid.Density, Liquid: liquid})
	require.NoError(t, err)
	assert.InDelta(t, 8.5+(op.Rise-3e5)/4e5*4, mean, 0.15) // the curve through the points runs smoothly
	assert.Greater(t, mean, 8.5)

	// Its drop by hand. The feed is 4 m of 35 mm², 0.554 Ω/km, at 40 °C: 2.390 mΩ. The wire is 3.2 m of 1.5 mm², 13.3 Ω/km, at 60 °C, and 4 mΩ: 53.25 mΩ.
	control, sum := at.State.Channels[0], at.State.Supply.Alternator-at.State.Supply.Battery
	assert.InDelta(t, 0.002390*sum+0.05325*control.Mean, control.Loads[0].Drop, 1e-4)
	// At idle the engine takes a quarter of the fuel of a cycle at the nearest full load, a third as often.
	c := circuits(t, r)
	idle, full := c.Modes()[2], &r.Outcomes[0].Point
	got, err := c.Pumping(idle.Mode, idle.Speed, full, 13)
	require.NoError(t, err)
	op, err = trim.Supply.System.At(supply.State{
		Voltage: 13, RailPressure: 4e5 + full.ManifoldPressure - trim.Venue.Pressure, Demand: 0.25 / 3 * full.FuelFlow / liquid.Density, Liquid: liquid,
	})
	require.NoError(t, err)
	assert.InEpsilon(t, op.Margin, got.Margin, 1e-6)

	u, mean, _, _ = loadIn(t, r, at, "dash")
	assert.InDelta(t, 14/u, mean, 1e-9)
	_, mean, _, _ = loadIn(t, r, at, "boost valve")
	assert.Positive(t, mean)
}

// TestStatedVoltagesCount: with all voltages stated the wiring moves no point, duty, pump or dwell by a digit.
func TestStatedVoltagesCount(t *testing.T) {
	rpm := []float64{2500, 5000}
	with, without := altered(t, "open", rpm), altered(t, "open", rpm, "wiring", "none")
	require.True(t, with.Wired())
	require.False(t, without.Wired())
	for i := range rpm {
		assert.Equal(t, without.Outcomes[i].Point, with.Outcomes[i].Point)
	}
	assert.Equal(t, without.Feeds(), with.Feeds())
	assert.Equal(t, without.CoilFirings(), with.CoilFirings())
	// Neither does a wiring so poor that much less arrives.
	poor := altered(t, "open", rpm, "wiring.feed.area", "4 mm2")
	assert.Equal(t, without.Outcomes[0].Point, poor.Outcomes[0].Point)
}

// TestLoop: a voltage that is left to the wiring is the one that arrives in the full-load mode, found by an independent path: stated by hand, the same
// circuit lets the same voltage arrive.
func TestLoop(t *testing.T) {
	unsaid := []string{"injection.supply_voltage", "none", "ignition.supply_voltage", "none", "supply.pumps.voltage", "none", "supply.lift.voltage", "none"}
	r := altered(t, "open", []float64{6500}, unsaid...)
	require.NoError(t, r.LoopErr)
	trim := r.Trim
	assert.NotEqual(t, 13.5, trim.Injection.SupplyVoltage)
	said := runtest.Solved(t, spectest.Hillclimb, "open", 6500)
	copied := *said.Trim
	injection, ignition, sup := *copied.Injection, *copied.Ignition, *copied.Supply
	injection.SupplyVoltage, ignition.SupplyVoltage, sup.Voltage = trim.Injection.SupplyVoltage, trim.Ignition.SupplyVoltage, trim.Supply.Voltage
	copied.Injection, copied.Ignition, copied.Supply = &injection, &ignition, &sup
	stated := runtest.Solve(t, &copied, 6500)
	assert.Equal(t, stated.Outcomes[0].Point, r.Outcomes[0].Point)
	c := circuits(t, stated)
	at := c.FullLoads()[0]
	least := map[string]float64{}
	for _, a := range c.Arrivals(&at) {
		if x, met := least[a.Key]; !met || a.Voltage < x {
			least[a.Key] = a.Voltage
		}
	}
	assert.InDelta(t, least["injection.supply_voltage"], trim.Injection.SupplyVoltage, 1e-6)
	assert.InDelta(t, least["ignition.supply_voltage"], trim.Ignition.SupplyVoltage, 1e-6)
	assert.InDelta(t, least["supply.pumps.voltage"], trim.Supply.Voltage, 1e-6)
	assert.InDelta(t, least["supply.lift.voltage"], trim.Supply.Lift.Voltage, 1e-6)
	// And the duty of the solved point is that with the voltage which arrives at the set that has less.
	for _, d := range trim.Defaults {
		if d.Path == "injection.supply_voltage" {
			assert.Contains(t, d.Reason, "stage")
		}
	}

	// A thinner wire leaves less voltage, a longer dead time and a higher duty.
	thick := altered(t, "open", []float64{3500, 6500}, unsaid...)
	thin := altered(t, "open", []float64{3500, 6500}, append(unsaid, "wiring.channels.injectors 1.area", "0.35 mm2")...)
	assert.Less(t, thin.Trim.Injection.SupplyVoltage, trim.Injection.SupplyVoltage-0.1)
	before, after := thick.Outcomes[0].Point.Injection.Primary, thin.Outcomes[0].Point.Injection.Primary
	assert.Greater(t, after.DeadTime, before.DeadTime)
	assert.InDelta(t, after.DeadTime-before.DeadTime, after.Pulse-before.Pulse, 1e-8, "at 3500 rpm the primary set works alone, for the same fuel")
	assert.InDelta(t, (after.DeadTime-before.DeadTime)*3500/120, after.Duty-before.Duty, 1e-6)
	// At 6500 rpm the sets share the fuel by the duty that the primary would need alone. That is higher, so the secondary gives more.
	assert.Greater(t, thin.Outcomes[1].Point.Injection.SecondaryShare, thick.Outcomes[1].Point.Injection.SecondaryShare)

	// Thin wires leave the coils a longer dwell for the same current, and the pumps less flow.
	poor := altered(t, "open", []float64{6500}, append(unsaid, "wiring.channels.coils.area", "0.35 mm2", "wiring.channels.pump 1.area", "0.75 mm2")...)
	assert.Less(t, poor.Trim.Ignition.SupplyVoltage, trim.Ignition.SupplyVoltage-0.1)
	assert.Less(t, poor.Trim.Supply.Voltage, trim.Supply.Voltage-0.5)
	assert.Greater(t, poor.CoilFirings()[0].Dwell, r.CoilFirings()[0].Dwell)
	assert.Less(t, poor.Feeds()[0].Operation.Margin, r.Feeds()[0].Operation.Margin)

	// One that lets nothing through fails by name, and leaves the default.
	none := altered(t, "open", []float64{6500}, append(unsaid, "wiring.channels.control.contacts", "1 ohm", "wiring.loads.ecu.current", "14 A")...)
	require.Error(t, none.LoopErr)
	assert.Contains(t, none.LoopErr.Error(), "channel control: its wire takes all of the")
	assert.InDelta(t, 13.5, none.Trim.Injection.SupplyVoltage, 0)
	still := altered(t, "open", []float64{6500}, append(unsaid, "wiring.modes.rest", "{speed: 0 rpm, on: [ecu, primary set]}", "wiring.full_load", "rest")...)
	assert.ErrorContains(t, still.LoopErr, "mode rest, whose loads are on at full load, has no engine speed")
}

// TestTripped: what the five and the four lose, by what their loads carry.
func TestTripped(t *testing.T) {
	lost := func(r *run.Run) (map[string]run.TrippedChannel, []run.TrippedChannel) {
		all, by := circuits(t, r).Tripped(), map[string]run.TrippedChannel{}
		for i, x := range all {
			require.NoError(t, x.Err)
			by[x.Name] = x
			if i > 0 {
				assert.GreaterOrEqual(t, x.Loss, all[i-1].Loss, "the worst first")
			}
		}
		return by, all
	}
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3000, 6000, 7000)
	by, all := lost(r)
	for name, want := range map[string]run.Loss{
		"injectors 2": run.LeansOut, "control": run.Stops, "injectors 1": run.Stops, "coils": run.Stops, "lift pump": run.Stops, "pump 1": run.RunsOn,
		"lights": run.RunsOn,
	} {
		assert.Equal(t, want, by[name].Loss, name)
	}
	assert.Equal(t, "injectors 2", all[0].Name)
	p := &r.Outcomes[1].Point // at 6000 rpm the second set gives a part that leaves a mixture that burns, at 7000 rpm too much to
	assert.InDelta(t, p.Injection.SecondaryShare, by["injectors 2"].Share, 1e-12)
	assert.InDelta(t, p.Lambda/(1-p.Injection.SecondaryShare), by["injectors 2"].Lambda, 1e-12)
	require.Greater(t, r.Outcomes[2].Point.Lambda/(1-r.Outcomes[2].Point.Injection.SecondaryShare), 1.5)

	// Two of the five primary injectors on a channel of their own leave two cylinders out where the second set does not work.
	part := altered(t, "open", []float64{3000}, "wiring.loads.primary set.count", "2", "wiring.loads.coils.count", "3")
	by, _ = lost(part)
	assert.Equal(t, run.CylindersOut, by["injectors 1"].Loss)
	assert.InDelta(t, 0.4, by["injectors 1"].Share, 1e-12)
	assert.InDelta(t, 0.6, by["coils"].Share, 1e-12)

	// One pump of two that are too small: what is left of the fuel is what the other gives.
	small := altered(t, "open", []float64{6000}, "supply.pumps.curve", "{12 V: {0 bar: 120 L/h, 7 bar: 80 L/h}, 14 V: {0 bar: 130 L/h, 7 bar: 85 L/h}}")
	by, _ = lost(small)
	feed := small.Feeds()[0]
	require.True(t, feed.Known())
	one := small.Trim.Supply.System
	one.Pumps = one.Pumps.(supply.Parallel)[0]
	liquid, err := small.Liquid()
	require.NoError(t, err)
	op, err := one.At(supply.State{Voltage: small.Trim.Supply.Voltage, RailPressure: feed.Asked, Demand: feed.Demand, Liquid: liquid})
	require.NoError(t, err)
	assert.Equal(t, run.LeansOut, by["pump 1"].Loss)
	assert.InDelta(t, 1-op.PumpFlow/feed.Demand, by["pump 1"].Share, 1e-9)

	four := runtest.Solved(t, spectest.ClubFour, "free", 5000)
	by, _ = lost(four)
	assert.Equal(t, run.Stops, by["pump"].Loss)
	assert.Equal(t, run.Stops, by["engine"].Loss)
}

// TestFeed: the feed is heated by the sum of all loads in the mode where that is most, and a thin one carries less than that. Thick enough is what leaves the
// worst channel its drop.
func TestFeed(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3000, 6500)
	c := circuits(t, r)
	modes := c.Modes()
	all := c.Channels(modes)
	feed := all[len(all)-1]
	require.True(t, feed.Feed)
	assert.Equal(t, "night stage", feed.Mode.Name)
	night := c.Balances(modes)[1]
	assert.InDelta(t, night.Sum, feed.State.RMS(), 1e-9)
	assert.InDelta(t, 0.85*148, feed.Carries, 1e-9) // 35 mm² in PVC continuously, in the example's bundle
	// While cranking 6 % of the voltage are for feed and wires; what the worst wire leaves is for the feed, with as much current as 35 mm² let flow.
	cranking := modes[3].State
	wires := 0.0
	for _, ch := range cranking.Channels {
		for _, l := range ch.Loads {
			wires = math.Max(wires, cranking.Bus-l.Voltage)
		}
	}
	ohms := (0.06*cranking.Supply.Voltage - wires) / 157.3 / 4 / 1.0786 // Ω/m at 20 °C; 25 mm² have 0.78 Ω/km, 35 mm² 0.554
	assert.Greater(t, ohms, 0.554e-3)
	assert.Less(t, ohms, 0.78e-3)
	assert.InDelta(t, 35e-6, feed.Smallest.Area, 1e-12)

	without := altered(t, "open", []float64{6500}, "wiring.feed", "none")
	none := circuits(t, without)
	for _, ch := range none.Channels(none.Modes()) {
		assert.False(t, ch.Feed)
	}
}

// TestLeftOut: a load whose part is gone draws nothing, and its channel neither.
func TestLeftOut(t *testing.T) {
	r := altered(t, "open", []float64{6500}, "supply.lift", "none")
	require.Len(t, r.Trim.Wiring.LeftOut, 1)
	c := circuits(t, r)
	modes := c.Modes()
	require.NoError(t, modes[0].Err)
	lift := c.Channels(modes)[6]
	assert.Equal(t, "lift pump", lift.Name)
	assert.False(t, lift.Draws())
	assert.Nil(t, lift.Mode)

	// Without a rail the pumps' pressure is not known, and they are left out like the injectors.
	bare := altered(t, "open", []float64{3000}, "injection", "none")
	require.Len(t, bare.Trim.Wiring.LeftOut, 4)
	for _, x := range circuits(t, bare).Tripped() {
		require.NoError(t, x.Err)
	}

	// A gas has no liquid's density, and without injectors none is asked for.
	gas := altered(t, "open", []float64{3000}, "fuel.kind", "methane", "fuel.knock_octane", "120", "injection", "none", "supply", "none")
	require.Len(t, gas.Trim.Wiring.LeftOut, 5)
	for _, m := range circuits(t, gas).Modes() {
		require.NoError(t, m.Err)
	}
}

// TestBalances by hand from the example's figures.
func TestBalances(t *testing.T) {
	r := runtest.Solved(t, spectest.Hillclimb, "open", 3000, 6500)
	c := circuits(t, r)
	modes := c.Modes()
	for _, b := range c.Balances(modes) {
		require.NoError(t, b.Err, b.Mode.Name)
		sum := 0.0
		for _, ch := range b.State.Channels {
			sum += ch.Mean
		}
		assert.InDelta(t, sum, b.Sum, 1e-9)
		switch b.Mode.Name {
		case "stage":
			assert.InDelta(t, 13.9, b.State.Supply.Voltage, 1e-9)
			assert.InDelta(t, 1, b.State.Supply.Battery, 1e-9) // a twentieth of 20 Ah
			assert.True(t, math.IsInf(b.Lasts, 1))
			assert.False(t, b.Negative())
			assert.True(t, math.IsNaN(b.Back))
		case "cranking":
			assert.Zero(t, b.Output)
			assert.InDelta(t, 12.7-0.008*sum, b.State.Supply.Voltage, 1e-9)
			assert.InDelta(t, 0.5*20*3600/sum, b.Lasts, 1e-6)
			assert.InDelta(t, 8*sum, b.Used, 1e-6)
			assert.InDelta(t, 8*sum*(12.7-0.008*sum), b.Drawn, 1e-6)
			assert.InDelta(t, 8*sum/1, b.Back, 1e-6) // at the 1 A of the stage
		}
	}
}
