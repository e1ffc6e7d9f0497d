package friction

import (
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Model is the component model made ready for one engine. It does not change and serves any number of goroutines.
//
// It adds up what crank, pistons, valve train and auxiliaries take, in kPa, with B bore, S stroke, D and L bearing diameter
// and length and Lv valve lift in mm, N in rev/min, Sp mean piston speed in m/s; nc cylinders, nb bearings of the kind and nv
// valves of the whole engine; v = √(ν/ν0) of the oil:
//
//	crank seals                  1.22e5 Dm/(B² S nc)
//	main bearings                3.03e-4 v N Dm³ Lm nb/(B² S nc)
//	oil thrown about             1.35e-10 Dm² N² nb/nc
//	crank pins                   3.03e-4 v N Dp³ Lp nb/(B² S nc)
//	piston skirts                294 v Sp/B
//	rings                        4.06e4 (1 + k/N)/B²
//	rings under gas pressure     6.89 pi/pa (0.088 v rc + 0.182 rc^(1.33 − 0.0238 Sp)), Sp at most 30 m/s in the exponent
//	cam seals                    4.12
//	cam bearings                 244 v N nb/(B² S nc)
//	flat or rolling followers    Cff (1 + k/N) nv/(S nc), or Crf N nv/(S nc)
//	what rocks or slides         Coh v Lv^1.5 √N nv/(B S nc) + Com (1 + k/N) Lv nv/(S nc)
//	auxiliaries                  8.32 + 1.86e-3 N + 7.45e-7 N²
//
// Source: Patton, Nitschke and Heywood, SAE 890836 (1989), as revised by Sandoval and Heywood, SAE 2003-01-0725; the constants
// are from memory. The pumping and valve flow terms of both papers are left out: they belong to the gas exchange.
//
// k is 500 rev/min, which is the revised paper's; the first had 1000. The other terms are those of the revision too, and with
// 500 the growth from 1000 to 3000 rev/min lies nearer to that of an independent polynomial (see the tests). At 8000 rev/min
// the choice moves the sum by less than half a per cent.
//
// Range: fitted to engines of the 1980s at about 600 to 6000 rev/min, throttled and naturally aspirated. Beyond, it is
// extrapolated, and Beyond says so. Above 6000 rev/min the skirts grow with speed, oil thrown about and auxiliaries with
// its square. Under boost the term of gas pressure grows with the manifold's. Its exponent is held from 30 m/s on: the
// straight line it falls on was drawn at lower speeds, and leads below zero.
type Model struct {
	ratio float64 // Sp over N in rev/min, m/s

	// coefficients over N, N², √N, 1 + k/N and pi/pa, kPa
	seals, mains, thrown, pins, skirts, rings             float64
	gasConstant, gasFactor, gasSlope                      float64 // a + b exp(−c Sp)
	camSeals, camBearings, flat, roller, rocking, rubbing float64
	auxConstant, auxLinear, auxSquare                     float64
}

// The revised paper's speed of the mixed terms k, rev/min.
const mixedSpeed = 500

// Where the model was fitted, and where its exponent is held.
const (
	lowestSpeed     = 600  // rev/min
	highestSpeed    = 6000 // rev/min
	heldPistonSpeed = 30   // m/s
	fittedRatio     = 1.02 // pi/pa: the ambient's, and what the last digits of a solution add to it
)

// New makes the component model of an engine ready.
func New(e Engine, c Components) (*Model, error) {
	if err := e.Cylinder.Validate(); err != nil {
		return nil, err
	}
	if err := e.Valves.Validate(e.Cylinder.Bore); err != nil {
		return nil, err
	}
	if e.Cylinders < 1 {
		return nil, fmt.Errorf("number of cylinders is %d; want 1 or more", e.Cylinders)
	}
	if err := c.Validate(e); err != nil {
		return nil, err
	}
	const mm = 1e-3
	b, s, nc := e.Cylinder.Bore/mm, e.Cylinder.PistonStroke()/mm, float64(e.Cylinders)
	v := math.Sqrt(c.OilViscosity)
	bearings := func(g Bearings) float64 {
		d, l := g.Diameter/mm, g.Length/mm
		return 3.03e-4 * v * d * d * d * l * float64(g.Count) / (b * b * s * nc)
	}
	dm := c.MainBearings.Diameter / mm
	in, ex := float64(e.Valves.InletCount), float64(e.Valves.ExhaustCount)
	lift := (in*e.Valves.InletLift + ex*e.Valves.ExhaustLift) / (in + ex) / mm
	nv := nc * (in + ex)
	train := valveTrains[c.ValveTrain]
	rc := e.Cylinder.CompressionRatio
	m := &Model{
		ratio:       e.Cylinder.MeanPistonSpeed(math.Pi / 30),
		seals:       1.22e5 * dm / (b * b * s * nc),
		mains:       bearings(c.MainBearings),
		thrown:      1.35e-10 * dm * dm * float64(c.MainBearings.Count) / nc,
		pins:        bearings(c.CrankPins),
		skirts:      2.94e2 * v / b,
		rings:       4.06e4 / (b * b),
		gasConstant: 6.89 * 0.088 * v * rc, gasFactor: 6.89 * 0.182 * math.Pow(rc, 1.33), gasSlope: 0.0238 * numeric.Log(rc),
		camSeals:    4.12,
		camBearings: 244 * v * float64(c.CamBearings) / (b * b * s * nc),
		rocking:     train.oscillatingHydro * v * math.Pow(lift, 1.5) * nv / (b * s * nc),
		rubbing:     train.oscillatingMix * lift * nv / (s * nc),
		auxConstant: 8.32 * c.Auxiliaries, auxLinear: 1.86e-3 * c.Auxiliaries, auxSquare: 7.45e-7 * c.Auxiliaries,
	}
	if c.Roller {
		m.roller = train.roller * nv / (s * nc)
	} else {
		m.flat = train.flat * nv / (s * nc)
	}
	return m, nil
}

// terms are the model's terms at one state, kPa.
type terms struct {
	seals, mains, thrown, pins      float64
	skirts, rings                   float64
	gas                             float64
	camSeals, camBearings, follower float64
	rocking, rubbing                float64
	auxiliaries                     float64
}

func (m *Model) terms(s State) terms {
	n := s.Speed * 30 / math.Pi // rev/min
	sp := m.ratio * n
	mixed := 1 + mixedSpeed/n
	return terms{
		seals: m.seals, mains: m.mains * n, thrown: m.thrown * n * n, pins: m.pins * n,
		skirts: m.skirts * sp, rings: m.rings * mixed,
		gas:      s.ManifoldPressure / s.AmbientPressure * (m.gasConstant + m.gasFactor*numeric.Exp(-m.gasSlope*math.Min(sp, heldPistonSpeed))),
		camSeals: m.camSeals, camBearings: m.camBearings * n, follower: m.flat*mixed + m.roller*n,
		rocking: m.rocking * math.Sqrt(n), rubbing: m.rubbing * mixed,
		auxiliaries: m.auxConstant + (m.auxLinear+m.auxSquare*n)*n,
	}
}

// Parts are the shares of the friction mean effective pressure, Pa.
type Parts struct {
	Crank       float64 // main bearings, crank pins, seals, oil thrown about
	Piston      float64 // skirts, and rings without gas pressure
	GasLoad     float64 // rings under gas pressure
	ValveTrain  float64
	Auxiliaries float64
}

// Sum returns the friction mean effective pressure, Pa.
func (p Parts) Sum() float64 { return p.Crank + p.Piston + p.GasLoad + p.ValveTrain + p.Auxiliaries }

// Parts returns the shares of the friction mean effective pressure, Pa. See Model.
func (m *Model) Parts(s State) Parts {
	const kPa = 1e3
	t := m.terms(s)
	return Parts{
		Crank:       kPa * (t.seals + t.mains + t.thrown + t.pins),
		Piston:      kPa * (t.skirts + t.rings),
		GasLoad:     kPa * t.gas,
		ValveTrain:  kPa * (t.camSeals + t.camBearings + t.follower + t.rocking + t.rubbing),
		Auxiliaries: kPa * t.auxiliaries,
	}
}

// MeanEffectivePressure returns the friction mean effective pressure FMEP, Pa: the sum of the parts. See Model. It allocates
// nothing.
func (m *Model) MeanEffectivePressure(s State) float64 { return m.Parts(s).Sum() }

// Beyond says in what a state lies beyond what the model was fitted to.
type Beyond uint

// The ways.
const (
	SpeedBeyond Beyond = 1 << iota // below 600 or above 6000 rev/min: extrapolated
	BoostBeyond                    // manifold above ambient pressure: extrapolated
	PistonHeld                     // mean piston speed above 30 m/s: the exponent of the gas pressure's term is held
)

// Beyond returns in what the state lies beyond what the model was fitted to.
func (m *Model) Beyond(s State) Beyond {
	const slack = 1e-9 // 6000 rpm, read and converted, is 6000 rpm
	var b Beyond
	n := s.Speed * 30 / math.Pi
	if !(n >= lowestSpeed*(1-slack) && n <= highestSpeed*(1+slack)) {
		b |= SpeedBeyond
	}
	if s.ManifoldPressure > fittedRatio*s.AmbientPressure {
		b |= BoostBeyond
	}
	if m.ratio*n > heldPistonSpeed {
		b |= PistonHeld
	}
	return b
}
