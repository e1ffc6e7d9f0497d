package pulse

import (
	"fmt"
	"math"
	"testing"

	"bellmouth/internal/numeric"
)

func BenchmarkSolve(b *testing.B) {
	curve, err := numeric.NewCurve([]float64{0.3, 0.65, 1}, []float64{0.45, 0.72, 0.5})
	if err != nil {
		b.Fatal(err)
	}
	for _, n := range []int{1, 2, 3, 4, 5, 6} {
		for _, bladed := range []bool{false, true} {
			b.Run(fmt.Sprintf("cylinders=%d/bladed=%v", n, bladed), func(b *testing.B) {
				m, err := New(invented(n))
				if err != nil {
					b.Fatal(err)
				}
				s := blown(n)
				if bladed {
					s.Efficiency, s.TipSpeed = curve, 300
				}
				b.ReportAllocs()
				var r Result
				for b.Loop() {
					if r, err = m.Solve(&s, nil); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(r.Passes), "intervals")
				if math.IsNaN(r.Power) {
					b.Fatal("not a number")
				}
			})
		}
	}
}

// A solve that starts from the solution of a state 3 % off in pressure, as a round of the operating point does.
func BenchmarkSolveFrom(b *testing.B) {
	m, err := New(invented(5))
	if err != nil {
		b.Fatal(err)
	}
	near, far := blown(5), blown(5)
	far.Pressure *= 1.03
	var from Start
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		s := &near
		if i%2 == 1 {
			s = &far
		}
		r, err := m.Solve(s, &from)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(r.Passes), "intervals")
	}
}
