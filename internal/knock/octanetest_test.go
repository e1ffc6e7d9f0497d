package knock

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"bellmouth/internal/geometry"
)

const (
	deg = math.Pi / 180
	rpm = math.Pi / 30
)

// A wiebeEngine is one cylinder without heat loss: enough for what an end gas lives through. The gas has γ 1.33 unburned and
// 1.25 burned, the end gas is compressed with the cylinder's pressure, and the delay is added up until 90 % have burned.
type wiebeEngine struct {
	cyl       geometry.Cylinder
	speed     float64 // rad/s
	closing   float64 // of the inlet valve, rad before firing top dead centre
	p, T      float64 // there, Pa and K
	burnStart float64 // rad after top dead centre
	burnAngle float64 // 0 to 90 %, rad
	heat      float64 // released per kilogram of charge, J/kg
}

const (
	gammaUnburned = 1.33
	gammaBurned   = 1.25
	wiebeA        = 5.0
)

// run returns the knock integral, the peak pressure and the end gas temperature at its end.
func (e *wiebeEngine) run(d *Delay) (integral, peak, endT float64) {
	const h = 0.1 * deg
	perRadian := math.Cbrt(math.Log(10)/wiebeA) / e.burnAngle
	burned := func(theta float64) float64 {
		if theta <= e.burnStart {
			return 0
		}
		y := (theta - e.burnStart) * perRadian
		return 1 - math.Exp(-wiebeA*y*y*y)
	}
	p := e.p
	volume := e.cyl.Volume(-e.closing)
	heat := e.heat * e.p * volume / (287 * e.T)
	endGas := func(p float64) float64 { return e.T * math.Pow(p/e.p, 1-1/gammaUnburned) }
	rate := d.Rate(math.Log(p), e.T)
	for theta := -e.closing; burned(theta) < 0.9; theta += h {
		v := e.cyl.Volume(theta + h)
		x0, x1 := burned(theta), burned(theta+h)
		gamma := gammaUnburned + (gammaBurned-gammaUnburned)*(x0+x1)/2
		p = p*math.Pow(volume/v, gamma) + (gamma-1)*heat*(x1-x0)/v
		volume = v
		endT = endGas(p)
		next := d.Rate(math.Log(p), endT)
		integral += h / e.speed * (rate + next) / 2
		rate = next
		peak = max(peak, p)
	}
	return integral, peak, endT
}

// The octane tests, as they are remembered: the engine of 3.25 in bore, 4.5 in stroke and 10 in rod, its inlet closing 34° after
// bottom dead centre, coolant at 100 °C; 600 rpm, 13° of advance and air at 52 °C before the carburettor (research), or 900 rpm,
// 14° to 26° of advance and a mixture heated to 149 °C behind it (motor). From memory of ASTM D2699 and D2700.
//
// Estimates, written down before any result was seen: the charge at inlet closing is at 1 bar and, with the heat of walls and
// residual gas, 40 K above the mixture in the research test and 30 K in the motor test, whose mixture is hotter. The mixture
// of the research test is cooled by half of what full evaporation would take, walls giving the rest: by 9 K with petrol, by
// 43 K with ethanol (18 K and 86 K when all of it evaporates at the mixture that knocks most). Burning takes 35° to 90 % and
// starts 4° after the spark. Nine tenths of the charge are fresh, and 15 % of the heat goes to the walls meanwhile.
const (
	researchPetrol  = 273.15 + 52 - 9 + 40
	researchEthanol = 273.15 + 52 - 43 + 40
	motorCharge     = 273.15 + 149 + 30
	chargeHeat      = 2.75e6 * 0.9 * 0.85
)

func research(T float64) wiebeEngine {
	return wiebeEngine{
		cyl:   geometry.Cylinder{Bore: 0.08255, Stroke: 0.1143, Rod: 0.254},
		speed: 600 * rpm, closing: 146 * deg, p: 1e5, T: T,
		burnStart: -9 * deg, burnAngle: 35 * deg, heat: chargeHeat,
	}
}

func motor() wiebeEngine {
	e := research(motorCharge)
	e.speed, e.burnStart = 900*rpm, -15*deg
	return e
}

// borderline raises the compression ratio until the delay's integral is 1, as the tests do until the engine knocks.
func borderline(t *testing.T, e *wiebeEngine, d *Delay) {
	t.Helper()
	lo, hi := 2.0, 30.0
	for range 60 {
		e.cyl.CompressionRatio = (lo + hi) / 2
		if i, _, _ := e.run(d); i > 1 {
			hi = e.cyl.CompressionRatio
		} else {
			lo = e.cyl.CompressionRatio
		}
	}
	require.Greater(t, lo, 2.01)
	require.Less(t, hi, 29.9)
}

// octane returns the number of the primary reference fuel that the delay has in this engine.
func octane(t *testing.T, e wiebeEngine, d *Delay) float64 {
	t.Helper()
	prf := petrol(t, 100)
	borderline(t, &e, d)
	i, _, _ := e.run(&prf)
	return 100 * math.Pow(i, 1/3.402)
}

func delay(t testing.TB, c Charge) Delay {
	t.Helper()
	d, _, err := New(c)
	require.NoError(t, err)
	return d
}

func petrol(t testing.TB, on float64) Delay {
	t.Helper()
	return delay(t, Charge{Octane: on, Lambda: PeakLambda})
}

func shockTube(t testing.TB, multiplier float64) Delay {
	t.Helper()
	return delay(t, Charge{RON: EthanolRON, MON: EthanolMON, Ethanol: 1, Lambda: PeakLambda, EthanolMultiplier: multiplier})
}

// Why alcohols do not go by the shock tube: its delay, scaled so that ethanol gets its RON in the research test, is far from its
// MON in the motor test. 6 numbers were accepted before the result was seen; it misses by 30. The conditions above are
// rough, but not by that: with each of them changed it still misses by more than 15.
func TestShockTubeSlopeMissesTheMotorNumber(t *testing.T) {
	for name, change := range map[string]func(r, rCold, m *wiebeEngine){
		"as estimated": func(_, _, _ *wiebeEngine) {},
		"no cooling in the research test": func(r, rCold, _ *wiebeEngine) {
			rCold.T = r.T
		},
		"research charge 20 K hotter": func(r, rCold, _ *wiebeEngine) {
			r.T += 20
			rCold.T += 20
		},
		"motor charge 30 K colder": func(_, _, m *wiebeEngine) {
			m.T -= 30
		},
		"slower burn": func(r, rCold, m *wiebeEngine) {
			r.burnAngle, rCold.burnAngle, m.burnAngle = 45*deg, 45*deg, 45*deg
		},
		"a third of the heat lost": func(r, rCold, m *wiebeEngine) {
			for _, e := range []*wiebeEngine{r, rCold, m} {
				e.heat *= 0.67 / 0.85
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			r, rCold, m := research(researchPetrol), research(researchEthanol), motor()
			change(&r, &rCold, &m)
			d := petrol(t, EthanolRON)
			borderline(t, &r, &d)
			rCold.cyl = r.cyl
			raw := shockTube(t, 1)
			i, _, _ := rCold.run(&raw)
			scaled := shockTube(t, i)
			i, _, _ = rCold.run(&scaled)
			require.InDelta(t, 1, i, 1e-9)
			mon := octane(t, m, &scaled)
			t.Logf("multiplier %.2f, MON %.1f", 1/math.Exp(scaled.offset-raw.offset), mon)
			assert.Less(t, mon, EthanolMON-15)
		})
	}
}

// By octane index the motor test, which lets no cooling through, comes out by making. The research test is a check of the 7 K to an
// octane number: with the cold charge that ethanol makes there its RON should come back, by 6 numbers as above. It comes out 5
// too high. The delay is twice as sensitive to the charge's temperature as SAE 960497 finds of intake temperature, half of
// which may never reach the end gas. So the cycle may see up to 5 numbers too much in an alcohol whose cooling it takes whole.
func TestEthanolInTheOctaneTests(t *testing.T) {
	c := Charge{RON: EthanolRON, MON: EthanolMON, Ethanol: 1, Lambda: PeakLambda, K: 1}
	d := delay(t, c)
	assert.InDelta(t, EthanolMON, octane(t, motor(), &d), 1e-6)

	c.K = 0
	d = delay(t, c)
	r := research(researchEthanol)
	borderline(t, &r, &d)
	r.T = researchPetrol
	prf := petrol(t, 100)
	i, _, _ := r.run(&prf)
	ron := 100 * math.Pow(i, 1/3.402)
	t.Logf("RON %.1f", ron)
	assert.InDelta(t, EthanolRON, ron, 6)
}
