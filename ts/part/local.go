package part

import (
	"math"

	"conewright/ts/measured"

	"gonum.org/v1/gonum/mat"
)

// reading is a value read off a curve: how it follows the real and the imaginary part of each point. So noise
// and every error of the bench are carried over to it exactly as far as they are small.
type reading struct {
	value  float64
	re, im []float64 // d value / d Re Z and d Im Z of each point, for all points of the curve
	// noisyRe and noisyIm are the same for the noise of the points: times the factor by which they scatter around the local curve more than
	// their noise says, 1 or more; it is their scatter itself where no noise is known.
	noisyRe, noisyIm []float64
}

// newReading is a reading that follows n points nowhere yet.
func newReading(value float64, n int) reading {
	return reading{value, make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)}
}

// add adds a times what q follows.
func (r *reading) add(a float64, q reading) {
	for _, v := range []struct{ to, from []float64 }{{r.re, q.re}, {r.im, q.im}, {r.noisyRe, q.noisyRe}, {r.noisyIm, q.noisyIm}} {
		for i, x := range v.from {
			v.to[i] += a * x
		}
	}
}

// effect returns how a reading moves when the points move by e (ohm).
func (r reading) effect(e []complex128) (sum float64) {
	for i := range e {
		sum += r.re[i]*real(e[i]) + r.im[i]*imag(e[i])
	}
	return sum
}

// combine returns a r + b q with the value v: a function of the two with those slopes.
func (r reading) combine(v, a float64, q reading, b float64) reading {
	out := newReading(v, len(r.re))
	out.add(a, r)
	out.add(b, q)
	return out
}

// noise returns the noise of the points in ohm; without one all count as their size.
func noise(z measured.Impedance, i int) float64 {
	if z.Sigma != nil {
		return z.Sigma[i]
	}
	return math.Hypot(real(z.Z[i]), imag(z.Z[i]))
}

// covariance returns the covariance of two readings from the noise of the points.
func covariance(z measured.Impedance, a, b reading) (v float64) {
	for i := range a.re {
		s := noise(z, i)
		v += (a.noisyRe[i]*b.noisyRe[i] + a.noisyIm[i]*b.noisyIm[i]) * s * s
	}
	return v
}

// shape are the functions of frequency that a reading is a sum of; the first is 1 where it is read, the others 0.
type shape []func(f float64) float64

// around is a parabola over the logarithm of frequency, around f0 (Hz).
func around(f0 float64) shape {
	u := func(f float64) float64 { return math.Log(f / f0) }
	return shape{func(float64) float64 { return 1 }, u, func(f float64) float64 { return u(f) * u(f) }}
}

// regress fits y, with the standard deviation s of each point, as a sum of the functions of sh over the points from to upto of a curve, by
// weighted linear least squares. It returns the first coefficient, its weight on each y, the sum of squares of the normalised
// residuals and whether the points determine it. Source: linear regression, any textbook.
func regress(freq, y, s []float64, sh shape) (value float64, weight []float64, chi2 float64, ok bool) {
	n, k := len(freq), len(sh)
	if n < k+3 {
		return 0, nil, 0, false
	}
	a, b := mat.NewDense(n, k, nil), mat.NewVecDense(n, nil)
	for i, f := range freq {
		for j, g := range sh {
			a.Set(i, j, g(f)/s[i])
		}
		b.SetVec(i, y[i]/s[i])
	}
	var qr mat.QR
	qr.Factorize(a)
	if !(qr.Cond() < 1e10) {
		return 0, nil, 0, false
	}
	var x mat.VecDense
	if err := qr.SolveVecTo(&x, false, b); err != nil {
		return 0, nil, 0, false
	}
	// The weights are the first row of the pseudo-inverse: A (A'A)^-1 e.
	var p mat.Dense
	eye := mat.NewDiagDense(n, nil)
	for i := range n {
		eye.SetDiag(i, 1)
	}
	if err := qr.SolveTo(&p, false, eye); err != nil {
		return 0, nil, 0, false
	}
	weight = make([]float64, n)
	for i := range n {
		weight[i] = p.At(0, i) / s[i]
	}
	var fit mat.VecDense
	fit.MulVec(a, &x)
	for i := range n {
		d := b.AtVec(i) - fit.AtVec(i)
		chi2 += d * d
	}
	return x.AtVec(0), weight, chi2, true
}

// halfOctave is half of the width, as logarithm, of the stretch around a frequency that is read; where it has too few points a
// wider one is.
const halfOctave = 0.5 * math.Ln2

// read reads a quantity at f0 that each point shows by itself: y with the slopes re and im against the two parts of its impedance.
func read(z measured.Impedance, f0 float64, of func(f float64, v complex128) (y, re, im float64)) (reading, bool) {
	for half := halfOctave; half < 4*math.Ln2; half *= 1.5 {
		var at []int
		for i, f := range z.Freq {
			if math.Abs(math.Log(f/f0)) <= half {
				at = append(at, i)
			}
		}
		if r, _, ok := over(z, at, around(f0), of); ok {
			return r, true
		}
	}
	return reading{}, false
}

// over is read over the points at, with the functions of sh; wider is how much more they scatter than their noise says.
func over(z measured.Impedance, at []int, sh shape, of func(f float64, v complex128) (y, re, im float64)) (r reading, wider float64, ok bool) {
	n := len(at)
	freq, y, s := make([]float64, n), make([]float64, n), make([]float64, n)
	slope := make([][2]float64, n)
	for k, i := range at {
		freq[k] = z.Freq[i]
		y[k], slope[k][0], slope[k][1] = of(z.Freq[i], z.Z[i])
		s[k] = math.Hypot(slope[k][0], slope[k][1]) * noise(z, i)
		if math.IsNaN(y[k]) || !(s[k] > 0) {
			return reading{}, 0, false
		}
	}
	value, weight, chi2, ok := regress(freq, y, s, sh)
	if !ok {
		return reading{}, 0, false
	}
	wider = math.Sqrt(chi2 / float64(n-len(sh)))
	if z.Sigma != nil {
		wider = max(1, wider)
	}
	r = newReading(value, z.Len())
	for k, i := range at {
		r.re[i], r.im[i] = weight[k]*slope[k][0], weight[k]*slope[k][1]
		r.noisyRe[i], r.noisyIm[i] = wider*r.re[i], wider*r.im[i]
	}
	return r, wider, true
}
