package airpath

import (
	"testing"

	"bellmouth/internal/cycle"
)

// One converged point in terms of bare cycles: the figures of BenchmarkPoint over that of BenchmarkBareCycle.
func BenchmarkPoint(b *testing.B) {
	restricted, open := invented(), unrestricted()
	open.Combustion.KnockLimit = 5
	soft := invented()
	soft.Combustion.KnockLimit = 5
	for _, c := range []struct {
		name  string
		setup Setup
		speed float64
	}{
		{"spool", soft, 2500}, {"target", open, 5000}, {"restrictor", soft, 6500}, {"knock", unrestricted(), 5000},
		{"restrictor and knock", restricted, 5000},
	} {
		b.Run(c.name, func(b *testing.B) {
			e := must(New(c.setup))
			v := e.NewSolver()
			d := demand(&c.setup, c.speed*rpm, 160e3)
			b.ReportAllocs()
			var p Point
			for b.Loop() {
				var err error
				if p, err = v.Solve(d); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(p.Cycles), "cycles")
		})
	}
}

func BenchmarkBareCycle(b *testing.B) {
	s := unrestricted()
	e := must(New(s))
	v := e.NewSolver()
	must(v.Solve(demand(&s, 5000*rpm, 160e3)))
	var res cycle.Result
	b.ReportAllocs()
	for b.Loop() {
		if err := e.model.Run(&v.in, &res); err != nil {
			b.Fatal(err)
		}
	}
}
