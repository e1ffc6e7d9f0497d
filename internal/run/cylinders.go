package run

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/fuel"
	"bellmouth/internal/manifold"
)

var errPastEvenly = errors.New("the engine passes its limit of knock or cylinder pressure there with an even manifold too")

// Cylinders are those of an engine at a solved full load, any of which can be asked with air, mixture and CA50 of its own.
//
// Knock or cylinder pressure holds the spark back, whichever is nearer to its limit. The larger of the two ratios of value to
// limit stands for the knock integral of Engine, and 1 for its limit. Both fall as the burn comes later.
type Cylinders struct {
	Engine   manifold.Engine
	Past     error // why the spark cannot be judged; nil when it can
	single   *airpath.Single
	knock    float64 // integral accepted
	pressure float64 // accepted in the cylinder, Pa; 0: no limit
}

// CylindersAt returns the cylinders of the run's engine at a solved point.
func (r *Run) CylindersAt(p *airpath.Point) (*Cylinders, error) {
	single, err := r.Engine.SingleAt(p)
	if err != nil {
		return nil, err
	}
	burn := r.Engine.Combustion
	c := &Cylinders{single: single, knock: burn.KnockLimit, pressure: r.Trim.Limits.PeakCylinderPressure}
	c.Engine = manifold.Engine{
		Target: p.Lambda, Leanest: p.Lambda, KnockLimit: 1, BestCA50: burn.BestCA50, LatestCA50: burn.LatestCA50,
		Cylinder: func(charge manifold.Charge) (manifold.Answer, error) {
			res, err := single.Run(charge.Air, charge.Lambda, charge.CA50)
			return manifold.Answer{Power: res.Power, Knock: max(c.ratios(res))}, err
		},
	}
	if m := r.Trim.Manifold; m != nil && m.Spread != nil {
		c.Engine.Leanest = math.Max(m.Spread.Leanest, p.Lambda) // a target leaner than that is the spec's own, and a finding
		c.Engine.Richest = math.Min(m.Spread.Richest, p.Lambda)
	}
	own, err := single.Run(1, p.Lambda, p.CA50)
	if err != nil {
		return nil, err
	}
	switch now := max(c.ratios(own)); {
	case !(now <= 1+LimitSlack):
		c.Past, c.Engine.KnockLimit = errPastEvenly, math.MaxFloat64 // the mixtures can still be told
	case now > 1: // by what the solver leaves: the even engine is at its limit, not past it
		c.Engine.KnockLimit = now
	}
	return c, nil
}

// ratios returns knock integral and peak pressure over what is accepted of them.
func (c *Cylinders) ratios(res airpath.SingleResult) (knock, pressure float64) {
	knock = res.KnockIntegral / c.knock
	if c.pressure > 0 {
		pressure = res.PeakPressure / c.pressure
	}
	return knock, pressure
}

// KnockIntegral returns the knock integral of a cylinder with this charge.
func (c *Cylinders) KnockIntegral(charge manifold.Charge) (float64, error) {
	res, err := c.single.Run(charge.Air, charge.Lambda, charge.CA50)
	return res.KnockIntegral, err
}

// Run returns how the engine runs with its air shared this way. With an error, which says in the tuner's words what stands against it, the
// cylinders' air and mixture hold all the same.
func (c *Cylinders) Run(shares []float64, k manifold.Correction) (manifold.Running, error) {
	running, err := c.Engine.Run(shares, k)
	var late *manifold.KnockError
	var stuck *airpath.PointError
	switch {
	case err == nil:
		return running, c.Past
	case errors.As(err, &late):
		return running, fmt.Errorf("cylinder %d passes the limit of knock or cylinder pressure even with the latest burn: less boost is needed",
			late.Cylinder+1)
	case errors.As(err, &stuck):
		for i, one := range running.Cylinders {
			if one.Lambda < fuel.LowestLambda {
				return running, fmt.Errorf("cylinder %d would run at lambda %.2f: below 0.5 the model ends", i+1, one.Lambda)
			}
		}
		return running, fmt.Errorf("the model does not know a cylinder with so much or so little air: %s", stuck.Reason) // its speed is the point's
	}
	return running, err
}

// Even returns how the engine runs with the same air for each of so many cylinders.
func (c *Cylinders) Even(cylinders int) (manifold.Running, error) {
	even := make([]float64, cylinders)
	for i := range even {
		even[i] = 1 / float64(cylinders)
	}
	return c.Run(even, manifold.CommonFuel)
}

// CA50For returns the CA50 of all cylinders, rad after firing top dead centre, with which the worst of them keeps its limits while the fuel stays as
// it is, the same for all.
func (c *Cylinders) CA50For(shares []float64) (float64, error) {
	same := *c
	for _, s := range shares {
		same.Engine.Leanest = math.Max(same.Engine.Leanest, float64(len(shares))*s*c.Engine.Target)
	}
	running, err := same.Run(shares, manifold.CommonFuel)
	if err != nil {
		return 0, err
	}
	return running.Cylinders[0].CA50, nil
}

// A CylinderPart is what a cylinder sets for all of them while they have one fuel quantity and one spark.
type CylinderPart struct {
	Lean     bool // it is as lean as allowed and makes the others richer than asked for
	Rich     bool // it runs richer than is clean
	Knock    bool // it holds the spark of all back by its knock
	Pressure bool // it does so by its peak pressure
}

// part tells what a cylinder sets, from 0, when the engine runs with one fuel quantity and one spark.
func (c *Cylinders) part(running *manifold.Running, i int) CylinderPart {
	one := running.Cylinders[i]
	part := CylinderPart{
		Lean: running.Leanest == i && running.Lambda < c.Engine.Target*(1-1e-9),
		Rich: one.Lambda < c.Engine.Richest,
	}
	if running.Knocking == i {
		res, err := c.single.Run(one.Air, one.Lambda, one.CA50)
		knock, pressure := c.ratios(res)
		part.Pressure = err == nil && pressure > knock
		part.Knock = !part.Pressure
	}
	return part
}

// A Tuned is how an engine runs with its air shared one way and one correction.
type Tuned struct {
	manifold.Running
	Err error // what stands against it; the cylinders' air and mixture hold all the same
}

// A SpreadCost is what uneven air costs at one speed.
type SpreadCost struct {
	*boost.Outcome
	Err       error          // why nothing is known of it; nil where there are cylinders to ask
	Cylinders *Cylinders     // at the point
	Even      Tuned          // with the same air for all
	Corrected [3]Tuned       // with the shares, by manifold.Correction
	Parts     []CylinderPart // of the cylinders, with one fuel quantity and one spark
}

// Lost returns the power that the shares cost with a correction, W, or what stands against it.
//
//	Peven − P
func (c *SpreadCost) Lost(k manifold.Correction) (float64, error) {
	switch {
	case c.Err != nil:
		return 0, c.Err
	case c.Even.Err != nil:
		return 0, c.Even.Err
	case c.Corrected[k].Err != nil:
		return 0, c.Corrected[k].Err
	}
	return c.Even.Power - c.Corrected[k].Power, nil
}

var errNoPower = errors.New("the engine gives no power")

// LostShare returns the power that the shares cost with a correction over that of the even engine.
func (c *SpreadCost) LostShare(k manifold.Correction) (float64, error) {
	lost, err := c.Lost(k)
	if err == nil && !(c.Even.Power > 0) {
		err = errNoPower
	}
	return lost / c.Even.Power, err
}

// SpreadCostAt returns what the shares of the air cost at a point.
func (r *Run) SpreadCostAt(o *boost.Outcome, shares []float64) SpreadCost {
	c := SpreadCost{Outcome: o}
	if o.Err != nil {
		c.Err = ErrNoSolution
		return c
	}
	if c.Cylinders, c.Err = r.CylindersAt(&o.Point); c.Err != nil {
		return c
	}
	c.Even.Running, c.Even.Err = c.Cylinders.Even(len(shares))
	for k := range c.Corrected {
		c.Corrected[k].Running, c.Corrected[k].Err = c.Cylinders.Run(shares, manifold.Correction(k))
	}
	common := &c.Corrected[manifold.CommonFuel].Running
	c.Parts = make([]CylinderPart, len(common.Cylinders))
	for i := range c.Parts {
		c.Parts[i] = c.Cylinders.part(common, i)
	}
	return c
}

// SpreadCosts returns what the shares of the air cost at every speed.
func (r *Run) SpreadCosts(shares []float64) []SpreadCost {
	costs := make([]SpreadCost, len(r.Outcomes))
	for i := range r.Outcomes {
		costs[i] = r.SpreadCostAt(&r.Outcomes[i], shares)
	}
	return costs
}

// Singles are the cylinders of a point that have its fuel and its spark.
type Singles struct {
	Cylinders []Single
	Err       error // why there are none
}

// A Single is one cylinder with its share of the air.
type Single struct {
	airpath.SingleResult
	Lambda float64
	Err    error // why the model does not know it
}

// SinglesAt runs each cylinder at a point with its share of the air.
func (r *Run) SinglesAt(p *airpath.Point, shares []float64) Singles {
	one, err := r.Engine.SingleAt(p)
	if err != nil {
		return Singles{Err: err}
	}
	singles := Singles{Cylinders: make([]Single, len(shares))}
	n := float64(len(shares))
	for i, s := range shares {
		c := &singles.Cylinders[i]
		c.Lambda = n * s * p.Lambda
		c.SingleResult, c.Err = one.Run(n*s, c.Lambda, p.CA50)
	}
	return singles
}
