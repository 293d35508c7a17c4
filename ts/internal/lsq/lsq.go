// Package lsq solves small, dense, nonlinear least-squares problems: from a few
// to a few thousand residuals and up to a few dozen unknowns.
//
// The method is Levenberg-Marquardt in its trust-region form with scaled
// unknowns. Source: J. J. More, "The Levenberg-Marquardt algorithm:
// implementation and theory", Lecture Notes in Mathematics 630, Springer 1978
// (from memory). All linear algebra works on an orthogonal factorisation of
// the Jacobian; the normal equations, which square the condition, are never
// formed.
//
// Four questions have four separate answers: why the solver stopped (Status),
// whether the point is a minimum (Converged), whether the data determine every
// unknown (Rank, Condition), and how sure the unknowns are (CovarianceTo).
package lsq

import (
	"errors"
	"fmt"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// Problem is a vector function r(x) whose sum of squares is to be made small.
type Problem interface {
	// Dims returns the number of residuals m and of unknowns n.
	Dims() (m, n int)
	// Eval writes the m residuals at x to r. Unless jac is nil it also writes
	// the Jacobian, column by column: dr_i/dx_j goes to jac[j*m+i]. It must not
	// change or keep x. A point where the function does not exist is told by
	// NaN or Inf; the solver then tries a shorter step.
	Eval(r, jac, x []float64)
}

// Settings steer the solver. A zero field means its default.
type Settings struct {
	// MaxEvaluations limits the calls of Problem.Eval (one more may follow for
	// the Jacobian of the last point). Default 1000.
	MaxEvaluations int
	// OffsetTol is the relative offset at which a point counts as the minimum:
	// the length of the part of the residual vector that a linear step could
	// remove, over the length of the rest. It does not depend on the scale of
	// residuals or unknowns: at 1e-3 the remaining step is about a thousandth of
	// a standard error. Default 1e-10. Source: D. M. Bates, D. G. Watts,
	// "A relative offset orthogonality convergence criterion for nonlinear
	// least squares", Technometrics 23, 1981 (from memory).
	OffsetTol float64
	// Radius is the length of the longest first step, relative to that of x and
	// both in scaled unknowns. Default 1.
	Radius float64
	// Keep asks for the Jacobian of the Result.
	Keep bool
}

func (s Settings) withDefaults() Settings {
	if s.MaxEvaluations == 0 {
		s.MaxEvaluations = 1000
	}
	if s.OffsetTol == 0 {
		s.OffsetTol = 1e-10
	}
	if s.Radius == 0 {
		s.Radius = 1
	}
	return s
}

// Status says why the solver stopped.
type Status uint8

const (
	NotRun          Status = iota
	SmallOffset            // the relative offset fell below OffsetTol
	RoundingLevel          // the sum of squares cannot fall any further but by rounding errors
	EvaluationLimit        // MaxEvaluations were used up
	Stalled                // no step, however short, lowers the sum of squares
)

// String returns the reason in words.
func (s Status) String() string {
	switch s {
	case NotRun:
		return "not run"
	case SmallOffset:
		return "offset below its tolerance"
	case RoundingLevel:
		return "minimum to within rounding errors"
	case EvaluationLimit:
		return "too many evaluations"
	case Stalled:
		return "no further progress"
	}
	return fmt.Sprintf("Status(%d)", uint8(s))
}

// Early reports whether the solver stopped before a tolerance was met.
func (s Status) Early() bool {
	return s != SmallOffset && s != RoundingLevel
}

// ErrTooFew is returned when there are fewer residuals than unknowns.
var ErrTooFew = errors.New("fewer residuals than unknowns")

// ErrStart is returned when the start is not finite, or the residuals or their
// Jacobian are not finite there.
var ErrStart = errors.New("the start is not a point where the residuals are finite")

// ErrRank is returned where a covariance is asked for and the data do not
// determine every unknown.
var ErrRank = errors.New("the data do not determine every unknown")

// Result is the outcome of a solution. All fields always exist.
type Result struct {
	X           []float64 // the unknowns
	SumSquares  float64   // at X
	Status      Status
	Offset      float64 // relative offset at X, see Settings
	Iterations  int     // steps taken
	Evaluations int     // calls of Problem.Eval
	// Rank is the number of combinations of unknowns that the residuals
	// determine at X, found from the singular values of the Jacobian with its
	// columns scaled to length one. An unknown that has lost its influence on the
	// way, to the rounding level of what it was, does not count.
	Rank int
	// Condition tells how far the unknowns can be told apart: the factor by which
	// their dependence widens the standard errors, as root mean square. It is
	// the condition of the Jacobian with columns of length one in Frobenius norms,
	// |J| |inv(J)|, over n: 1 for independent unknowns, Inf without full rank.
	Condition float64
	// Jacobian is that at X, as Problem.Eval wrote it; nil unless Settings.Keep is set.
	Jacobian []float64

	factor []float64 // n*n upper triangular R with J = QR at X
}

// Converged reports whether X is a minimum to within the tolerances that stands
// alone: a tolerance was met and the residuals determine every unknown. It may
// be a local minimum; only other starts can tell.
func (r *Result) Converged() bool {
	return !r.Status.Early() && r.Rank == len(r.X)
}

// Scaled returns the result for all residuals times by, which have the same minimum. It keeps no Jacobian.
func (r Result) Scaled(by float64) Result {
	r.SumSquares *= by * by
	r.Jacobian = nil
	r.factor = slices.Clone(r.factor)
	for i := range r.factor {
		r.factor[i] *= by
	}
	return r
}

// Factor returns the triangular factor R of J = QR at X (n*n, row by row, zeros
// below the diagonal), so that J'J = R'R. It must not be changed.
func (r *Result) Factor() []float64 { return r.factor }

// CovarianceTo writes the inverse of J'J at X to dst (n*n, row by row) and
// returns dst; nil allocates. For residuals that were divided by their standard
// deviations this is the covariance of the unknowns; otherwise it is to be
// multiplied by the variance of the residuals. It is formed from the
// triangular factor of J as inv(R) inv(R)'. The error is ErrRank if Rank < n.
// It panics if dst has the wrong length.
func (r *Result) CovarianceTo(dst []float64) ([]float64, error) {
	n := len(r.X)
	if dst == nil {
		dst = make([]float64, n*n)
	}
	if len(dst) != n*n {
		panic("lsq: wrong length of the covariance")
	}
	if r.Status == NotRun || r.Rank < n {
		return nil, ErrRank
	}
	copy(dst, r.factor)
	if !lapack64.Trtri(upper(dst, n)) {
		return nil, ErrRank
	}
	// The product may overwrite its factor from the top left: element (i, j),
	// j >= i, needs only columns from j on of the rows i and j.
	for i := range n {
		for j := i; j < n; j++ {
			var s float64
			for k := j; k < n; k++ {
				s += dst[i*n+k] * dst[j*n+k]
			}
			dst[i*n+j] = s
		}
	}
	for i := range n {
		for j := range i {
			dst[i*n+j] = dst[j*n+i]
		}
	}
	return dst, nil
}

const eps = 0x1p-52

func finite(v []float64) bool {
	for _, x := range v {
		// x-x is zero for finite x, NaN otherwise.
		if x-x != 0 {
			return false
		}
	}
	return true
}

func norm(v []float64) float64 {
	return blas64.Nrm2(blas64.Vector{N: len(v), Inc: 1, Data: v})
}

// grown returns a slice of length n, v itself if it is long enough, otherwise one
// with room for somewhat larger problems.
func grown(v []float64, n int) []float64 {
	if cap(v) < n {
		return make([]float64, n, n+n/2)
	}
	return v[:n]
}
