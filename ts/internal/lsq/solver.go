package lsq

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Solver is a workspace that may be used again and again; after the first
// problem of a size the solution of the next ones allocates nothing. The zero
// value is ready. A Solver must not be used from two goroutines at once.
type Solver struct {
	m, n int

	x, trial   []float64 // n
	r, rTrial  []float64 // m
	jac        []float64 // (n+1)*m: columns of J, then r; overwritten by the factors
	here, next linear

	diag []float64 // n, scale of each unknown: the longest column seen
	step []float64 // n, in scaled unknowns

	evaluations int
	together    bool // the Jacobian of the trial point is computed with its residuals
	keep        bool // see Settings.Keep
}

func (w *Solver) resize(m, n int) {
	if m == w.m && n == w.n {
		return
	}
	w.m, w.n = m, n
	w.x, w.trial = grown(w.x, n), grown(w.trial, n)
	w.r, w.rTrial = grown(w.r, m), grown(w.rTrial, m)
	w.jac = grown(w.jac, (n+1)*m)
	w.here.resize(n)
	w.next.resize(n)
	w.diag, w.step = grown(w.diag, n), grown(w.step, n)
}

// Triangle reduces columns of the given length, stored one after the other in a,
// to a triangle by an orthogonal transformation: element (i, j) of the triangle
// is then a[j*length+i], i <= j and i < length. The rest of a is overwritten. See
// the remark on lengths at reflect.
func Triangle(a []float64, length int) {
	columns := len(a) / length
	reflect(a, length, columns, min(columns, length))
}

// reflect reduces columns of the given length, stored one after the other, by
// Householder reflections until the first count of them are a triangle. The
// triangle ends up in their first elements; the rest of them is overwritten.
// Every operation runs over contiguous numbers. Lengths are square roots of sums
// of squares, without the scaling of a general library that costs as much as all
// the rest: columns below 1e-150 count as zero, beyond 1e150 as not finite.
func reflect(a []float64, length, columns, count int) {
	for k := range count {
		v := a[k*length+k : (k+1)*length]
		size := math.Sqrt(floats.Dot(v, v))
		if size == 0 {
			continue
		}
		if v[0] > 0 {
			size = -size
		}
		// The reflection I - v v'/(size v0) turns this column into (size 0 ... 0).
		v[0] -= size
		scale := 1 / (size * v[0])
		for j := k + 1; j < columns; j++ {
			u := a[j*length+k : (j+1)*length]
			floats.AddScaled(u, scale*floats.Dot(v, u), v)
		}
		v[0] = size
	}
}

// factor reduces (J r) = Q (R q; 0 rest): the residuals as a last column give Q'r
// without applying Q. It reports whether all numbers are finite.
func (w *Solver) factor(dst *linear, r []float64) bool {
	m, n := w.m, w.n
	if w.keep {
		dst.jac = append(dst.jac[:0], w.jac[:n*m]...)
	}
	copy(w.jac[n*m:], r)
	reflect(w.jac, m, n+1, min(n+1, m))
	for i := range n {
		for j := range n {
			if j < i {
				dst.r[i*n+j] = 0
			} else {
				dst.r[i*n+j] = w.jac[j*m+i]
			}
		}
		dst.q[i] = w.jac[n*m+i]
		// A column of J is as long as that of R.
		dst.norm[i] = norm(w.jac[i*m : i*m+i+1])
	}
	dst.rest = 0
	if m > n {
		dst.rest = math.Abs(w.jac[n*m+n])
	}
	return finite(dst.r) && finite(dst.q)
}

// Solve minimises the sum of squares of p from x0 and writes the outcome to dst,
// whose slices are used again. Stopping early is not an error: see
// Result.Status. The errors are ErrTooFew and ErrStart; dst is then not changed.
// Solve panics if x0 has the wrong length.
//
// The same problem from the same start gives the same bits again.
func (w *Solver) Solve(dst *Result, p Problem, x0 []float64, set Settings) error {
	m, n := p.Dims()
	if len(x0) != n || n == 0 {
		panic("lsq: the start does not have one value for each unknown")
	}
	if m < n {
		return ErrTooFew
	}
	if !finite(x0) {
		return ErrStart
	}
	w.resize(m, n)
	w.keep = set.Keep
	copy(w.x, x0)
	p.Eval(w.r, w.jac[:n*m], w.x)
	w.evaluations, w.together = 1, true
	if !finite(w.r) || !w.factor(&w.here, w.r) {
		return ErrStart
	}
	status, iterations := w.iterate(p, set.withDefaults())

	dst.X = append(dst.X[:0], w.x...)
	dst.factor = append(dst.factor[:0], w.here.r...)
	dst.Jacobian = nil
	if w.keep { // handed over, not copied
		dst.Jacobian, w.here.jac = w.here.jac, nil
	}
	dst.SumSquares = sumSquares(w.r)
	dst.Status, dst.Offset = status, w.here.offset
	dst.Iterations, dst.Evaluations = iterations, w.evaluations
	dst.Rank, dst.Condition = w.here.condition(m)
	return nil
}

const (
	// A step must bring at least this part of what the linear prediction
	// promises.
	leastRatio = 1e-4
	// Below this relative offset full steps are judged by the offset also: the
	// sum of squares can fall by a 1e-8th part only, which may drown in rounding
	// errors, while the offset is still exact enough.
	endgame = 1e-4
	// Below this relative offset a full step that helps neither the sum of
	// squares nor the offset means that the minimum is reached: the sum of
	// squares could fall by a 1e-12th part only.
	rounding = 1e-6
)

// iterate moves w.x, w.r and w.here to the minimum.
func (w *Solver) iterate(p Problem, set Settings) (Status, int) {
	for j, v := range w.here.norm {
		w.diag[j] = v
		if v == 0 {
			w.diag[j] = 1
		}
	}
	radius := set.Radius * w.scaledLength(w.x)
	if radius == 0 {
		radius = set.Radius
	}
	for iterations := 0; ; iterations++ {
		w.here.scaleBy(w.diag)
		offset := w.here.offset
		if offset <= set.OffsetTol {
			return SmallOffset, iterations
		}
		// x in scaled unknowns is about as long as the vector of model values, of
		// which the residuals are the rounded differences.
		if w.here.reducible <= 10*eps*w.scaledLength(w.x) {
			return RoundingLevel, iterations
		}
		for accepted := false; !accepted; {
			fall, full := w.here.stepTo(w.step, radius)
			length := norm(w.step)
			if length <= eps*w.scaledLength(w.x) {
				return Stalled, iterations
			}
			if w.evaluations >= set.MaxEvaluations {
				return EvaluationLimit, iterations
			}
			ratio := -1.0
			usable := w.evaluate(p)
			if usable {
				ratio = reduction(w.r, w.rTrial) / fall
			}
			switch {
			case ratio > leastRatio:
				accepted = w.linearise(p)
			case usable && full && offset < endgame && w.linearise(p):
				w.next.scaleBy(w.diag)
				accepted = w.next.offset < offset
				if !accepted && offset < rounding {
					return RoundingLevel, iterations
				}
			}
			switch {
			case !accepted && !(ratio > 0):
				radius = length / 4
			case !accepted || ratio < 0.25 && offset > endgame:
				radius = length / 2
			case full || ratio > 0.75:
				radius = 2 * length
			}
			w.together = accepted
		}
		w.x, w.trial = w.trial, w.x
		w.r, w.rTrial = w.rTrial, w.r
		w.here, w.next = w.next, w.here
		for j, v := range w.here.norm {
			w.diag[j] = max(w.diag[j], v)
		}
	}
}

// evaluate takes the step and computes the residuals there. It reports whether
// they are finite. A trial point is as a rule accepted, so the Jacobian is
// asked for together with them; after a rejection only when it is needed, until
// the next success.
func (w *Solver) evaluate(p Problem) bool {
	for j, x := range w.x {
		w.trial[j] = x + w.step[j]/w.diag[j]
	}
	var jac []float64
	if w.together {
		jac = w.jac[:w.n*w.m]
	}
	p.Eval(w.rTrial, jac, w.trial)
	w.evaluations++
	return finite(w.rTrial)
}

// linearise computes the linear prediction at the trial point. It reports
// whether the Jacobian is finite.
func (w *Solver) linearise(p Problem) bool {
	if !w.together {
		p.Eval(w.rTrial, w.jac[:w.n*w.m], w.trial)
		w.evaluations++
	}
	return w.factor(&w.next, w.rTrial)
}

// scaledLength is the length of v in scaled unknowns.
func (w *Solver) scaledLength(v []float64) float64 {
	var s float64
	for j, x := range v {
		s += w.diag[j] * x * w.diag[j] * x
	}
	return math.Sqrt(s)
}

// reduction is the sum of squares of a less that of b, formed from differences
// so that close vectors do not cancel.
func reduction(a, b []float64) float64 {
	var s float64
	for i, x := range a {
		s += (x - b[i]) * (x + b[i])
	}
	return s
}

func sumSquares(v []float64) float64 {
	var s float64
	for _, x := range v {
		s += x * x
	}
	return s
}
