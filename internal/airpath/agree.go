package airpath

import (
	"math"

	"bellmouth/internal/gas"
)

// limitsKept is how nearly agree keeps knock and cylinder pressure, as a multiple of a coarse tolerance.
const limitsKept = 10

// agree brings air path and cycle to agree at an outlet coordinate: the exhaust temperature to a relative tolerance, and the phasing as late as
// knock and cylinder pressure ask for.
func (v *Solver) agree(x, tolerance float64) error {
	best, latest := v.e.Combustion.BestCA50, v.e.Combustion.LatestCA50
	if v.early {
		latest = best
	}
	v.ca50 = min(v.ca50, latest)
	filled, kept := settleTolerance, limitTolerance
	if tolerance > t3Tolerance {
		filled, kept = tolerance, limitsKept*tolerance
	}
	v.mode = retarding
	var last gaps
	var d move
	for i := range 40 {
		if i > 0 && i%12 == 0 {
			v.jac = retardSlopes
		}
		v.warm()
		v.w.x[1] = x
		if !v.w.fill(filled) {
			return v.fail("air path", "flow and pressure do not agree", math.Abs(v.w.s.filling), v.w.passes)
		}
		if err := v.runCycle(); err != nil {
			return err
		}
		now := gaps{v.turn.t3 - v.t3, v.knockRoom(), v.peakRoom()}
		least := min(now[rowKnock], now[rowPeak])
		held := v.early || v.ca50 <= best && least >= -kept || v.ca50 >= latest && least <= kept
		if math.Abs(now[rowT3]) < tolerance*v.t3 && v.off < max(tolerance, leftTolerance) && (held || math.Abs(least) < kept) {
			for l := range limits {
				if bound := limits[l].cycle; bound != nil {
					v.w.s.bounds[l] = bound(v)
				}
			}
			return nil
		}
		if i%12 > 0 && v.off < quiet*(math.Abs(d[0])/v.t3+math.Abs(d[1])) {
			v.broyden(d, &last, &now)
			v.jac[rowT3][0] = min(max(v.jac[rowT3][0], -1.6), -0.4)
		}
		other := 0.0
		if !held {
			if other = v.wanted(&now); !(math.Abs(other) < 1) || other*least > 0 && math.Abs(least) > 0.05 {
				v.jac = retardSlopes
				other = -least / v.jac[rowKnock][1]
			}
			other = min(max(other, -largestRetard), largestRetard)
			other = min(max(v.ca50+other, best), latest) - v.ca50
		}
		d = v.stepT3(&now, other)
		v.ca50 += other
		last = now
	}
	return v.fail("EGT and CA50", "air path and cycle do not agree", math.Abs(v.turn.t3-v.t3)/v.t3, v.cycles)
}

// warm hands the trial exhaust temperature to the air path.
func (v *Solver) warm() {
	t := &v.w.t
	t.t3 = v.t3
	t.exhaust = gas.Mix(v.r.charge.Unburned, v.r.charge.Burned, v.b.residualBurned)
	t.gammaExh = t.exhaust.Gamma(v.t3)
}

// afterRetard returns the bound of a limit that a later burn keeps first: its room at the latest phasing accepted, and before that
// what retard is left besides.
func (v *Solver) afterRetard(room float64) float64 {
	const perRadian = 5 // of ln knock integral: a scale
	if v.early {
		return room
	}
	return room + max(v.e.Combustion.LatestCA50-v.ca50, 0)*perRadian
}
