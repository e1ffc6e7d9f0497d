package pool_test

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"

	"bellmouth/internal/pool"
)

// onCores runs a test as if the machine had so many cores.
func onCores(t *testing.T, test func(t *testing.T, cores int)) {
	for _, cores := range []int{1, 2, 7} {
		t.Run(fmt.Sprintf("%d cores", cores), func(t *testing.T) {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
			test(t, cores)
		})
	}
}

// TestEachDoesAllOnce: with fewer pieces than cores and with more every piece is done once, by a worker that no other core has.
func TestEachDoesAllOnce(t *testing.T) {
	onCores(t, func(t *testing.T, cores int) {
		for _, n := range []int{0, 1, 2, 5, 1000} {
			done := make([]atomic.Int32, n)
			var workers atomic.Int32
			assert.NoError(t, pool.Each(t.Context(), n, func() func(int) error {
				workers.Add(1)
				var busy atomic.Bool
				return func(i int) error {
					assert.True(t, busy.CompareAndSwap(false, true), "a worker does one piece at a time")
					runtime.Gosched()
					done[i].Add(1)
					busy.Store(false)
					return nil
				}
			}))
			for i := range done {
				assert.EqualValues(t, 1, done[i].Load(), "piece %d of %d", i, n)
			}
			assert.LessOrEqual(t, int(workers.Load()), min(cores, n), "no more workers than cores or pieces")
		}
	})
}

// TestEachUsesAllCores: as many pieces as there are cores are under way at the same time.
func TestEachUsesAllCores(t *testing.T) {
	onCores(t, func(t *testing.T, cores int) {
		all := make(chan struct{})
		var begun atomic.Int32
		assert.NoError(t, pool.Each(t.Context(), cores, func() func(int) error {
			return func(int) error {
				if int(begun.Add(1)) == cores {
					close(all)
				}
				<-all // never, where one waits for another to end
				return nil
			}
		}))
	})
}

// TestEachStops: once the context is done no further piece is begun, those under way are waited for, and the error says why.
func TestEachStops(t *testing.T) {
	onCores(t, func(t *testing.T, cores int) {
		const last = 20
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		var begun, ended atomic.Int32
		err := pool.Each(ctx, 1000, func() func(int) error {
			return func(i int) error {
				begun.Add(1)
				switch {
				case i == last:
					cancel()
				case i > last:
					<-ctx.Done()
				}
				ended.Add(1)
				return nil
			}
		})
		assert.ErrorIs(t, err, context.Canceled)
		assert.GreaterOrEqual(t, int(begun.Load()), last+1, "the pieces before it had been begun")
		assert.LessOrEqual(t, int(begun.Load()), last+cores, "each of the other cores ends the piece that it has")
		assert.Equal(t, begun.Load(), ended.Load(), "what was begun is done")
	})
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	assert.ErrorIs(t, pool.Each(ctx, 3, func() func(int) error {
		t.Error("a worker was made for nothing")
		return func(int) error { return nil }
	}), context.Canceled)
	assert.NoError(t, pool.Each(ctx, 0, nil), "nothing was left")
}

// TestEachDoneIsDone: a context that ends during the last piece leaves nothing, and is no error.
func TestEachDoneIsDone(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	assert.NoError(t, pool.Each(ctx, 1, func() func(int) error {
		return func(int) error { cancel(); return nil }
	}))
}

// TestEachFails: the error is that of the first piece that fails, whichever fails first in time, and the work ends there.
func TestEachFails(t *testing.T) {
	early, late := errors.New("early"), errors.New("late")
	onCores(t, func(t *testing.T, cores int) {
		for range 50 {
			failedLate := make(chan struct{})
			var begun atomic.Int32
			err := pool.Each(t.Context(), 1000, func() func(int) error {
				return func(i int) error {
					begun.Add(1)
					switch {
					case i == 10 && cores > 1:
						<-failedLate // so that it fails after the other
						return early
					case i == 10:
						return early
					case i == 11:
						close(failedLate)
						return late
					}
					return nil
				}
			})
			assert.Equal(t, early, err)
			if cores == 1 {
				assert.EqualValues(t, 11, begun.Load(), "no piece after it is begun")
			}
		}
	})
}
