package run

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// InParallel does n pieces of work on all cores. Each core has a worker of its own, which is handed one piece after another: they cost unequally.
func InParallel(n int, worker func() func(i int)) {
	var next atomic.Int64
	var group sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		group.Go(func() {
			do := worker()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	group.Wait()
}
