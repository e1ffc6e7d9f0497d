package pulse

import (
	"math"

	"bellmouth/internal/numeric"
)

const (
	depth   = 3
	unknown = 2 * mostSlots
)

// vector holds the logarithms of pressures and masses at the start of an interval: the manifold's, then the cylinders'.
type vector [unknown]float64

func (x *Start) logs(slots int) vector {
	var v vector
	v[0], v[1] = numeric.Log(x.manifold.p), numeric.Log(x.manifold.m)
	for i := 1; i < slots; i++ {
		v[2*i], v[2*i+1] = numeric.Log(x.cylinders[i].p), numeric.Log(x.cylinders[i].m)
	}
	return v
}

func (x *Start) set(v *vector, slots int) {
	x.manifold = gasState{numeric.Exp(v[0]), numeric.Exp(v[1])}
	for i := 1; i < slots; i++ {
		x.cylinders[i] = gasState{numeric.Exp(v[2*i]), numeric.Exp(v[2*i+1])}
	}
}

// An anderson finds the state that an interval leaves as it was.
//
// Source: Anderson, J. ACM 12 (1965), in the form of Walker and Ni, SIAM J. Numer. Anal. 49 (2011): the last differences of the
// residual are combined so that they cancel most of it, and the same combination of steps is taken.
type anderson struct {
	count          int
	image, miss    vector        // of the last state: where the interval leads, and by how much that is off
	images, misses [depth]vector // their last differences
}

// advance moves x, whose interval led to next, and returns how far the two are apart: the largest difference of the logarithms.
func (w *anderson) advance(slots int, x, next *Start) float64 {
	n := 2 * slots
	here, image := x.logs(slots), next.logs(slots)
	var miss vector
	residual := 0.0
	for i := range n {
		miss[i] = image[i] - here[i]
		if !(math.Abs(miss[i]) <= residual) { // also what is not a number
			residual = math.Abs(miss[i])
		}
	}
	if !(residual < math.Inf(1)) {
		return residual
	}
	if w.count > 0 {
		slot := (w.count - 1) % depth
		for i := range n {
			w.images[slot][i] = image[i] - w.image[i]
			w.misses[slot][i] = miss[i] - w.miss[i]
		}
	}
	used := min(w.count, depth)
	w.count++
	w.image, w.miss = image, miss
	step := w.combine(n, used)
	for i := range n {
		moved := image[i] - step[i]
		// A combination that leads far off is worth less than the interval itself.
		if !(math.Abs(moved-here[i]) < 0.5+2*residual) {
			step = vector{}
			w.count = 0
			break
		}
	}
	for i := range n {
		image[i] -= step[i]
	}
	x.set(&image, slots)
	return residual
}

// combine returns what the combination takes off the image, by modified Gram–Schmidt on the differences of the residual.
func (w *anderson) combine(n, used int) vector {
	var step vector
	var q, g [depth]vector // orthogonal differences of the residual, and the images' in step with them
	rest := w.miss
	for j := range used {
		// The latest difference first: it is the one to keep where two are nearly alike.
		at := (w.count - 2 - j + 2*depth) % depth
		a, b := w.misses[at], w.images[at]
		before := dot(&a, &a, n)
		for i := range j {
			c := dot(&q[i], &a, n)
			for k := range n {
				a[k] -= c * q[i][k]
				b[k] -= c * g[i][k]
			}
		}
		size := dot(&a, &a, n)
		if !(size > 1e-16*before) {
			continue // q[j] stays zero
		}
		size = 1 / math.Sqrt(size)
		for k := range n {
			q[j][k], g[j][k] = a[k]*size, b[k]*size
		}
		c := dot(&q[j], &rest, n)
		for k := range n {
			rest[k] -= c * q[j][k]
			step[k] += c * g[j][k]
		}
	}
	return step
}

func dot(a, b *vector, n int) float64 {
	sum := 0.0
	for i := range n {
		sum += a[i] * b[i]
	}
	return sum
}
