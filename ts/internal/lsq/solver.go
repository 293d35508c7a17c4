package lsq

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// Solver is a workspace that may be used again and again; after the first
// problem of a size the solution of the next ones allocates nothing. The zero
// value is ready. A Solver must not be used from two goroutines at once.
type Solver struct {
	m, n int

	x, trial   []float64 // n
	r, rTrial  []float64 // m
	jac        []float64 // (n+1)*m: columns of J, then r; overwritten by the factors
	tau, work  []float64
	here, next factored

	diag  []float64 // n, scale of each unknown: the longest column seen
	step  []float64 // n, in scaled unknowns
	radii trustRegion
}

// factored is what is kept of the Jacobian J = QR at one point.
type factored struct {
	r    []float64 // n*n upper triangle, row by row
	q    []float64 // n, the part of the residual vector in the range of J: (Q'r)[:n]
	rest float64   // length of the part that no linear step can remove
	norm []float64 // n, length of each column of J
}

func (f *factored) resize(n int) {
	f.r, f.q, f.norm = grown(f.r, n*n), grown(f.q, n), grown(f.norm, n)
}

// offset is the relative offset of Bates and Watts without their factor for
// the degrees of freedom. A vanishing residual vector has the offset zero.
func (f *factored) offset() float64 {
	q := norm(f.q)
	if q == 0 {
		return 0
	}
	return q / f.rest
}

func (w *Solver) resize(m, n int) {
	if m == w.m && n == w.n {
		return
	}
	w.m, w.n = m, n
	w.x, w.trial = grown(w.x, n), grown(w.trial, n)
	w.r, w.rTrial = grown(w.r, m), grown(w.rTrial, m)
	w.jac = grown(w.jac, (n+1)*m)
	w.tau = grown(w.tau, min(m, n+1))
	w.here.resize(n)
	w.next.resize(n)
	w.diag, w.step = grown(w.diag, n), grown(w.step, n)
	var size [1]float64
	lapack64.Gelqf(w.augmented(), w.tau, size[:], -1)
	w.work = grown(w.work, int(size[0]))
	w.radii.resize(n)
}

// augmented is the transpose of (J r), which lies row by row in jac.
func (w *Solver) augmented() blas64.General {
	return blas64.General{Rows: w.n + 1, Cols: w.m, Stride: w.m, Data: w.jac}
}

// factor reduces (J r) = Q (R q; 0 rest). The transpose of (J r) lies row by row
// in memory, so its LQ factorisation runs over contiguous columns of J, and the
// residuals as a last column give Q'r without applying Q. It reports whether
// all numbers are finite.
func (w *Solver) factor(dst *factored, r []float64) bool {
	m, n := w.m, w.n
	for j := range n {
		dst.norm[j] = norm(w.jac[j*m : (j+1)*m])
	}
	if !finite(dst.norm) {
		return false
	}
	copy(w.jac[n*m:], r)
	lapack64.Gelqf(w.augmented(), w.tau, w.work, len(w.work))
	for i := range n {
		for j := range n {
			if j < i {
				dst.r[i*n+j] = 0
			} else {
				dst.r[i*n+j] = w.jac[j*m+i]
			}
		}
		dst.q[i] = w.jac[n*m+i]
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
	copy(w.x, x0)
	p.Eval(w.r, w.jac[:n*m], w.x)
	evaluations := 1
	if !finite(w.r) || !w.factor(&w.here, w.r) {
		return ErrStart
	}
	status, iterations := w.iterate(p, set.withDefaults(), &evaluations)

	dst.X = append(dst.X[:0], w.x...)
	dst.factor = append(dst.factor[:0], w.here.r...)
	dst.SumSquares = sumSquares(w.r)
	dst.Status, dst.Offset = status, w.here.offset()
	dst.Iterations, dst.Evaluations = iterations, evaluations
	rank := w.radii.rank()
	dst.Rank, dst.Condition = conditionOf(w.radii.scaledSingularValues(&w.here), m)
	dst.Rank = min(dst.Rank, rank)
	return nil
}

// iterate moves w.x, w.r and w.here to the minimum.
func (w *Solver) iterate(p Problem, set Settings, evaluations *int) (Status, int) {
	m, n := w.m, w.n
	for j := range w.diag {
		w.diag[j] = w.here.norm[j]
		if w.diag[j] == 0 {
			w.diag[j] = 1
		}
	}
	radius := set.Radius * w.scaledLength(w.x)
	if radius == 0 {
		radius = set.Radius
	}
	// A trial point is as a rule accepted, so residuals and Jacobian are asked
	// for together; after a rejection only the residuals, until the next success.
	together := true
	for iterations := 0; ; iterations++ {
		offset := w.here.offset()
		if offset <= set.OffsetTol {
			return SmallOffset, iterations
		}
		w.radii.setPoint(&w.here, w.diag)
		if w.radii.fullStepLength() <= set.StepTol*w.scaledLength(w.x) {
			return SmallStep, iterations
		}
		for {
			full := w.radii.stepTo(w.step, radius)
			length := norm(w.step)
			if length <= eps*w.scaledLength(w.x) {
				return Stalled, iterations
			}
			if *evaluations >= set.MaxEvaluations {
				return EvaluationLimit, iterations
			}
			for j := range w.trial {
				w.trial[j] = w.x[j] + w.step[j]/w.diag[j]
			}
			jac := w.jac[:n*m]
			if !together {
				jac = nil
			}
			p.Eval(w.rTrial, jac, w.trial)
			*evaluations++
			usable := finite(w.rTrial)
			ratio := -1.0
			if usable {
				ratio = reduction(w.r, w.rTrial) / w.radii.predicted
			}
			factored := false
			if accept := ratio > 1e-4; accept || usable && full && offset < endgame {
				if !together {
					p.Eval(w.rTrial, w.jac[:n*m], w.trial)
					*evaluations++
				}
				factored = w.factor(&w.next, w.rTrial)
				if !factored {
					ratio = -1
				} else if !accept {
					// So near the minimum the change of the sum of squares may drown
					// in rounding errors; the offset is still exact enough to judge.
					if w.next.offset() >= offset {
						if offset < rounding {
							return RoundingLevel, iterations
						}
						factored = false
					}
				}
			}
			if factored {
				if ratio >= 0.75 || full {
					radius = max(radius, 2*length)
				}
				if ratio < 0.25 && !full {
					radius = length / 2
				}
				w.x, w.trial = w.trial, w.x
				w.r, w.rTrial = w.rTrial, w.r
				w.here, w.next = w.next, w.here
				for j, v := range w.here.norm {
					w.diag[j] = max(w.diag[j], v)
				}
				together = true
				break
			}
			together = false
			if ratio < 0 {
				radius = length / 4
			} else {
				radius = length / 2
			}
		}
	}
}

const (
	// Below this relative offset steps are judged by the offset also: the sum of
	// squares can fall by a 1e-8th part only.
	endgame = 1e-4
	// Below this relative offset a step that helps neither the sum of squares
	// nor the offset means that the minimum is reached: the sum of squares
	// could fall by a 1e-12th part only.
	rounding = 1e-6
)

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
