package check

import "math"

// LateBy is how much later than best CA50 counts as late, rad: the tenth of a degree that is printed.
const LateBy = 0.1 * math.Pi / 180

// Late reports whether a burn's CA50 is later than the best, rad.
func Late(ca50, best float64) bool { return ca50 > best+LateBy }
