package check

import (
	"math"

	"bellmouth/internal/run"
)

// Passes reports whether a value lies above a limit by more than counts as on it. NaN does.
func Passes(value, limit float64) bool {
	return !(limit-value >= -run.LimitSlack*math.Max(math.Abs(limit), 1e-9))
}

// Lacks reports whether a margin, which is a share already, lies below the least accepted by more than counts as on it. NaN does.
func Lacks(margin, least float64) bool { return !(margin-least >= -run.LimitSlack) }

// LateBy is how much later than best CA50 counts as late, rad: the tenth of a degree that is printed.
const LateBy = 0.1 * math.Pi / 180

// Late reports whether a burn's CA50 is later than the best, rad.
func Late(ca50, best float64) bool { return ca50 > best+LateBy }
