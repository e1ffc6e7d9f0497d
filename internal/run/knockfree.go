package run

import (
	"errors"
	"fmt"
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
	"bellmouth/internal/numeric"
	"bellmouth/internal/spark"
)

// A KnockFree is a run with where its burn would be if the fuel did not knock.
type KnockFree struct {
	*Run
	Full []Freed // at full load, by speed
	free *airpath.Engine
}

// A Freed is a point with the manifold pressure of another, at the best CA50, which knock keeps that one from.
type Freed struct {
	Point airpath.Point
	Err   error
}

// freeOfKnock is a knock limit that no engine worth computing meets at its best CA50: 10 needs twice the octane number.
const freeOfKnock = 10

// KnockFree returns the run with each of its full loads on a fuel that does not knock.
func (r *Run) KnockFree() (*KnockFree, error) {
	setup := r.Engine.Setup
	setup.Combustion.KnockLimit = freeOfKnock
	setup.Limits.Torque = 0 // an earlier burn gives more torque; what is asked for is the same boost
	free, err := airpath.New(setup)
	if err != nil {
		return nil, fmt.Errorf("trim %q: %w", r.Trim.Name, err)
	}
	k := &KnockFree{Run: r, free: free, Full: make([]Freed, len(r.Outcomes))}
	err = boost.Each(r.Context, free, len(k.Full), func(solver *airpath.Solver, i int) {
		if o := &r.Outcomes[i]; o.Err == nil {
			k.Full[i] = k.freed(solver, &o.Point, airpath.Demand{})
		}
	})
	return k, err
}

// freed returns the point at the same manifold pressure with a fuel that does not knock. A point that knock holds nowhere is that already. as says
// whether it is one of part load.
func (k *KnockFree) freed(solver *airpath.Solver, p *airpath.Point, as airpath.Demand) Freed {
	if !p.Limits.Has(airpath.Knock) && p.Notes&airpath.NoteKnockUnmet == 0 {
		return Freed{Point: *p}
	}
	as.Speed, as.Target = p.Speed, p.ManifoldPressure
	if k.Engine.Compressor == nil && !as.Throttled {
		as.Target = math.Inf(1)
	}
	var f Freed
	f.Point, f.Err = solver.Solve(as)
	return f
}

// knockAt returns how near a point is to the knock that is accepted.
func (r *Run) knockAt(p *airpath.Point) spark.Knock {
	return spark.Knock{Octane: p.KnockOctane, Integral: p.KnockIntegral, Limit: r.Engine.Combustion.KnockLimit}
}

// OctaneMargin returns the octane numbers to spare at a point, negative where they are short.
func (r *Run) OctaneMargin(p *airpath.Point) (float64, error) {
	m, _, err := r.knockAt(p).OctaneMargin()
	return m, err
}

var (
	errBestUnsolved = errors.New("no solution with the burn at its best")
	errBestFar      = errors.New("so far from the best CA50 that no octane number tells")
)

// told returns why no octane number can be told of the point, nil where one can.
func (f *Freed) told() error {
	switch {
	case f.Err != nil:
		return errBestUnsolved
	case f.Point.KnockIntegral > freeOfKnock*(1-LimitSlack):
		return errBestFar
	}
	return nil
}

// MarginAtBest returns the octane numbers to spare at the CA50 that knock keeps a point from, negative where they are short.
func (r *Run) MarginAtBest(f *Freed) (float64, error) {
	if err := f.told(); err != nil {
		return 0, err
	}
	return r.OctaneMargin(&f.Point)
}

// IndexForBest returns the octane index that a fuel needs for the CA50 that knock keeps a point from.
func (r *Run) IndexForBest(f *Freed) (float64, error) {
	if err := f.told(); err != nil {
		return 0, err
	}
	index, _, err := r.knockAt(&f.Point).OctaneNeeded()
	return index, err
}

// A Border is the burn with which the fastest cycles of a point's charge begin to knock, no earlier than the best.
type Border struct {
	CA50, Spark float64 // rad after firing top dead centre
	Err         error
}

var errPastBorder = errors.New("its fastest cycles knock even at the latest CA50 accepted")

// BorderAt returns the border of a solved point's charge: the mean cycle's knock integral is at engine.combustion.knock_limit there, air and exhaust
// as they are.
func (r *Run) BorderAt(p *airpath.Point) Border {
	one, err := r.Engine.SingleAt(p)
	if err != nil {
		return Border{Err: err}
	}
	var last airpath.SingleResult
	over := func(ca50 float64) float64 {
		if last, err = one.Run(1, p.Lambda, ca50); err != nil {
			return math.NaN()
		}
		return math.Log(last.KnockIntegral / r.Trim.Engine.Combustion.KnockLimit)
	}
	c := r.Engine.Combustion
	if over(c.BestCA50) <= 0 {
		return Border{CA50: c.BestCA50, Spark: last.SparkAngle}
	}
	if err == nil && over(c.LatestCA50) > 0 {
		return Border{Err: errPastBorder}
	}
	if err != nil {
		return Border{Err: err}
	}
	root, err := numeric.FindRoot(over, c.BestCA50, c.LatestCA50, 1e-6)
	if err == nil {
		over(root.X)
	}
	return Border{CA50: root.X, Spark: last.SparkAngle, Err: err}
}

// Borders returns the border of every full load; of a point without a solution it says that there is none.
func (r *Run) Borders() []Border {
	borders := make([]Border, len(r.Outcomes))
	_ = boost.Each(r.Context, r.Engine, len(borders), func(_ *airpath.Solver, i int) {
		if o := &r.Outcomes[i]; o.Err == nil {
			borders[i] = r.BorderAt(&o.Point)
		} else {
			borders[i].Err = ErrNoSolution
		}
	})
	return borders
}

// An OctaneNeed is the octane number that a full load needs at the latest CA50 accepted.
type OctaneNeed struct {
	Octane float64
	Known  bool // it knocks there, and the number can be told
}

// OctaneNeeds returns what computes the octane number that a full load of the run needs, where knock cuts the boost or is not held. It serves any
// number of goroutines.
func (r *Run) OctaneNeeds() (func(o *boost.Outcome) OctaneNeed, error) {
	setup := r.Engine.Setup
	setup.Combustion.BestCA50 = setup.Combustion.LatestCA50
	setup.Combustion.KnockLimit = freeOfKnock
	latest, err := airpath.New(setup)
	if err != nil {
		return nil, fmt.Errorf("trim %q: the engine cannot be computed with the burn at its latest", r.Trim.Name)
	}
	load := boost.FullLoad(latest, r.Trim.Boost.Target)
	return func(o *boost.Outcome) (need OctaneNeed) {
		if o.Point.Limit != airpath.Knock && o.Point.Notes&airpath.NoteKnockUnmet == 0 {
			return need
		}
		p := &o.Point
		if o.Point.Limit == airpath.Knock {
			asked := load(latest.NewSolver(), o.Speed, airpath.Near{})
			if asked.Err != nil {
				return need
			}
			p = &asked.Point
		}
		var err error
		need.Octane, _, err = r.knockAt(p).OctaneNeeded()
		need.Octane += r.Engine.Fuel.KnockOctane() - p.KnockOctane // as much more of the fuel's own number as of the index
		need.Known = err == nil
		return need
	}, nil
}
