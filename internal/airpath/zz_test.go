package airpath

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
)

func TestZZ(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	m := map[string]int{}
	cyc := map[int]int{}
	for i := range 500 {
		s := random(r)
		e, err := New(s)
		if err != nil {
			t.Log(err)
			continue
		}
		boost := 0.3e5 + 2.2e5*r.Float64()
		v := e.NewSolver()
		for n := 1500.0; n <= 8000; n += 650 {
			p, err := v.Solve(demand(&s, n*rpm, boost))
			cyc[p.Cycles]++
			if err != nil {
				var pe *PointError
				errors.As(err, &pe)
				k := pe.Stage + ": " + pe.Reason
				m[k]++
				if m[k] < 6 && pe.Stage != "wastegate" {
					fmt.Println(i, n, err, v.mode, v.off, v.ca50/deg, v.e.Combustion.LatestCA50/deg, v.res.KnockIntegral, v.burn/deg, v.w.active)
				}
			}
		}
	}
	fmt.Println(m)
	fmt.Println(cyc)
}
