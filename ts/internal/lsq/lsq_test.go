package lsq

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// function is a Problem from plain functions.
type function struct {
	m, n int
	eval func(r, jac, x []float64)
}

func (f function) Dims() (m, n int)         { return f.m, f.n }
func (f function) Eval(r, jac, x []float64) { f.eval(r, jac, x) }

// A product of unknowns: the data determine a*b, not a and b.
var product = function{8, 2, func(r, jac, x []float64) {
	for i := range 8 {
		t := float64(i + 1)
		r[i] = x[0]*x[1]*t - 3*t - 0.1*math.Sin(5*t)
		if jac != nil {
			jac[i], jac[8+i] = x[1]*t, x[0]*t
		}
	}
}}

func TestRankDeficient(t *testing.T) {
	res, err := solveAlone(product, []float64{1, 2}, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if res.Status.Early() || res.Rank != 1 || res.Converged() {
		t.Errorf("status %v, rank %d, converged %v; want a met tolerance, rank 1, not converged", res.Status, res.Rank, res.Converged())
	}
	if res.Condition < 1e12 {
		t.Errorf("condition %v", res.Condition)
	}
	if _, err := res.CovarianceTo(nil); !errors.Is(err, ErrRank) {
		t.Errorf("covariance of undetermined unknowns: error %v", err)
	}
	// The determined combination is right: linear regression through the origin.
	var sxy, sxx float64
	for i := range 8 {
		x := float64(i + 1)
		sxy += x * (3*x + 0.1*math.Sin(5*x))
		sxx += x * x
	}
	if got, want := res.X[0]*res.X[1], sxy/sxx; math.Abs(got-want) > 1e-10*want {
		t.Errorf("product %v, want %v", got, want)
	}
}

func TestUnknownWithoutEffect(t *testing.T) {
	p := function{5, 2, func(r, jac, x []float64) {
		for i := range 5 {
			r[i] = x[0] - float64(i)
			if jac != nil {
				jac[i], jac[5+i] = 1, 0
			}
		}
	}}
	res, err := solveAlone(p, []float64{7, 7}, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if res.Rank != 1 || res.Converged() || !math.IsInf(res.Condition, 1) {
		t.Errorf("rank %d, converged %v, condition %v", res.Rank, res.Converged(), res.Condition)
	}
	if math.Abs(res.X[0]-2) > 1e-12 || res.X[1] != 7 {
		t.Errorf("got %v, want the mean 2 and the untouched 7", res.X)
	}
}

func TestRefusals(t *testing.T) {
	few := function{1, 2, func(r, jac, x []float64) { t.Error("evaluated") }}
	if _, err := solveAlone(few, []float64{1, 1}, Settings{}); !errors.Is(err, ErrTooFew) {
		t.Errorf("fewer residuals than unknowns: %v", err)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if _, err := solveAlone(product, []float64{bad, 1}, Settings{}); !errors.Is(err, ErrStart) {
			t.Errorf("start at %v: %v", bad, err)
		}
	}
	deaf := function{2, 1, func(r, jac, x []float64) {
		r[0], r[1] = 1, 1
		if jac != nil {
			jac[0], jac[1] = 1, 0
		}
	}}
	if _, err := solveAlone(deaf, []float64{math.Inf(1)}, Settings{}); !errors.Is(err, ErrStart) {
		t.Errorf("infinite start with finite residuals: %v", err)
	}
	edge := function{2, 1, func(r, jac, x []float64) {
		r[0], r[1] = math.Log(x[0]), 1
		if jac != nil {
			jac[0], jac[1] = 1/x[0], 0
		}
	}}
	if _, err := solveAlone(edge, []float64{-1}, Settings{}); !errors.Is(err, ErrStart) {
		t.Errorf("residuals not finite at the start: %v", err)
	}
	slope := function{2, 1, func(r, jac, x []float64) {
		r[0], r[1] = math.Sqrt(x[0]), 1
		if jac != nil {
			jac[0], jac[1] = 0.5/math.Sqrt(x[0]), 0
		}
	}}
	if _, err := solveAlone(slope, []float64{0}, Settings{}); !errors.Is(err, ErrStart) {
		t.Errorf("Jacobian not finite at the start: %v", err)
	}
}

func TestPanics(t *testing.T) {
	check := func(name string, f func()) {
		defer func() {
			if s, _ := recover().(string); !strings.HasPrefix(s, "lsq: ") {
				t.Errorf("%s: panic %q", name, s)
			}
		}()
		f()
	}
	check("wrong start", func() { solveAlone(product, []float64{1}, Settings{}) })
	check("wrong covariance", func() { new(Result).CovarianceTo(make([]float64, 3)) })
}

// A step into a region where the function does not exist is shortened.
func TestNonFiniteStep(t *testing.T) {
	rejected := 0
	p := function{3, 1, func(r, jac, x []float64) {
		if x[0] <= 0 {
			rejected++
		}
		l := math.Log(x[0])
		for i, y := range []float64{-7, -6.5, -8} {
			r[i] = l - y
			if jac != nil {
				jac[i] = 1 / x[0]
			}
		}
	}}
	// From x = 1 the full step is -7: into the negative.
	res, err := solveAlone(p, []float64{1}, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if rejected == 0 {
		t.Error("the test did not reach the region it is about")
	}
	if want := math.Exp(-21.5 / 3); !res.Converged() || math.Abs(res.X[0]-want) > 1e-9*want {
		t.Errorf("got %v (%v), want %v", res.X, res.Status, want)
	}
}

// A perfect fit has no residual to measure the offset by.
func TestVanishingResiduals(t *testing.T) {
	p := function{20, 2, func(r, jac, x []float64) {
		for i := range 20 {
			s := float64(i) / 4
			e := math.Exp(-x[1] * s)
			r[i] = x[0]*e - 3*math.Exp(-0.7*s)
			if jac != nil {
				jac[i], jac[20+i] = e, -s*x[0]*e
			}
		}
	}}
	res, err := solveAlone(p, []float64{1, 1}, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if !res.Converged() || math.Abs(res.X[0]-3) > 1e-13 || math.Abs(res.X[1]-0.7) > 1e-13 {
		t.Errorf("got %v (%v)", res.X, res.Status)
	}
	// As many residuals as unknowns.
	square := function{2, 2, func(r, jac, x []float64) {
		r[0], r[1] = x[0]*x[0]+x[1]-3, x[0]-x[1]+1
		if jac != nil {
			copy(jac, []float64{2 * x[0], 1, 1, -1})
		}
	}}
	res, err = solveAlone(square, []float64{3, 3}, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if !res.Converged() || math.Abs(res.X[0]-1) > 1e-13 || math.Abs(res.X[1]-2) > 1e-13 {
		t.Errorf("got %v (%v), want 1, 2", res.X, res.Status)
	}
}

// A linear problem: the full step is exact, and the covariance is known. Simple
// regression on t = -2..2: var(intercept) = 1/5, var(slope) = 1/10, and on
// t = 0..4 also cov = -1/5, var(intercept) = 3/5 (any statistics textbook).
func TestLinear(t *testing.T) {
	line := func(first float64) function {
		return function{5, 2, func(r, jac, x []float64) {
			for i := range 5 {
				s := first + float64(i)
				r[i] = x[0] + x[1]*s - s*s
				if jac != nil {
					jac[i], jac[5+i] = 1, s
				}
			}
		}}
	}
	for _, c := range []struct {
		first float64
		cov   []float64
		x     []float64
	}{
		{-2, []float64{0.2, 0, 0, 0.1}, []float64{2, 0}},
		{0, []float64{0.6, -0.2, -0.2, 0.1}, []float64{-2, 4}},
	} {
		res, err := solveAlone(line(c.first), []float64{100, -100}, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		cov, err := res.CovarianceTo(nil)
		if err != nil {
			t.Fatal(err)
		}
		for k := range cov {
			if math.Abs(cov[k]-c.cov[k]) > 1e-14 {
				t.Errorf("covariance %v, want %v", cov, c.cov)
				break
			}
		}
		for k := range c.x {
			if math.Abs(res.X[k]-c.x[k]) > 1e-12 {
				t.Errorf("got %v, want %v", res.X, c.x)
				break
			}
		}
		// Two columns at the angle of cos = c: each standard error grows by 1/sin.
		// On t = -2..2 c = 0; on t = 0..4 c = 10/sqrt(5*30).
		c2 := c.cov[1] * c.cov[1] / (c.cov[0] * c.cov[3])
		if want := 1 / math.Sqrt(1-c2); math.Abs(res.Condition-want) > 1e-13*want || res.Rank != 2 {
			t.Errorf("condition %v, want %v; rank %d", res.Condition, want, res.Rank)
		}
		if math.Abs(res.SumSquares-14) > 1e-11 {
			t.Errorf("sum of squares %v, want 14", res.SumSquares)
		}
	}
}

// The scale of an unknown does not change the path: units that differ by
// powers of two give the same bits.
func TestScaleInvariant(t *testing.T) {
	p := readNIST(t, "Thurber")
	scale := []float64{1, 1 << 10, 1.0 / (1 << 20), 1 << 30, 4, 1.0 / 8, 1}
	scaled := function{len(p.y), p.n, func(r, jac, x []float64) {
		b := make([]float64, p.n)
		for j := range b {
			b[j] = x[j] * scale[j]
		}
		p.Eval(r, jac, b)
		for k := range jac {
			jac[k] *= scale[k/len(p.y)]
		}
	}}
	x0 := make([]float64, p.n)
	for j := range x0 {
		x0[j] = p.start[1][j] / scale[j]
	}
	a, err := solveAlone(p, p.start[1], Settings{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := solveAlone(scaled, x0, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	for j := range a.X {
		if d := digits(b.X[j]*scale[j], a.X[j]); d < 9 {
			t.Errorf("unknown %d: %v and %v", j, a.X[j], b.X[j]*scale[j])
		}
	}
	if a.Evaluations != b.Evaluations {
		t.Errorf("%d and %d evaluations", a.Evaluations, b.Evaluations)
	}
}

func TestRerunIsBitIdentical(t *testing.T) {
	var w Solver
	for _, name := range []string{"Gauss3", "MGH09", "Gauss3", "Thurber"} {
		p := readNIST(t, name)
		var first, second Result
		for k := range 2 {
			if err := w.Solve(&first, p, p.start[k], Settings{}); err != nil {
				t.Fatal(err)
			}
			// In between other problems have used the same workspace.
			if err := w.Solve(&second, product, []float64{1, 2}, Settings{}); err != nil {
				t.Fatal(err)
			}
			fresh, err := solveAlone(p, p.start[k], Settings{})
			if err != nil {
				t.Fatal(err)
			}
			for j := range first.X {
				if math.Float64bits(first.X[j]) != math.Float64bits(fresh.X[j]) {
					t.Errorf("%s: %v, then %v", name, first.X, fresh.X)
					break
				}
			}
			if first.SumSquares != fresh.SumSquares || first.Evaluations != fresh.Evaluations || first.Condition != fresh.Condition {
				t.Errorf("%s: %+v, then %+v", name, first, *fresh)
			}
		}
	}
}

func TestNoAllocation(t *testing.T) {
	var w Solver
	var res Result
	for _, name := range []string{"Gauss3", "MGH09"} {
		p := readNIST(t, name)
		cov := make([]float64, p.n*p.n)
		n := testing.AllocsPerRun(10, func() {
			if err := w.Solve(&res, p, p.start[0], Settings{}); err != nil {
				t.Fatal(err)
			}
			if _, err := res.CovarianceTo(cov); err != nil {
				t.Fatal(err)
			}
		})
		if n != 0 {
			t.Errorf("%s: %v allocations a solution", name, n)
		}
	}
}

func TestStatus(t *testing.T) {
	p := readNIST(t, "Gauss3")
	res, err := solveAlone(p, p.start[0], Settings{MaxEvaluations: 3})
	if err != nil {
		t.Fatal(err)
	}
	if res.Status != EvaluationLimit || res.Evaluations != 3 || !res.Status.Early() || res.Converged() {
		t.Errorf("after 3 evaluations: %v, %d evaluations, converged %v", res.Status, res.Evaluations, res.Converged())
	}
	res, err = solveAlone(p, p.start[0], Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if res.Status.Early() || !res.Converged() {
		t.Errorf("%v, converged %v", res.Status, res.Converged())
	}
	var none Result
	if none.Converged() || !none.Status.Early() {
		t.Error("a result that was never computed counts as converged")
	}
	// A Jacobian with the wrong sign points uphill: no step helps.
	wrong := function{p.m(), p.n, func(r, jac, x []float64) {
		p.Eval(r, jac, x)
		for k := range jac {
			jac[k] = -jac[k]
		}
	}}
	res, err = solveAlone(wrong, p.start[0], Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if res.Status != Stalled || res.Converged() {
		t.Errorf("uphill: %v, converged %v", res.Status, res.Converged())
	}
}

// Residuals that are small differences of large numbers cannot be brought to a
// small offset; the minimum must be recognised all the same.
func TestRoundingLevel(t *testing.T) {
	const large = 1e8
	p := function{30, 2, func(r, jac, x []float64) {
		for i := range 30 {
			s := float64(i) / 10
			e := math.Exp(-x[1] * s)
			r[i] = (large + x[0]*e) - (large + 2*math.Exp(-s) + math.Sin(9*s))
			if jac != nil {
				jac[i], jac[30+i] = e, -s*x[0]*e
			}
		}
	}}
	res, err := solveAlone(p, []float64{1, 2}, Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if res.Status != RoundingLevel || !res.Converged() {
		t.Errorf("%v, offset %v", res.Status, res.Offset)
	}
	if res.Offset > 1e-6 {
		t.Errorf("offset %v", res.Offset)
	}
}

func (p *regression) m() int { return len(p.y) }

// Each fault that CheckJacobian is for must be found.
func TestCheckJacobianFindsFaults(t *testing.T) {
	p := readNIST(t, "ENSO")
	m := len(p.y)
	for name, spoil := range map[string]func(r, jac, x []float64){
		"one element off by 1e-5":        func(r, jac, x []float64) { jac[4*m+17] += 1e-5 },
		"column with the wrong sign":     func(r, jac, x []float64) { negate(jac[3*m : 4*m]) },
		"two columns swapped":            func(r, jac, x []float64) { swap(jac[4*m:5*m], jac[5*m:6*m]) },
		"element not written":            func(r, jac, x []float64) { jac[8*m+1] = math.NaN() },
		"residuals disturbed":            func(r, jac, x []float64) { r[3] += 1e-12 },
		"x changed":                      func(r, jac, x []float64) { x[2] = 0 },
		"column of the other convention": func(r, jac, x []float64) { jac[m] = jac[1] },
	} {
		bad := function{m, p.n, func(r, jac, x []float64) {
			p.Eval(r, jac, x)
			if jac != nil {
				spoil(r, jac, x)
			}
		}}
		if err := checkJacobian(bad, p.start[1], 1e-7); err == nil {
			t.Errorf("%s: not found", name)
		}
	}
}

func negate(v []float64) {
	for i := range v {
		v[i] = -v[i]
	}
}

func swap(a, b []float64) {
	for i := range a {
		a[i], b[i] = b[i], a[i]
	}
}

// The covariance predicts the scatter of the solutions: 400 noisy lines of a
// decay with known noise. The mean of the squared pulls is chi-squared with
// 400 degrees of freedom, over 400: 1 +/- 0.07, here 4 of those.
func TestCovarianceAgainstScatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	const m, sigma = 60, 0.02
	noise := make([]float64, m)
	p := function{m, 2, func(r, jac, x []float64) {
		for i := range m {
			s := float64(i) / 20
			e := math.Exp(-x[1] * s)
			r[i] = (x[0]*e - math.Exp(-s) - noise[i]) / sigma
			if jac != nil {
				jac[i], jac[m+i] = e/sigma, -s*x[0]*e/sigma
			}
		}
	}}
	var pulls [2]float64
	const runs = 400
	for range runs {
		for i := range noise {
			noise[i] = sigma * rng.NormFloat64()
		}
		res, err := solveAlone(p, []float64{2, 0.5}, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		cov, err := res.CovarianceTo(nil)
		if err != nil {
			t.Fatal(err)
		}
		for j := range pulls {
			pulls[j] += (res.X[j] - 1) * (res.X[j] - 1) / cov[j*2+j] / runs
		}
	}
	for j, v := range pulls {
		if math.Abs(v-1) > 4*math.Sqrt(2.0/runs) {
			t.Errorf("unknown %d: mean squared pull %v, want 1", j, v)
		}
	}
}

func BenchmarkSolve(b *testing.B) {
	for _, name := range []string{"Gauss1", "ENSO", "Thurber"} {
		b.Run("problem="+name, func(b *testing.B) {
			p := readNIST(b, name)
			var w Solver
			var res Result
			b.ReportAllocs()
			for b.Loop() {
				if err := w.Solve(&res, p, p.start[1], Settings{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
