package lsq

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// trustRegion finds the step z in scaled unknowns that minimises the linear
// prediction |q + T z| of the residuals among all steps not longer than the
// radius, T = R inv(D).
//
// While the full (Gauss-Newton) step is short enough one triangular solution
// does. Otherwise z = -(T'T + lambda I)^-1 T'q with the lambda that gives it
// the length of the radius; the singular values of T turn the search for lambda
// into a few scalar iterations and serve matrices without full rank as well.
// They are computed only when they are needed.
type trustRegion struct {
	t    []float64 // n*n, R with scaled columns
	full []float64 // n, the full step
	q    []float64 // n, (Q'r)[:n]

	decomposed bool
	u, vt, s   []float64
	g          []float64 // n, U'q
	tmp        []float64 // n*n, destroyed by the decomposition
	work       []float64

	// predicted is the fall of the sum of squares that the last step should bring.
	predicted float64
}

func (t *trustRegion) resize(n int) {
	t.t, t.tmp = grown(t.t, n*n), grown(t.tmp, n*n)
	t.u, t.vt = grown(t.u, n*n), grown(t.vt, n*n)
	t.full, t.q, t.s, t.g = grown(t.full, n), grown(t.q, n), grown(t.s, n), grown(t.g, n)
	var size [1]float64
	lapack64.Gesvd(lapack.SVDAll, lapack.SVDAll, square(t.tmp, n), square(t.u, n), square(t.vt, n), t.s, size[:], -1)
	t.work = grown(t.work, int(size[0]))
}

func square(a []float64, n int) blas64.General {
	return blas64.General{Rows: n, Cols: n, Stride: n, Data: a}
}

// scale writes R with its columns divided by d (zero stays zero) to dst.
func scale(dst, r, d []float64) {
	n := len(d)
	for i := range n {
		for j := range n {
			if d[j] == 0 {
				dst[i*n+j] = 0
			} else {
				dst[i*n+j] = r[i*n+j] / d[j]
			}
		}
	}
}

// setPoint takes a new point over and computes its full step.
func (t *trustRegion) setPoint(f *factored, diag []float64) {
	n := len(diag)
	scale(t.t, f.r, diag)
	copy(t.q, f.q)
	t.decomposed = false
	lo, hi := math.Inf(1), 0.0
	for i := range n {
		d := math.Abs(t.t[i*n+i])
		lo, hi = min(lo, d), max(hi, d)
	}
	// The smallest diagonal element bounds the smallest singular value from
	// above; well below this threshold the singular values must decide.
	if lo > 1e-7*hi {
		for i, v := range t.q {
			t.full[i] = -v
		}
		lapack64.Trtrs(blas.NoTrans,
			blas64.Triangular{Uplo: blas.Upper, Diag: blas.NonUnit, N: n, Stride: n, Data: t.t},
			blas64.General{Rows: n, Cols: 1, Stride: 1, Data: t.full})
		return
	}
	t.decompose()
	t.damped(t.full, 0)
}

// fullStepLength is the length of the full step in scaled unknowns.
func (t *trustRegion) fullStepLength() float64 { return norm(t.full) }

func (t *trustRegion) decompose() {
	if t.decomposed {
		return
	}
	n := len(t.full)
	copy(t.tmp, t.t)
	t.singular(t.tmp)
	for k := range n {
		var g float64
		for i := range n {
			g += t.u[i*n+k] * t.q[i]
		}
		t.g[k] = g
	}
	t.decomposed = true
}

// singular decomposes a into u s vt and destroys it. The vectors are asked for
// always: without them gonum computes the values in a way that allocates.
func (t *trustRegion) singular(a []float64) {
	n := len(t.s)
	lapack64.Gesvd(lapack.SVDAll, lapack.SVDAll, square(a, n), square(t.u, n), square(t.vt, n), t.s, t.work, len(t.work))
}

// cut is the size below which a singular value counts as zero.
func (t *trustRegion) cut() float64 { return 8 * eps * float64(len(t.s)) * t.s[0] }

// rank counts the combinations of unknowns that the full step may use. An
// unknown whose column has become negligible against what it was on the way has
// been lost, though the column itself is not zero.
func (t *trustRegion) rank() int {
	if !t.decomposed {
		return len(t.s)
	}
	rank := 0
	for _, s := range t.s {
		if s > t.cut() {
			rank++
		}
	}
	return rank
}

// length returns |z(lambda)| and its derivative.
func (t *trustRegion) length(lambda float64) (l, dl float64) {
	cut := t.cut()
	for k, s := range t.s {
		if s <= cut {
			continue
		}
		z := s * t.g[k] / (s*s + lambda)
		l += z * z
		dl -= z * z / (s*s + lambda)
	}
	l = math.Sqrt(l)
	if l > 0 {
		dl /= l
	}
	return l, dl
}

// damped writes z(lambda) to dst and sets predicted.
func (t *trustRegion) damped(dst []float64, lambda float64) {
	n := len(dst)
	clear(dst)
	cut := t.cut()
	t.predicted = 0
	for k, s := range t.s {
		if s <= cut {
			continue
		}
		z := -s * t.g[k] / (s*s + lambda)
		// |q|^2 - |q + Tz|^2 = |Tz|^2 + 2 lambda |z|^2
		t.predicted += s*z*s*z + 2*lambda*z*z
		for j := range n {
			dst[j] += z * t.vt[k*n+j]
		}
	}
}

// stepTo writes the best step of at most the radius (to within a tenth) to dst
// and sets predicted. It reports whether that is the full step.
func (t *trustRegion) stepTo(dst []float64, radius float64) (full bool) {
	if norm(t.full) <= 1.1*radius {
		copy(dst, t.full)
		t.predicted = 0
		if t.decomposed {
			t.damped(dst, 0)
		} else {
			for _, q := range t.q {
				t.predicted += q * q
			}
		}
		return true
	}
	t.decompose()
	// |z| falls with lambda; the zero of 1/radius - 1/|z|, which is nearly
	// linear, is found by Newton steps kept inside a bracket.
	lo, hi := 0.0, t.s[0]*norm(t.g)/radius
	lambda := 0.0
	for range 30 {
		l, dl := t.length(lambda)
		if math.Abs(l-radius) <= 0.1*radius {
			break
		}
		if l > radius {
			lo = lambda
		} else {
			hi = lambda
		}
		next := lambda - l*(l-radius)/(radius*dl)
		if !(next > lo && next < hi) {
			next = max(1e-3*hi, math.Sqrt(lo*hi))
		}
		lambda = next
	}
	t.damped(dst, lambda)
	return false
}

// scaledSingularValues returns the singular values of J with its columns scaled
// to length one, in memory of t that lives until the next call.
func (t *trustRegion) scaledSingularValues(f *factored) []float64 {
	scale(t.tmp, f.r, f.norm)
	t.singular(t.tmp)
	t.decomposed = false
	return t.s
}
