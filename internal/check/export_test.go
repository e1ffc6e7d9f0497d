package check

import "bellmouth/internal/run"

// DoPickup returns what is said of a pickup that uncovers.
func DoPickup(r *run.Run, f *Finding) string { return doPickup(&Review{Grid: r}, f) }
