package manifold

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/numeric"
)

// A Charge is what one cylinder is given to work with.
type Charge struct {
	Air    float64 // its air over the mean of all cylinders
	Lambda float64 // its own relative air–fuel ratio λ
	CA50   float64 // crank angle at 50 % burned, rad after firing top dead centre
}

// An Answer is what a cylinder makes of its charge.
type Answer struct {
	Power float64 // W, brake or indicated; friction that stays the same has no say
	Knock float64 // knock integral; falls as CA50 comes later
}

// An Engine is one cylinder's model, and what the tuner holds every cylinder to.
type Engine struct {
	Cylinder   func(Charge) (Answer, error) // at one speed; a function of its argument alone
	Target     float64                      // λ that every cylinder of an even engine has
	Leanest    float64                      // highest λ allowed in any cylinder, at least Target; 0: Target
	Richest    float64                      // lowest λ at which a cylinder still runs cleanly, at most Target; 0: none
	KnockLimit float64                      // highest knock integral
	BestCA50   float64                      // rad, that of most torque
	LatestCA50 float64                      // rad, not before BestCA50
}

func (e Engine) leanest() float64 {
	if e.Leanest == 0 {
		return e.Target
	}
	return e.Leanest
}

// Validate returns an error when the model is missing or a limit is outside its range.
func (e Engine) Validate() error {
	switch {
	case e.Cylinder == nil:
		return errors.New("the cylinder's model is missing")
	case !(e.Target >= lowestLambda && e.Target <= highestLambda):
		return fmt.Errorf("target λ is %.4g; want %v to %v", e.Target, lowestLambda, highestLambda)
	case !(e.leanest() >= e.Target && e.leanest() <= highestLambda):
		return fmt.Errorf("leanest λ is %.4g; want the target, %.4g, to %v", e.Leanest, e.Target, highestLambda)
	case !(e.Richest >= 0 && e.Richest <= e.Target):
		return fmt.Errorf("richest λ is %.4g; want 0 to the target, %.4g", e.Richest, e.Target)
	case !(e.BestCA50 <= e.LatestCA50) || math.IsInf(e.LatestCA50-e.BestCA50, 0):
		return fmt.Errorf("latest CA50 is %.4g rad; want it at or after the best, %.4g rad", e.LatestCA50, e.BestCA50)
	}
	return checkPositive("knock limit", e.KnockLimit, "")
}

// A Correction is how far the cylinders are corrected one by one.
type Correction int

// The corrections, from the least to the most that an engine control can do.
const (
	CommonFuel   Correction = iota // one fuel quantity and one spark for all
	OwnFuel                        // each cylinder its own fuel, one spark for all
	OwnFuelSpark                   // each cylinder its own fuel and its own spark
)

// String returns the correction in words.
func (k Correction) String() string {
	switch k {
	case CommonFuel:
		return "common fuel"
	case OwnFuel:
		return "fuel by cylinder"
	case OwnFuelSpark:
		return "fuel and spark by cylinder"
	}
	return fmt.Sprintf("correction %d", int(k))
}

// A Cylinder is how one of them runs.
type Cylinder struct {
	Charge
	Answer
	AirShare       float64 // of the engine's air
	FuelCorrection float64 // its fuel over the mean of all, less 1
}

// A Running is how an engine runs with its air shared one way and one correction.
type Running struct {
	Cylinders []Cylinder
	Power     float64 // of the engine, W
	Lambda    float64 // of the engine, all air over all fuel
	Leanest   int     // the cylinder with the highest λ, from 0; the first of equals
	Knocking  int     // the cylinder that holds the spark back, from 0; −1: none does
	TooRich   bool    // a cylinder runs richer than Richest
}

// A KnockError reports a cylinder that knocks even at the latest CA50. It needs less boost, other fuel or a richer target.
type KnockError struct {
	Cylinder    int // from 0
	Knock       float64
	Limit, CA50 float64
}

func (e *KnockError) Error() string {
	return fmt.Sprintf("cylinder %d knocks at the latest CA50, %.4g rad, with a knock integral of %.4g; want at most %.4g",
		e.Cylinder+1, e.CA50, e.Knock, e.Limit)
}

// Run returns how the engine runs with its air shared this way and with this correction.
//
// All air is the same whatever the shares: a choked restrictor, or a boost control that holds the engine's air, gives no
// more to a better manifold. With one fuel quantity for all,
//
//	λi = n si λ,  λ = min(target, leanest/max(n si))
//
// so that the leanest cylinder is at what is allowed and the others are richer than they need be; with a fuel of its own each
// cylinder has λi = target. The spark is the earliest, not before BestCA50, at which no cylinder's knock integral passes the
// limit: with one spark for all the worst cylinder sets it, and the others are later than they need be. One spark is taken
// as one CA50: that cylinders of unlike mixture burn at unlike angles after the same spark is not counted.
//
// Source: definition of λ and bookkeeping; common practice, no source, for the tuner's rule. A cylinder that knocks at
// LatestCA50 is a *KnockError.
func (e Engine) Run(shares []float64, k Correction) (Running, error) {
	if err := e.Validate(); err != nil {
		return Running{}, err
	}
	if err := checkShares(shares); err != nil {
		return Running{}, err
	}
	if k < CommonFuel || k > OwnFuelSpark {
		return Running{}, fmt.Errorf("correction is %d; want CommonFuel, OwnFuel or OwnFuelSpark", int(k))
	}
	r := e.mixture(shares, k)
	err := e.spark(&r, k)
	return r, err
}

// mixture sets each cylinder's air and fuel.
func (e Engine) mixture(shares []float64, k Correction) Running {
	n := float64(len(shares))
	r := Running{Cylinders: make([]Cylinder, len(shares)), Lambda: e.Target, Knocking: -1}
	most := 0
	for i, s := range shares {
		if s > shares[most] {
			most = i
		}
	}
	if k == CommonFuel {
		r.Lambda = math.Min(e.Target, e.leanest()/(n*shares[most]))
		r.Leanest = most
	}
	for i, s := range shares {
		c := Cylinder{AirShare: s, Charge: Charge{Air: n * s, Lambda: e.Target}}
		if k == CommonFuel {
			c.Lambda = n * s * r.Lambda
		} else {
			c.FuelCorrection = n*s - 1
		}
		r.TooRich = r.TooRich || c.Lambda < e.Richest
		r.Cylinders[i] = c
	}
	return r
}

// Of crank angle, rad; far below what any engine control resolves, and small enough that the power it leaves open, which is
// flat near the best CA50, is below a milliwatt.
const sparkTolerance = 1e-9

// spark sets each cylinder's CA50, knock and power.
func (e Engine) spark(r *Running, k Correction) error {
	if k == OwnFuelSpark {
		worst := 0.0 // latest CA50 that knock asks of any cylinder
		for i := range r.Cylinders {
			group := r.Cylinders[i : i+1]
			held, err := e.phase(group, i)
			if err != nil {
				return err
			}
			if late := group[0].CA50 - e.BestCA50; held >= 0 && late > worst {
				worst, r.Knocking = late, i
			}
		}
	} else {
		held, err := e.phase(r.Cylinders, 0)
		if err != nil {
			return err
		}
		r.Knocking = held
	}
	for _, c := range r.Cylinders {
		r.Power += c.Power
	}
	return nil
}

// phase gives cylinders one CA50, the earliest that knock allows, and returns which of them holds it back, −1 for none.
// The first one's number is first.
func (e Engine) phase(cylinders []Cylinder, first int) (held int, err error) {
	worst := 0
	excess := func(ca50 float64) float64 {
		if err != nil {
			return math.NaN()
		}
		for i := range cylinders {
			c := &cylinders[i]
			c.CA50 = ca50
			if c.Answer, err = e.ask(c.Charge); err != nil {
				err = fmt.Errorf("cylinder %d: %w", first+i+1, err)
				return math.NaN()
			}
			if i == 0 || c.Knock > cylinders[worst].Knock {
				worst = i
			}
		}
		return math.Log(cylinders[worst].Knock / e.KnockLimit) // nearly straight over CA50
	}
	early := excess(e.BestCA50)
	switch {
	case err != nil:
		return 0, err
	case early <= 0:
		return -1, nil
	}
	late := excess(e.LatestCA50)
	switch {
	case err != nil:
		return 0, err
	case late > 0:
		return 0, &KnockError{first + worst, cylinders[worst].Knock, e.KnockLimit, e.LatestCA50}
	}
	root, rootErr := numeric.FindRoot(func(ca50 float64) float64 {
		switch ca50 { // the ends are known
		case e.BestCA50:
			return early
		case e.LatestCA50:
			return late
		}
		return excess(ca50)
	}, e.BestCA50, e.LatestCA50, sparkTolerance)
	if err == nil {
		err = rootErr
	}
	if err != nil {
		return 0, err
	}
	excess(root.X) // the last point asked need not be the root
	return first + worst, err
}

// ask asks the model and lets nothing out that is not a number.
func (e Engine) ask(c Charge) (Answer, error) {
	a, err := e.Cylinder(c)
	if err != nil {
		return Answer{}, err
	}
	if math.IsNaN(a.Power) || math.IsInf(a.Power, 0) || !(a.Knock >= 0) || math.IsInf(a.Knock, 1) {
		return Answer{}, fmt.Errorf("the model answers %v W and a knock integral of %v to air %.4g, λ %.4g, CA50 %.4g rad",
			a.Power, a.Knock, c.Air, c.Lambda, c.CA50)
	}
	return a, nil
}
