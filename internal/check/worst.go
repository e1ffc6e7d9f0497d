package check

import "slices"

// Worst returns the findings in the order of their weight: what fails first.
func Worst(fs []Finding) []Finding {
	sorted := slices.Clone(fs)
	slices.SortStableFunc(sorted, func(a, b Finding) int { return int(b.Verdict) - int(a.Verdict) })
	return sorted
}
