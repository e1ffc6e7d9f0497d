package run

import (
	"math"

	"bellmouth/internal/airpath"
	"bellmouth/internal/boost"
)

// LimitSlack is the share of a limit by which a value may pass it and still count as on it: the solver meets a binding limit to
// about 1e-6, and no gauge shows a tenth of a per mille.
const LimitSlack = 1e-4

// ReachedWithin is how far boost may miss what was asked for and still count as that, Pa: below what a boost gauge shows.
const ReachedWithin = 500

// ReachesBoost is the mark of an engine that comes from less boost and reaches the boost asked for.
func ReachesBoost(o *boost.Outcome) bool {
	coming, _ := o.Reached(ReachedWithin)
	return coming
}

// KeepsBoost is the mark of an engine that comes from more boost and stays at the boost asked for.
func KeepsBoost(o *boost.Outcome) bool {
	_, staying := o.Reached(ReachedWithin)
	return staying
}

// RestrictorChokes is the mark of an engine whose restrictor's throat is choked.
func RestrictorChokes(o *boost.Outcome) bool { return o.Point.Limits.Has(airpath.Restrictor) }

// An Onset is where something begins over engine speed.
type Onset struct {
	Speed   float64 // the lowest of the run at which it holds, rad/s
	Found   bool    // false: it holds at none
	OrBelow bool    // it does so at the lowest speed that has a solution: it may begin below
}

// Onset returns the lowest speed of the run at which a mark holds.
func (r *Run) Onset(has boost.Mark) Onset {
	first := boost.First(r.Outcomes, has)
	if first < 0 {
		return Onset{}
	}
	return Onset{
		Speed: r.Outcomes[first].Speed, Found: true,
		OrBelow: boost.First(r.Outcomes[:first], func(*boost.Outcome) bool { return true }) < 0,
	}
}

// onsetWithin is how far apart two onsets have to be to be told apart, rad/s: how closely each is found.
const onsetWithin = 10 * math.Pi / 30

// A Reaching is where the boost asked for is reached over engine speed.
type Reaching struct {
	Onset         // coming from less boost
	Staying Onset // coming from more boost, where that is lower; else as the other, or found at no speed
	Two     bool  // Staying is lower: there are two steady states between

	StaysTo float64 // the highest speed, rad/s, up to which the boost is kept without a break from Staying on
}

// Reaching returns the lowest speeds at which the boost asked for is reached.
func (r *Run) Reaching() Reaching {
	coming, staying := r.Onset(ReachesBoost), r.Onset(KeepsBoost)
	two := staying.Found && !(coming.Found && staying.Speed >= coming.Speed-onsetWithin)
	reaching := Reaching{Onset: coming, Staying: staying, Two: two}
	for i := range r.Outcomes {
		if o := &r.Outcomes[i]; o.Err == nil && o.Speed >= staying.Speed {
			if !KeepsBoost(o) {
				break
			}
			reaching.StaysTo = o.Speed
		}
	}
	return reaching
}

// Where returns the first and the last speed at which a mark holds among solved outcomes. ok is false where it holds at none.
func Where(outcomes []boost.Outcome, has boost.Mark) (first, last float64, ok bool) {
	for i := range outcomes {
		if o := &outcomes[i]; o.Err == nil && has(o) {
			if !ok {
				first, ok = o.Speed, true
			}
			last = o.Speed
		}
	}
	return first, last, ok
}

// A Span is the outcomes next to each other that have the same of something.
type Span[T comparable] struct {
	Of          T
	First, Last float64 // engine speeds, rad/s
}

// Spans returns what f tells of outcomes in the order of speed, each with the speeds where it does.
func Spans[T comparable](outcomes []boost.Outcome, f func(o *boost.Outcome) T) []Span[T] {
	var spans []Span[T]
	for i := range outcomes {
		o := &outcomes[i]
		if is := f(o); len(spans) == 0 || spans[len(spans)-1].Of != is {
			spans = append(spans, Span[T]{Of: is, First: o.Speed, Last: o.Speed})
		} else {
			spans[len(spans)-1].Last = o.Speed
		}
	}
	return spans
}
