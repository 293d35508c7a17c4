// Package lsq solves small, dense, nonlinear least-squares problems.
package lsq

// Problem is a vector function whose sum of squares is to be made small.
type Problem interface {
	// Dims returns the number of residuals m and of unknowns n, m >= n.
	Dims() (m, n int)
	// Residuals writes the m residuals at x to dst.
	Residuals(dst, x []float64)
	// Jacobian writes dr_i/dx_j to dst[i*n+j].
	Jacobian(dst, x []float64)
}

// Status says why the solver stopped.
type Status uint8

// Settings steer the solver. The zero value means sensible defaults.
type Settings struct {
	MaxIterations int
	// Tolerances on the relative change of the sum of squares, of the scaled
	// unknowns, and on the cosine between residuals and columns of the Jacobian.
	FTol, XTol, GTol float64
}

// Result is the outcome of Solve. All fields always exist.
type Result struct {
	X           []float64
	SumSquares  float64
	Status      Status
	Iterations  int
	Evaluations int
	Rank        int
	Condition   float64 // of the column-scaled Jacobian
}

// Converged says whether X is a minimum to within the tolerances.
func (r *Result) Converged() bool { panic("not written yet") }

// CovarianceTo writes the inverse of J'J at X to dst (n*n, row-major). It
// returns an error if the Jacobian is rank-deficient.
func (r *Result) CovarianceTo(dst []float64) error { panic("not written yet") }

// Solve minimises the sum of squares of p from x0.
func Solve(p Problem, x0 []float64, s Settings) (*Result, error) {
	panic("not written yet")
}
