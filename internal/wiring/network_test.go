package wiring

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func steady(current float64) func(float64) (Draw, error) {
	return func(float64) (Draw, error) { return Steady(current), nil }
}

func by(l Law) func(float64) (Draw, error) {
	return func(u float64) (Draw, error) { return Steady(l.At(u)), nil }
}

// TestDivider: an ohmic load behind a wire and a feed is the voltage divider, U R/(R + Rw + Rf + Rb).
func TestDivider(t *testing.T) {
	feed := Wire{Contacts: 0.02, Temperature: 300}
	for _, rw := range []float64{0, 0.1, 3, 40} { // the last ones take most of the voltage
		n := Network{Source: Source{Battery: Battery{Voltage: 12.6, Resistance: 0.01}}, Feed: &feed,
			Channels: []Channel{{"a", Wire{Contacts: rw, Temperature: 300}, []Load{{"lamp", by(Law{Current: 2, Voltage: 12, Exponent: Ohmic})}}}}}
		s, err := n.Settle()
		require.NoError(t, err)
		const r = 6.0
		assert.InDelta(t, 12.6*r/(r+rw+0.03), s.Channels[0].Loads[0].Voltage, 1e-9)
	}
}

// TestConstantPower: the voltage of a converter behind a resistance is the upper root of U² − U0 U + P R = 0.
func TestConstantPower(t *testing.T) {
	n := Network{Source: Source{Battery: Battery{Voltage: 12, Resistance: 1e-9}},
		Channels: []Channel{{"a", Wire{Contacts: 0.2, Temperature: 300}, []Load{{"radio", by(Law{Current: 10, Voltage: 12, Exponent: ConstantPower})}}}}}
	s, err := n.Settle()
	require.NoError(t, err)
	assert.InDelta(t, (12+math.Sqrt(144-4*120*0.2))/2, s.Channels[0].Loads[0].Voltage, 1e-7)
	n.Channels[0].Wire.Contacts = 0.31 // past 144/(4 120) there is no root
	_, err = n.Settle()
	var bad *NetworkError
	require.ErrorAs(t, err, &bad)
	assert.Equal(t, "a", bad.Channel)
}

// TestKirchhoff over random harnesses: voltages add up, currents add up, and what arrives with what is lost is what the source gives.
func TestKirchhoff(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 400 {
		n := harness(r)
		s, err := n.Settle()
		require.NoError(t, err)
		total, arrived, lost := 0.0, 0.0, s.Lost
		for i, c := range s.Channels {
			resistance, mean := n.Channels[i].Wire.Resistance(), 0.0
			for k, l := range c.Loads {
				d, err := n.Channels[i].Loads[k].Draw(l.Voltage)
				require.NoError(t, err)
				assert.InDelta(t, d.Mean, l.Mean, 1e-9*(1+d.Mean), "what it draws is what it draws at the voltage it has")
				assert.InDelta(t, s.Supply.Voltage, l.Voltage+l.Drop, 1e-9)
				mean += l.Mean
				arrived += l.Voltage * l.Mean
			}
			for _, l := range c.Loads {
				assert.InDelta(t, s.Bus, l.Voltage+resistance*(mean-l.Mean+l.While), 1e-9)
			}
			assert.InDelta(t, mean, c.Mean, 1e-9)
			assert.GreaterOrEqual(t, c.RMS(), c.Mean*(1-1e-9))
			total += mean
			lost += c.Lost
		}
		assert.InDelta(t, total, s.Supply.Alternator-s.Supply.Battery, 1e-9*(1+total))
		assert.InDelta(t, s.Supply.Voltage*total, arrived+lost, 1e-9*(1+s.Supply.Voltage*total))
		if b := n.Source.Battery; s.Supply.Battery < 0 {
			assert.InDelta(t, s.Supply.Voltage, b.Voltage+b.Resistance*s.Supply.Battery, 1e-9)
		}
	}
}

// TestDropTrends: a longer wire never loses less, a thicker one never more; a wire without length loses nothing.
func TestDropTrends(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		n := harness(r)
		i := r.IntN(len(n.Channels))
		before, err := n.Settle()
		require.NoError(t, err)
		worse := func(change func(w *Wire)) []LoadState {
			changed := n
			changed.Channels = append([]Channel(nil), n.Channels...)
			change(&changed.Channels[i].Wire)
			s, err := changed.Settle()
			require.NoError(t, err)
			return s.Channels[i].Loads
		}
		longer := worse(func(w *Wire) { w.Length *= 1.2 })
		thicker := worse(func(w *Wire) { w.Conductor = Flexible(w.Area * 1.5) })
		none := worse(func(w *Wire) { w.Length, w.Return, w.Contacts = 0, 0, 0 })
		for k, l := range before.Channels[i].Loads {
			assert.LessOrEqual(t, longer[k].Voltage, l.Voltage+1e-9)
			assert.GreaterOrEqual(t, thicker[k].Voltage, l.Voltage-1e-9)
			assert.GreaterOrEqual(t, none[k].Voltage, l.Voltage-1e-9)
		}
	}
	n := harness(r)
	n.Feed = nil
	for i := range n.Channels {
		n.Channels[i].Wire = Wire{Conductor: Flexible(1e-6), Temperature: 300}
	}
	s, err := n.Settle()
	require.NoError(t, err)
	for _, c := range s.Channels {
		for _, l := range c.Loads {
			assert.Zero(t, l.Drop)
		}
	}
}

// harness returns a network of random loads of every law, with wires that a car may have.
func harness(r *rand.Rand) Network {
	n := Network{Source: Source{
		Battery: Battery{Voltage: 12.2 + r.Float64(), Resistance: 0.003 + 0.02*r.Float64(), Charging: 1, Charge: 7e4, Usable: 0.5},
		Output:  80 * r.Float64() * float64(r.IntN(2)), Set: 14,
	}}
	wire := func(area float64) Wire {
		return Wire{Conductor: Flexible(area), Length: 4 * r.Float64(), Return: 4 * r.Float64(), Temperature: 290 + 60*r.Float64(), Contacts: 0.01 * r.Float64()}
	}
	feed := wire(16e-6)
	n.Feed = &feed
	laws := []float64{ConstantPower, ConstantCurrent, Ohmic, Filament, Fan}
	for i := range 1 + r.IntN(6) {
		c := Channel{Name: fmt.Sprint(i), Wire: wire((1 + 3*r.Float64()) * 1e-6)}
		for k := range 1 + r.IntN(3) {
			law := Law{Current: 6 * r.Float64(), Voltage: 12, Exponent: laws[r.IntN(len(laws))]}
			devices, time := 1+r.IntN(6), 0.02*r.Float64()
			draw := by(law)
			if r.IntN(2) == 0 {
				draw = func(u float64) (Draw, error) { return Together(devices, 0.02, Saturated(u, 12, time)), nil }
			}
			c.Loads = append(c.Loads, Load{fmt.Sprint(k), draw})
		}
		n.Channels = append(n.Channels, c)
	}
	return n
}

func TestNetworkErrors(t *testing.T) {
	n := Network{Source: Source{Battery: Battery{Voltage: 12, Resistance: 0.01}},
		Channels: []Channel{{"fans", Wire{Contacts: 1, Temperature: 300}, []Load{{"fan", steady(30)}}}}}
	_, err := n.Settle()
	assert.EqualError(t, err, "channel fans: its wire takes all of the 11.70 V, and nothing is left for fan")
	n.Channels[0].Loads[0].Draw = func(float64) (Draw, error) { return Draw{}, errors.New("no spark") }
	_, err = n.Settle()
	assert.EqualError(t, err, "channel fans: fan at 12.00 V: no spark")
	n.Channels[0].Loads[0].Draw = steady(math.NaN())
	_, err = n.Settle()
	assert.EqualError(t, err, "channel fans: fan draws no current that can be computed at 12.00 V")
	n.Channels[0].Loads[0].Draw, n.Channels[0].Wire.Contacts = steady(1500), 0
	_, err = n.Settle()
	assert.EqualError(t, err, "source: the loads take all of its voltage before it reaches the channels")
}

// TestPulses by hand: five injectors of 12 Ω on 12 V, 1 A each, in a cycle of 20 ms.
func TestPulses(t *testing.T) {
	at := func(time float64) Draw { return Together(5, 0.02, Saturated(12, 12, time)) }
	close := func(want, got Draw) {
		t.Helper()
		assert.InDelta(t, want.Mean, got.Mean, 1e-12)
		assert.InDelta(t, want.While, got.While, 1e-12)
		assert.InDelta(t, want.Peak, got.Peak, 1e-12)
	}
	close(Draw{0.5, 1, 1}, at(0.002))                     // 10 %: never two at once
	close(Draw{1, 1, 1}, at(0.004))                       // 20 %: always one
	close(Draw{2.5, (0.5*4 + 0.5*9) / 2.5, 3}, at(0.010)) // 50 %: two or three, half of the time each
	close(Draw{5, 5, 5}, at(0.020))
	close(Draw{5, 5, 5}, at(0.030)) // no more than always
	close(Draw{}, at(0))

	// One peak-and-hold injector: 4 A for 1 ms and 1 A for 4 ms in 10 ms. 8 mA s and 20 mA² s.
	close(Draw{0.8, 2.5, 4}, Together(1, 0.01, PeakAndHold(4, 1, 0.001, 0.005)))
	close(Draw{0.2, 4, 4}, Together(1, 0.01, PeakAndHold(4, 1, 0.001, 0.0005))) // closed before it holds
	close(Draw{1, 1, 1}, Together(1, 0.01, PeakAndHold(4, 1, 0, 0.01)))
	// Two of them never overlap: twice the mean, the same while they draw.
	close(Draw{1.6, 2.5, 4}, Together(2, 0.01, PeakAndHold(4, 1, 0.001, 0.005)))
}

// TestPulsesBySampling adds the currents of evenly spaced pulses up over a cycle.
func TestPulsesBySampling(t *testing.T) {
	const samples = 100000
	for n := 1; n <= 8; n++ {
		for _, duty := range []float64{0.03, 0.2, 0.37, 0.5, 0.81, 0.99} {
			mean, square, peak := 0.0, 0.0, 0.0
			for i := range samples {
				open := 0.0
				for k := range n {
					if _, phase := math.Modf((float64(i)+0.5)/samples + float64(k)/float64(n)); phase < duty {
						open++
					}
				}
				mean, square, peak = mean+open/samples, square+open*open/samples, math.Max(peak, open)
			}
			d := Together(n, 1, Saturated(1, 1, duty))
			assert.InDelta(t, mean, d.Mean, 1e-3)
			assert.InDelta(t, square/mean, d.While, 1e-3)
			assert.InDelta(t, peak, d.Peak, 1e-9, "%d at %v", n, duty)
		}
	}
}

func TestLaws(t *testing.T) {
	for exponent, want := range map[float64]float64{ConstantPower: 12, ConstantCurrent: 6, Ohmic: 3, Fan: 1.5, Filament: 6 * math.Pow(0.5, 0.55)} {
		assert.InDelta(t, want, Law{Current: 6, Voltage: 12, Exponent: exponent}.At(6), 1e-12)
	}
}

// TestSource by hand: 12.5 V behind 10 mΩ, 10 A into it at 14 V, 40 A at most.
func TestSource(t *testing.T) {
	s := Source{Battery: Battery{Voltage: 12.5, Resistance: 0.01, Charging: 10, Charge: 20 * 3600, Usable: 0.5}, Output: 200, Set: 14}
	close := func(want, got Supply) {
		t.Helper()
		assert.InDelta(t, want.Voltage, got.Voltage, 1e-9)
		assert.InDelta(t, want.Alternator, got.Alternator, 1e-9)
		assert.InDelta(t, want.Battery, got.Battery, 1e-9)
	}
	close(Supply{14, 40, 10}, s.At(30)) // the regulator holds
	s.Output = 40
	close(Supply{14, 40, 10}, s.At(30))
	close(Supply{13.25, 40, 5}, s.At(35)) // all it has: half of what the battery would take
	close(Supply{12.5, 40, 0}, s.At(40))
	close(Supply{12.3, 40, -20}, s.At(60))
	s.Output = 0
	close(Supply{12.2, 0, -30}, s.At(30))
	s.Output, s.Set = 40, 12 // it charges nothing, and gives what the battery alone would not hold
	close(Supply{12.4, 0, -10}, s.At(10))
	close(Supply{12, 10, -50}, s.At(60))
	assert.InDelta(t, 1200, s.Battery.Lasts(30), 1e-9) // 10 Ah at 30 A: 20 minutes
}

func TestFuse(t *testing.T) {
	p := Protection{Continuous: 10, Load: 0.8, Wire: 25}
	f, err := p.FuseFor() // 12.5 A wanted
	require.NoError(t, err)
	assert.InDelta(t, 15, f, 0)
	p.Continuous = 8 // 10 A carries it exactly
	f, err = p.FuseFor()
	require.NoError(t, err)
	assert.InDelta(t, 10, f, 0)
	p.Wire = 8.75
	_, err = p.FuseFor()
	assert.EqualError(t, err, "the smallest rating that carries 8.0 A is 10 A, and the wire carries 8.8 A")
	p.Continuous = 99
	_, err = p.FuseFor()
	assert.EqualError(t, err, "no fuse up to 100 A carries 99.0 A")
}

func TestSetting(t *testing.T) {
	p := Protection{Continuous: 8, Peak: 8, Inrush: 12, InrushTime: 0.2, Load: 0.8, Wire: 17.5, Area: 2e-6}
	s, err := p.SettingFor(20, 20) // 13.2 A, a tenth above the inrush
	require.NoError(t, err)
	assert.InDelta(t, 13.2, s.Trip, 1e-12)
	assert.Zero(t, s.Delay)
	assert.InDelta(t, 0.25, s.Retry, 1e-12)

	p.Inrush = 40 // above the wire: by time, if the channel bears it. 10 A carries 8 A, 0.3 s, and 0.3 (50²/17.5² − 1) = 2.149 s
	s, err = p.SettingFor(20, 50)
	require.NoError(t, err)
	assert.InDelta(t, 10, s.Trip, 1e-12)
	assert.InDelta(t, 0.3, s.Delay, 1e-12)
	assert.InDelta(t, 2.14898, s.Retry, 1e-5)
	_, err = p.SettingFor(20, 20)
	assert.EqualError(t, err, "the inrush is 40.0 A, above the 17.5 A of what the wire carries, and the channel bears no more than 20.0 A for a moment")
	p.InrushTime = 15 // 115 A √s/mm² on 2 mm²: 52900 A² s, and 50² 22.5 = 56250
	_, err = p.SettingFor(20, 50)
	assert.EqualError(t, err, "the wire does not bear the 50.0 A that the channel lets through for 22 s")
	p.InrushTime = 14 // 50² 21 = 52500
	_, err = p.SettingFor(20, 50)
	require.NoError(t, err)
	p.Continuous = 15 // 18.75 A
	_, err = p.SettingFor(20, 50)
	assert.EqualError(t, err, "for the continuous current 18.8 A or more is wanted, and what the wire carries is 17.5 A")
	p.Continuous, p.Peak = 8, 19
	_, err = p.SettingFor(20, 50)
	assert.EqualError(t, err, "above the peaks 20.9 A or more is wanted, and what the wire carries is 17.5 A")
	p.Wire = 25
	_, err = p.SettingFor(20, 50)
	assert.EqualError(t, err, "above the peaks 20.9 A or more is wanted, and the channel's limit is 20.0 A")
}
