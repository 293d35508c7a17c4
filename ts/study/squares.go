package study

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"conewright/ts/notice"
)

// data are the values of a design as the analysis needs them: means of the cells, about
// the mean of all, and the squares that they leave. Everything is centred before it
// is squared, since values often differ in their last digits only.
type data struct {
	*Design
	centre  float64     // the mean of all values
	mean    []float64   // of each cell, less centre
	within  float64     // sum of squares about the means of the cells
	weight  [][]float64 // of each level above the readings: its contrasts of the means
	squares []float64   // sum of squares of each level, the readings last

	fixed    *mat.Dense // a column for each driver: 1 for its cells
	left     *mat.Dense // orthonormal columns of what these leave; nil without any
	free     int        // number of those
	logFixed float64    // ln det fixed' fixed
}

func (d *Design) take(values []float64) (*data, error) {
	if len(values) != len(d.cell) {
		panic("study: one value for each reading")
	}
	for i, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, notice.New("study-not-finite", notice.Facts{"reading": i + 1})
		}
	}
	out := &data{Design: d, centre: stat.Mean(values, nil), mean: make([]float64, len(d.count))}
	for i, v := range values {
		out.mean[d.cell[i]] += (v - out.centre) / d.count[d.cell[i]]
	}
	for i, v := range values {
		out.within += sq(v - out.centre - out.mean[d.cell[i]])
	}
	fixed := mat.NewDense(len(d.count), len(d.drivers), nil)
	for c, k := range d.driver {
		fixed.Set(c, k, 1)
	}
	out.fix(fixed)
	out.project()
	return out, nil
}

// fix makes the columns of m the ones of which nothing is assumed.
func (x *data) fix(m *mat.Dense) {
	b, p := m.Dims()
	x.fixed, x.free, x.logFixed = m, b-p, 0
	var qr mat.QR
	var q, r mat.Dense
	qr.Factorize(m)
	qr.QTo(&q)
	qr.RTo(&r)
	for i := range p {
		x.logFixed += 2 * math.Log(math.Abs(r.At(i, i)))
	}
	if x.free > 0 {
		x.left = mat.DenseCopyOf(q.Slice(0, b, p, b))
	}
}

// without returns the data as they are when levels are taken as fixed: nothing is
// concluded from what their groups differ by.
func (x *data) without(levels []int) *data {
	var more [][]float64
	for _, k := range levels {
		more = append(more, x.basis[k].vectors...)
	}
	b, p := x.fixed.Dims()
	m := mat.NewDense(b, p+len(more), nil)
	for c := range b {
		for d := range p {
			m.Set(c, d, x.fixed.At(c, d))
		}
		for i, v := range more {
			m.Set(c, p+i, v[c]/math.Sqrt(x.count[c]))
		}
	}
	out := *x
	out.fix(m)
	return &out
}

// project splits what the means of the cells hold into drivers, levels and the
// rest, which is more scatter of the readings.
func (x *data) project() {
	rest := make([]float64, len(x.mean))
	var driverSum, driverCount = make([]float64, len(x.drivers)), make([]float64, len(x.drivers))
	for c, m := range x.mean {
		driverSum[x.driver[c]] += x.count[c] * m
		driverCount[x.driver[c]] += x.count[c]
	}
	for c, m := range x.mean {
		rest[c] = math.Sqrt(x.count[c]) * (m - driverSum[x.driver[c]]/driverCount[x.driver[c]])
	}
	for _, b := range x.basis {
		w := make([]float64, len(b.vectors))
		for i, v := range b.vectors {
			w[i] = floats.Dot(v, rest)
			floats.AddScaled(rest, -w[i], v)
		}
		x.weight = append(x.weight, w)
		x.squares = append(x.squares, floats.Dot(w, w))
	}
	x.squares = append(x.squares, x.within+floats.Dot(rest, rest))
}

// meanSquares returns the mean square of each level; 0 where there are no degrees of freedom.
func (x *data) meanSquares() []float64 {
	out := make([]float64, len(x.levels))
	for k, dof := range x.Dof() {
		if dof > 0 {
			out[k] = x.squares[k] / float64(dof)
		}
	}
	return out
}

// moments returns the variances that would make every mean square what it is expected
// to be, negative ones included; 0 where a level has no degrees of freedom.
//
//	E[MS_l] = v_last + sum over k >= l of expect[k] v_k
//
// Source: analysis of variance, sequential sums of squares; textbook. Theory (8.2).
func (d *Design) moments(meanSquares []float64) []float64 {
	last := len(d.levels) - 1
	v := make([]float64, last+1)
	v[last] = meanSquares[last]
	for l := last - 1; l >= 0; l-- {
		if len(d.basis[l].vectors) == 0 {
			continue
		}
		left := meanSquares[l] - v[last]
		for k := l + 1; k < last; k++ {
			left -= d.basis[l].expect[k] * v[k]
		}
		v[l] = left / d.basis[l].expect[l]
	}
	return v
}

func sq(x float64) float64 { return x * x }
