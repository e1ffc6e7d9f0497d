package check

import (
	"cmp"
	"math"
	"slices"

	"bellmouth/internal/units"
)

// Worst returns the findings that want something done, the worst first: what failed, the furthest past its limit first, and then the notes that ask
// for something. What failed without a figure comes before all others.
func Worst(fs []Finding) []Finding {
	var worst []Finding
	for _, f := range fs {
		if f.Verdict == Fail || f.Verdict == Note && f.Do != "" {
			worst = append(worst, f)
		}
	}
	slices.SortStableFunc(worst, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(b.Verdict, a.Verdict), cmp.Compare(b.past(), a.past()))
	})
	return worst
}

// past returns how far the value is past the limit, as a part of it: +Inf without a figure. A share of a limit of 0 is past it by itself; other
// figures have no scale there and count as past it by the whole.
func (f Finding) past() float64 {
	past := -f.Margin()
	switch {
	case math.IsNaN(past):
		return math.Inf(1)
	case f.Limit != 0:
		return past / math.Abs(f.Limit)
	case f.Kind == units.Fraction:
		return past
	}
	return math.Copysign(1, past)
}
