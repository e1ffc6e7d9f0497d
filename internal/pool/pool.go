// Package pool spreads independent pieces of work over the cores, and ends early when it is told to.
package pool

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// Each does the pieces 0 to n−1 on all cores and returns when all that were begun are done. Every core asks for a worker of its own, which
// may hold what cannot be shared, such as a solver. Pieces are handed out one by one in rising order, since they cost unequally.
//
// After a piece has failed, or once the context is done, no further piece is begun. The error is the context's when pieces were left for it,
// and otherwise that of the first piece, by number, that fails: it does not depend on how many cores there are.
func Each(ctx context.Context, n int, worker func() func(i int) error) error {
	var (
		next    atomic.Int64
		stopped atomic.Bool
		group   sync.WaitGroup
		mu      sync.Mutex // of what follows
		failed  = n
		failure error
		left    error
	)
	for range min(runtime.GOMAXPROCS(0), n) {
		group.Go(func() {
			var do func(i int) error
			for !stopped.Load() {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				err := ctx.Err()
				if err != nil {
					mu.Lock()
					left = err
					mu.Unlock()
					return
				}
				if do == nil {
					do = worker()
				}
				if err = do(i); err != nil {
					// Every piece before this one has been begun, and will be done: the first that fails is among them.
					stopped.Store(true)
					mu.Lock()
					if i < failed {
						failed, failure = i, err
					}
					mu.Unlock()
				}
			}
		})
	}
	group.Wait()
	if left != nil {
		return left
	}
	return failure
}
