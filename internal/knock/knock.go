// Package knock computes the time that an end gas takes to ignite itself, by fuel, mixture and dilution, for the integral of
// Livengood and Wu (5th Symposium on Combustion, 1955): it knocks when ∫dt/τ comes to 1.
//
// Everything is in SI: Pa absolute, K, s, fractions.
package knock

import (
	"errors"
	"math"

	"bellmouth/internal/gas"
	"bellmouth/internal/numeric"
)

// Douaud and Eyzat's delay, τ = 17.68 ms (ON/100)^3.402 p^−1.7 exp(3800/T), p in standard atmospheres. Source: SAE 780080
// (1978), as printed by Heywood (1988), ch. 9; constants from memory.
const (
	petrolTime     = 17.68e-3 // s
	OctaneExponent = 3.402    // the power with which the delay goes with the octane number
	petrolPressure = 1.7
	petrolSlope    = 3800.0 // K
	atmosphere     = 101325.0
)

// The delay of ethanol in a shock tube, τ = 10^−1.79 µs exp(12400/T) (p/bar)^−0.83, stoichiometric in air, 10 to 50 bar, 650 K to
// 1220 K. Source: Cancino, Fikri, Oliveira and Schulz, abstract. It prints seconds; only microseconds give what a shock tube
// can measure.
const (
	ethanolLogTime  = (-1.79 - 6) * math.Ln10 // ln s
	ethanolPressure = 0.83
	ethanolSlope    = 12400.0 // K
	bar             = 1e5
)

// Octane numbers of pure ethanol in the two tests, as in package fuel: from memory.
const (
	EthanolRON = 108.6
	EthanolMON = 89.7
)

// What the evaporating alcohol takes from the research number.
//
// The research test heats the air before the carburettor, the motor test the mixture behind it. An alcohol's RON so holds
// the cold charge that it makes, its MON does not. The cycle computes the charge's temperature, so that part of the RON
// would count twice. A stoichiometric mixture is cooled by 18 K (isooctane), 86 K (ethanol) and 148 K (methanol) when all
// of it evaporates: latent heat over heat capacity. Half of it is taken to come out of the charge, the rest out of walls:
// an assumption. 7 K are worth an octane number: SAE 960497 (1996), abstract.
//
// The delay itself is up to twice as sensitive to a change that reaches the end gas whole. Ethanol may so come out up to 5 numbers
// too good where the cycle takes its cooling whole: a margin has to cover that.
const (
	coolingShare    = 0.5
	kelvinPerOctane = 7.0
	ethanolCooling  = coolingShare * (86 - 18) / kelvinPerOctane  // octane numbers
	methanolCooling = coolingShare * (148 - 18) / kelvinPerOctane // octane numbers
)

// Oxygen that burns a mole, mol: of ethanol, methanol and petrol (C7.2H13.5, an ordinary mean molecule).
const (
	ethanolOxygen  = 3.0
	methanolOxygen = 1.5
	petrolOxygen   = 7.2 + 13.5/4
)

// BaseResidual is the burned mass share of a charge from which dilution counts. The engines in which fuels are rated and
// delays were fitted hold about as much at full load: common practice, no source.
const BaseResidual = 0.05

// A Charge is what the delay depends on beside pressure and temperature.
type Charge struct {
	RON, MON float64 // of the fuel as it is in the tank, 40 to 130
	K        float64 // of the octane index, −0.75 to 1; see K

	// Octane is an octane number stated for this engine, 40 to 150. It is used as it is: RON, MON, K and the alcohols then
	// have no effect. Zero: none.
	Octane float64

	Ethanol, Methanol float64 // mole shares in the fuel
	Lambda            float64 // 0.4 to 3; the delay is held outside 0.7 to 1.3
	Dilution          float64 // burned mass share of the charge less BaseResidual; zero for no effect

	// EthanolMultiplier, 0.1 to 10, gives alcohols the slope of ethanol's shock tube delay times this number, which has to come
	// from a known knock point of the engine. Zero: alcohols go by their octane index.
	EthanolMultiplier float64
}

// A Note is a set of remarks that cast doubt on a delay.
type Note uint

// The remarks.
const (
	NoteOctane   Note = 1 << iota // octane number outside 80 to 100
	NoteLambda                    // held outside lambda 0.7 to 1.3
	NoteDilution                  // held outside −5 % to 25 %
	NoteMethanol                  // no delay of its own
)

// A Delay is the autoignition delay of one charge. New makes it.
//
//	ln 1/τ = offset + n ln p − E/T
type Delay struct {
	offset float64 // ln of 1/s, p in Pa
	n      float64
	slope  float64 // E, K
	octane float64
}

// errBoth is returned for a charge that says in two ways how its alcohol knocks.
var errBoth = errors.New("octane number stated for knock and multiplier of ethanol's delay: want one of them")

// New returns the delay of a charge.
//
//	τ = τ_DE(OI) m(λ) d(x) (C τ_eth/τ_DE(OI_eth))^s
//	τ_DE = 17.68 ms (OI/100)^3.402 p^−1.7 exp(3800/T), p in standard atmospheres
//
// OI is the octane index, with the RON less what evaporating alcohol makes of it in its test, or the octane number stated; m
// is MixtureFactor and d is DilutionFactor. The last factor is there with a multiplier C alone: τ_eth is the shock tube delay
// of ethanol, OI_eth the octane index of pure ethanol, s the mole share of alcohols.
//
// Sources: Douaud and Eyzat, SAE 780080 (1978), fitted to primary reference fuels of octane 80 to 100 (outside there is a
// note); Cancino et al. for ethanol, 10 to 50 bar, 650 K to 1220 K.
//
// Why alcohols go by their octane index and not by the shock tube: scaled to ethanol's RON in the conditions of the research
// test, the shock tube's slope gives it a MON of about 60 in those of the motor test, where 90 is measured (the tests hold
// this, with both conditions from memory). The two delays are of different kinds: Douaud and Eyzat's slope is that of engines, over
// all stages of ignition, the shock tube's that of hot gas alone. The octane index holds both tests by its making.
//
// A blend is rated by its own RON and MON: blending of octane by moles is known to be nearly linear (Anderson et al., Energy &
// Fuels 24 (2010) 6576), and octane by moles is the same as the mean of ln τ by moles to the second order. With a
// multiplier the same mean is used of what ethanol has beyond its octane index, so that a blend holds its own octane
// numbers, no petrol that it was blended from must be known, and both ends are met.
//
// Methanol has no published expression at hand. Its octane numbers lie within one or two of ethanol's in both tests, so it is
// taken by its octane index; with a multiplier, its excess over that is ethanol's: an assumption, with a note.
func New(c Charge) (Delay, Note, error) {
	if err := c.check(); err != nil {
		return Delay{}, 0, err
	}
	var notes Note
	octane := c.Octane
	if octane == 0 {
		octane = OctaneIndex(c.RON-c.cooling(), c.MON, c.K)
		if err := gas.CheckRange("octane index", octane, 40, 150, ""); err != nil {
			return Delay{}, 0, err
		}
	}
	if octane < 80 || octane > 100 {
		notes |= NoteOctane
	}
	if c.Methanol > 0 && c.Octane == 0 {
		notes |= NoteMethanol
	}
	mixture, held := MixtureFactor(c.Lambda)
	if held {
		notes |= NoteLambda
	}
	dilution, held := DilutionFactor(c.Dilution)
	if held {
		notes |= NoteDilution
	}
	d := Delay{offset: logPetrol(octane), n: petrolPressure, slope: petrolSlope, octane: octane}
	if s := c.Ethanol + c.Methanol; c.EthanolMultiplier > 0 && s > 0 {
		own := logPetrol(OctaneIndex(EthanolRON-ethanolCooling, EthanolMON, c.K))
		tube := -ethanolLogTime - ethanolPressure*numeric.Log(bar) - numeric.Log(c.EthanolMultiplier)
		d.offset += s * (tube - own)
		d.n += s * (ethanolPressure - petrolPressure)
		d.slope += s * (ethanolSlope - petrolSlope)
	}
	d.offset -= numeric.Log(mixture * dilution)
	return d, notes, nil
}

// logPetrol returns ln 1/τ of Douaud and Eyzat at 1 Pa without its exponential.
func logPetrol(octane float64) float64 {
	return -numeric.Log(petrolTime) - OctaneExponent*numeric.Log(octane/100) - petrolPressure*numeric.Log(atmosphere)
}

func (c *Charge) check() error {
	for _, r := range []struct {
		name             string
		value, low, high float64
		needed           bool
	}{
		{"octane number", c.Octane, 40, 150, c.Octane != 0},
		{"RON", c.RON, 40, 130, c.Octane == 0},
		{"MON", c.MON, 40, 130, c.Octane == 0},
		{"K of the octane index", c.K, coldestK, hottestK, c.Octane == 0},
		{"mole share of ethanol", c.Ethanol, 0, 1, true},
		{"mole share of methanol", c.Methanol, 0, 1, true},
		{"mole share of alcohols", c.Ethanol + c.Methanol, 0, 1 + 1e-9, true},
		{"lambda", c.Lambda, 0.4, 3, true},
		{"burned gas above the base", c.Dilution, -1, 1, true},
		{"multiplier of ethanol's delay", c.EthanolMultiplier, 0.1, 10, c.EthanolMultiplier != 0},
	} {
		if !r.needed {
			continue
		}
		if err := gas.CheckRange(r.name, r.value, r.low, r.high, ""); err != nil {
			return err
		}
	}
	if c.Octane != 0 && c.EthanolMultiplier != 0 {
		return errBoth
	}
	return nil
}

// CheckFuel returns an error when there is a condition, a K of the octane index between its ends, at which the fuel has no delay.
func (c Charge) CheckFuel() error {
	c.Lambda, c.Dilution = 1, 0
	for _, c.K = range [...]float64{coldestK, hottestK} {
		if _, _, err := New(c); err != nil {
			return err
		}
	}
	return nil
}

// cooling returns by how much the RON is higher for the cold charge that the fuel makes in the research test. Alcohols count by
// their share of the oxygen, which is about that of the mixture's energy.
func (c *Charge) cooling() float64 {
	e, m := ethanolOxygen*c.Ethanol, methanolOxygen*c.Methanol
	return (e*ethanolCooling + m*methanolCooling) / (e + m + petrolOxygen*max(1-c.Ethanol-c.Methanol, 0))
}

// Rate returns 1/τ, 1/s, at ln p, p in Pa, and the end gas temperature T, K. It checks nothing, as it stands in the loop.
func (d *Delay) Rate(lnP, T float64) float64 { return numeric.Exp(d.offset + d.n*lnP - d.slope/T) }

// Octane returns the octane index or number of the delay, before mixture and dilution. The delay goes with its 3.402th power at
// every pressure and temperature.
func (d *Delay) Octane() float64 { return d.octane }
