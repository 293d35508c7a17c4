package lsq

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// linear is the linear prediction |r + J p| of the length of the residuals
// around one point, reduced to n rows: J = QR, and q is the part Q'r of the
// residual vector in the range of J. It works in scaled unknowns z = D p with
// T = R inv(D), and finds the z that makes |q + T z| smallest among all that are
// not longer than a radius.
//
// While the full (Gauss-Newton) step is short enough one triangular solution
// does. Otherwise z = -(T'T + lambda I)^-1 T'q with the lambda that gives it
// the length of the radius, found from the triangle of T on top of sqrt(lambda) I.
// Singular values are computed only when T is close to singular: they tell
// which combinations of unknowns the full step has to leave alone.
type linear struct {
	r    []float64 // n*n upper triangle, row by row
	q    []float64 // n
	rest float64   // length of the part of the residual vector outside the range of J
	norm []float64 // n, length of each column of J
	jac  []float64 // m*n, J column by column, where it is kept

	t         []float64 // n*n, R with scaled columns
	full      []float64 // n, the full step
	reducible float64   // length of the part of the residual vector that the full step removes
	offset    float64   // reducible over the rest; zero if nothing is reducible

	decomposed bool
	u, vt, s   []float64 // T = u diag(s) vt
	tmp        []float64 // n*n, destroyed by the decomposition
	work       []float64
	stack      []float64 // (n+1)*2n, T and -q on top of sqrt(lambda) I
	slope      []float64 // n
}

func (l *linear) resize(n int) {
	l.r, l.q, l.norm = grown(l.r, n*n), grown(l.q, n), grown(l.norm, n)
	l.t, l.tmp = grown(l.t, n*n), grown(l.tmp, n*n)
	l.u, l.vt = grown(l.u, n*n), grown(l.vt, n*n)
	l.full, l.s, l.slope = grown(l.full, n), grown(l.s, n), grown(l.slope, n)
	l.stack = grown(l.stack, (n+1)*2*n)
	l.work = grown(l.work, 5*n) // the least that Gesvd asks for
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

// scaleBy sets the scale of the unknowns and computes the full step and what it
// would gain.
func (l *linear) scaleBy(diag []float64) {
	n := len(diag)
	scale(l.t, l.r, diag)
	l.decomposed = false
	lo, hi := math.Inf(1), 0.0
	for i := range n {
		d := math.Abs(l.t[i*n+i])
		lo, hi = min(lo, d), max(hi, d)
	}
	lost := 0.0
	// The smallest diagonal element bounds the smallest singular value from
	// above; below this threshold the singular values must decide.
	if lo > 1e-12*hi {
		for i, v := range l.q {
			l.full[i] = -v
		}
		lapack64.Trtrs(blas.NoTrans, upper(l.t, n), column(l.full))
		l.reducible = norm(l.q)
	} else {
		l.reducible, lost = l.truncated()
	}
	l.offset = 0
	if l.reducible > 0 {
		l.offset = l.reducible / math.Hypot(l.rest, lost)
	}
}

// truncated computes the full step without the combinations of unknowns that T
// does not determine. It returns the lengths of the parts of q that the step
// removes and leaves.
func (l *linear) truncated() (reducible, lost float64) {
	n := len(l.full)
	copy(l.tmp, l.t)
	l.singular()
	l.decomposed = true
	clear(l.full)
	rank := l.rank()
	for k := range n {
		var g float64
		for i := range n {
			g += l.u[i*n+k] * l.q[i]
		}
		if k >= rank {
			lost = math.Hypot(lost, g)
			continue
		}
		reducible = math.Hypot(reducible, g)
		for j := range n {
			l.full[j] -= g / l.s[k] * l.vt[k*n+j]
		}
	}
	return reducible, lost
}

// singular decomposes tmp into u s vt and destroys it. The vectors are asked for
// always: without them gonum computes the values in a way that allocates.
func (l *linear) singular() {
	n := len(l.s)
	lapack64.Gesvd(lapack.SVDAll, lapack.SVDAll, square(l.tmp, n), square(l.u, n), square(l.vt, n), l.s, l.work, len(l.work))
}

// rank counts the combinations of unknowns that the full step may use. An
// unknown whose column has become negligible against what it was on the way has
// been lost, though the column itself is not zero.
func (l *linear) rank() int {
	n := len(l.s)
	if !l.decomposed {
		return n
	}
	rank := 0
	for rank < n && l.s[rank] > 8*eps*float64(n)*l.s[0] {
		rank++
	}
	return rank
}

// damped writes z(lambda), lambda > 0, to dst. It returns the length of z and its
// derivative by lambda.
func (l *linear) damped(dst []float64, lambda float64) (z, dz float64) {
	n := len(dst)
	root := math.Sqrt(lambda)
	clear(l.stack)
	for j := range n {
		c := l.stack[j*2*n : (j+1)*2*n]
		for i := range j + 1 {
			c[i] = l.t[i*n+j]
		}
		c[n+j] = root
		l.stack[n*2*n+j] = -l.q[j]
	}
	reflect(l.stack, 2*n, n+1, n)
	// The columns, read as rows, are the transpose of the triangle.
	transpose := blas64.Triangular{Uplo: blas.Lower, Diag: blas.NonUnit, N: n, Stride: 2 * n, Data: l.stack}
	copy(dst, l.stack[n*2*n:n*2*n+n])
	lapack64.Trtrs(blas.Trans, transpose, column(dst))
	copy(l.slope, dst)
	lapack64.Trtrs(blas.NoTrans, transpose, column(l.slope))
	z = norm(dst)
	if z > 0 {
		w := norm(l.slope)
		dz = -w * w / z
	}
	return z, dz
}

// stepTo writes the best step of at most the radius (to within a tenth) to dst.
// It returns the fall of the sum of squares that the step should bring, and
// whether it is the full step.
func (l *linear) stepTo(dst []float64, radius float64) (fall float64, full bool) {
	longest := norm(l.full)
	if longest <= 1.1*radius {
		copy(dst, l.full)
		return l.reducible * l.reducible, true
	}
	// |z| falls with lambda; the zero of 1/radius - 1/|z|, which is nearly
	// linear, is found by Newton steps kept inside a bracket: |z| <= |T'q|/lambda.
	n := len(dst)
	var gradient float64
	for j := range n {
		var g float64
		for i := range j + 1 {
			g += l.t[i*n+j] * l.q[i]
		}
		gradient += g * g
	}
	gradient = math.Sqrt(gradient)
	lo, hi := 0.0, gradient/radius
	lambda := 0.0
	if !l.decomposed {
		// The Newton step from the full step at lambda = 0, which stays below the zero.
		copy(l.slope, l.full)
		lapack64.Trtrs(blas.Trans, upper(l.t, n), column(l.slope))
		w := norm(l.slope)
		lambda = longest * longest * (longest - radius) / (radius * w * w)
	}
	for range 30 {
		if !(lambda > lo && lambda < hi) {
			lambda = max(1e-3*hi, math.Sqrt(lo*hi))
		}
		z, dz := l.damped(dst, lambda)
		if math.Abs(z-radius) <= 0.1*radius {
			break
		}
		if z > radius {
			lo = lambda
		} else {
			hi = lambda
		}
		lambda -= z * (z - radius) / (radius * dz)
	}
	// |q|^2 - |q + Tz|^2
	for i := range n {
		var tz float64
		for j := i; j < n; j++ {
			tz += l.t[i*n+j] * dst[j]
		}
		fall -= tz * (2*l.q[i] + tz)
	}
	return fall, false
}

// condition returns rank and condition of J, which has m rows. It overwrites the
// decomposition.
func (l *linear) condition(m int) (rank int, cond float64) {
	rank = l.rank()
	l.decomposed = false
	n := len(l.norm)
	scale(l.tmp, l.r, l.norm)
	cond = math.Inf(1)
	if lapack64.Trtri(upper(l.tmp, n)) {
		var sum float64
		for i := range n {
			for _, v := range l.tmp[i*n+i : (i+1)*n] {
				sum += v * v
			}
		}
		// The columns of J have length one: its norm is the root of n.
		cond = math.Sqrt(sum / float64(n))
	}
	if cond < 1e10 {
		return rank, cond
	}
	scale(l.tmp, l.r, l.norm)
	l.singular()
	kept := 0
	for _, s := range l.s {
		if s > 8*eps*float64(m)*l.s[0] {
			kept++
		}
	}
	return min(rank, kept), cond
}

func column(v []float64) blas64.General {
	return blas64.General{Rows: len(v), Cols: 1, Stride: 1, Data: v}
}

func upper(a []float64, n int) blas64.Triangular {
	return blas64.Triangular{Uplo: blas.Upper, Diag: blas.NonUnit, N: n, Stride: n, Data: a}
}
