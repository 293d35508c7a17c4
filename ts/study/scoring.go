package study

import (
	"math"
	"math/bits"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// hold asks that weights times the variances stay at a value; no weights ask nothing.
type hold struct {
	weights []float64
	value   float64
}

// maximise returns the state of greatest likelihood with no variance negative, from a start that
// meets the hold. Each step solves the equations of normal under these conditions, and is halved
// until the likelihood grows; the way from one permitted point to another is permitted.
func (x *data) maximise(start []float64, priors []Spread, h hold) *state {
	now := x.at(start, priors)
	if math.IsInf(now.fit, 1) {
		return now
	}
	for range 300 {
		m, q := x.normal(now, priors)
		goal := permitted(m, q, h)
		if goal == nil {
			return now
		}
		// Near the greatest likelihood the variances still have digits to gain
		// when the likelihood has none.
		rounding := 1e-12 * (1 + math.Abs(now.fit))
		before := now
		for part := 1.; part > 1e-9; part /= 2 {
			v := slices.Clone(now.v)
			floats.Scale(1-part, v)
			floats.AddScaled(v, part, goal)
			if next := x.at(v, priors); next.fit < now.fit+rounding {
				now = next
				break
			}
		}
		// A held sum is only asked how likely it is.
		if h.weights != nil && before.fit-now.fit < 1e-9 ||
			floats.Distance(before.v, now.v, math.Inf(1)) <= 1e-12*floats.Sum(now.v) {
			break
		}
	}
	return now
}

// permitted returns the v that minimises v' H v/2 - q' v with no entry negative and the hold met.
// There are at most 2^mostLevels sets of entries that may differ from 0, and all are tried.
// It returns nil if none is left.
func permitted(h *mat.SymDense, q []float64, hold hold) []float64 {
	n := len(q)
	var best []float64
	least := math.Inf(1)
	for set := uint(0); set < 1<<n; set++ {
		v, ok := onSet(h, q, hold, set)
		if !ok {
			continue
		}
		var value float64
		for i := range n {
			value -= q[i] * v[i]
			for j := range n {
				value += v[i] * h.At(i, j) * v[j] / 2
			}
		}
		if value < least {
			best, least = v, value
		}
	}
	return best
}

// onSet is the solution of permitted that differs from 0 only on the set; false
// where it would be negative or does not exist.
func onSet(h *mat.SymDense, q []float64, hold hold, set uint) ([]float64, bool) {
	var index []int
	held := false
	for i := range q {
		if set>>i&1 == 0 {
			continue
		}
		index = append(index, i)
		held = held || hold.weights != nil && hold.weights[i] != 0
	}
	// A sum that is held at 0 takes no entries; one above takes at least one.
	if hold.weights != nil && held != (hold.value > 0) {
		return nil, false
	}
	v := make([]float64, len(q))
	n := bits.OnesCount(set)
	if n == 0 {
		return v, true
	}
	rows := n
	if held {
		rows++
	}
	// In units that make the diagonal 1, since variances may lie many powers of ten apart.
	unit := make([]float64, n)
	a, y := mat.NewDense(rows, rows, nil), mat.NewVecDense(rows, nil)
	for i, s := range index {
		unit[i] = 1 / math.Sqrt(h.At(s, s))
	}
	for i, s := range index {
		y.SetVec(i, q[s]*unit[i])
		for j, t := range index {
			a.Set(i, j, h.At(s, t)*unit[i]*unit[j])
		}
	}
	if held {
		for i, s := range index {
			w := hold.weights[s] * unit[i] / hold.value
			a.Set(i, n, w)
			a.Set(n, i, w)
		}
		y.SetVec(n, 1)
	}
	var out mat.VecDense
	if out.SolveVec(a, y) != nil {
		return nil, false
	}
	for i, s := range index {
		v[s] = out.AtVec(i) * unit[i]
		if !(v[s] >= 0) {
			return nil, false
		}
	}
	return v, true
}
