package study

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestJointByHand: two groups of two readings, worked out by hand. Between the groups a and b
// have mean squares 25 and 16 and the mean product 20, within 5, 1 and 2 (sums of products over
// degrees of freedom), so the covariance of groups is (20-2)/2 beside variances of (25-5)/2 and (16-1)/2.
func TestJointByHand(t *testing.T) {
	places := []Place{{"", []string{"1"}}, {"", []string{"1"}}, {"", []string{"2"}}, {"", []string{"2"}}}
	d := design(t, []string{"group", "again"}, places)
	a := []float64{1, 3, 5, 9} // about means 2 and 7: -1 1 -2 2
	b := []float64{3, 4, 7, 8} // about means 3.5 and 7.5: -.5 .5 -.5 .5
	j, err := d.Together([][]float64{a, b})
	if err != nil {
		t.Fatal(err)
	}
	// Within: squares 2+8 and .5+.5 on 2, products 1+2 on 2. Between: 25, 16, 20 on 1.
	near(t, "within", j.Correlation[1].At(0, 1), 1.5/math.Sqrt(5*0.5), 1e-12)
	near(t, "variance of a", j.Responses[0].Components[0].Variance, (25-5.)/2, 1e-12)
	// 9.25/sqrt(10 * 7.75) is above 1: cut off, the groups are on one line.
	near(t, "between", j.Correlation[0].At(0, 1), 1, 1e-9)
	near(t, "covariance", j.Covariance(0).At(0, 1), math.Sqrt(10*7.75), 1e-9)
	near(t, "a - b within", j.Spread(1, []float64{1, -1}).Variance, 5+0.5-2*1.5, 1e-12)
}

// TestJointIsSumAndDifference: the moments of products are those of sums and differences, in
// any design, so the correlation agrees with four analyses of one response each.
func TestJointIsSumAndDifference(t *testing.T) {
	levels, places, values := load(t, "bench")
	d := design(t, levels, places)
	a, b := values["fs"], values["qms"]
	plus, minus := make([]float64, len(a)), make([]float64, len(a))
	for i := range a {
		plus[i], minus[i] = a[i]+b[i], a[i]-b[i]
	}
	j, err := d.Together([][]float64{a, b})
	if err != nil {
		t.Fatal(err)
	}
	na, nb, np, nm := analyse(t, d, a), analyse(t, d, b), analyse(t, d, plus), analyse(t, d, minus)
	for k := range levels {
		c := (np.Components[k].Moments - nm.Components[k].Moments) / 4
		want := max(-1, min(1, c/math.Sqrt(na.Components[k].Moments*nb.Components[k].Moments)))
		got := j.Correlation[k].At(0, 1)
		if math.Abs(got-want) > 1e-9 && math.Abs(want) < 1 {
			t.Errorf("%s: correlation %v, want %v", levels[k], got, want)
		}
		if j.Responses[0].Components[k] != na.Components[k] || j.Responses[1].Components[k] != nb.Components[k] {
			t.Errorf("%s: a response depends on what is analysed with it", levels[k])
		}
	}
	// The correlations that the data were made with, see bench.py.
	for k, want := range []float64{-0.3, -0.7, -0.5, 0.2} {
		n := float64(na.Components[k].Freedom)
		if got := j.Correlation[k].At(0, 1); k > 0 && math.Abs(got-want) > 3*(1-want*want)/math.Sqrt(n) {
			t.Errorf("%s: correlation %v, made with %v", levels[k], got, want)
		}
	}
}

// TestJointPrior: a level without data keeps the correlation of the prior, and one with data
// lies between, in proportion to the degrees of freedom.
func TestJointPrior(t *testing.T) {
	prior := JointPrior{mat.NewSymDense(2, []float64{4, -3, -3, 9}), 6}
	places := []Place{{"", []string{"1"}}, {"", []string{"1"}}, {"", []string{"1"}}, {"", []string{"1"}}}
	d := design(t, []string{"session", "again"}, places)
	a, b := []float64{1, 2, 3, 5}, []float64{2, 2.5, 4.5, 5}
	j, err := d.Together([][]float64{a, b}, prior, prior)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "session", j.Correlation[0].At(0, 1), -0.5, 1e-12)
	near(t, "session dof", j.Spread(0, []float64{1, 0}).Dof, 6, 1e-9)
	// Products of deviations from 2.75 and 3.5: sum 7, squares 8.75 and 6.5, 3 degrees of freedom.
	own := 7 / math.Sqrt(8.75*6.5)
	near(t, "again", j.Correlation[1].At(0, 1), (6*-0.5+3*own)/9, 1e-9)
	near(t, "again variance", j.Covariance(1).At(0, 0), (6*4+8.75)/9, 1e-9)
}

// TestJointIsSemidefinite on data with few groups, where moments are not.
func TestJointIsSemidefinite(t *testing.T) {
	r := random(8)
	d := threeLevels(t, uneven[0])
	for range draws(200) {
		var values [][]float64
		for range 3 {
			values = append(values, draw(d, []float64{0.3, 0.3, 1}, r).values)
		}
		j, err := d.Together(values)
		if err != nil {
			t.Fatal(err)
		}
		for k, c := range j.Correlation {
			var e mat.EigenSym
			if !e.Factorize(c, false) || e.Values(nil)[0] < -1e-12 {
				t.Fatalf("level %d: eigenvalues %v", k, e.Values(nil))
			}
			for i := range 3 {
				near(t, "diagonal", c.At(i, i), 1, 0)
			}
		}
	}
}

// TestCoverageOfCombinations: what follows from several responses that scatter together, with a
// usual prior whose correlation is wrong.
func TestCoverageOfCombinations(t *testing.T) {
	r := random(9)
	d := threeLevels(t, even(6, 2, 2))
	prior := func(a, b float64) JointPrior { return JointPrior{mat.NewSymDense(2, []float64{a, 0, 0, b}), 3} }
	const rho = -0.8
	counts := counters(even(6, 2, 2), []float64{rho}, "a+b", "a-b", "2a")
	slopes := [][]float64{{1, 1}, {1, -1}, {2, 0}}
	v := []float64{1, 0.3, 0.05}
	for range draws(1500) {
		a, other := draw(d, v, r).values, draw(d, v, r).values
		b := make([]float64, len(a))
		for i := range b {
			b[i] = rho*a[i] + math.Sqrt(1-rho*rho)*other[i]
		}
		j, err := d.Together([][]float64{a, b}, prior(1, 1), prior(0.3, 0.3), prior(0.05, 0.05))
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range slopes {
			var table []Spread
			var missed float64
			for k := range v {
				table = append(table, j.Spread(k, s))
				x, y := r.NormFloat64(), r.NormFloat64()
				missed += math.Sqrt(2*v[k]) * (s[0]*x + s[1]*(rho*x+math.Sqrt(1-rho*rho)*y))
			}
			one := []int{1, 1, 1}
			counts[i].add(math.Abs(missed) <= CombineJudged(DifferenceTerms(table, one, one, 0)...).HalfWidth(0.95))
		}
	}
	counts[0].within(t, 0.95, 1)    // the prior takes the sum for wider than it is,
	counts[1].within(t, 0.92, 0.95) // and the difference for narrower
	counts[2].within(t, 0.95, 0.97)
}
