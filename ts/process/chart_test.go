package process

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	gonum "gonum.org/v1/gonum/stat"

	"conewright/ts/internal/stat"
)

// TestConstants: recomputed with scipy. Two printed tables with three decimals (after AIAG) agree, but for
// D4(3) and D4(5), where they differ from each other.
func TestConstants(t *testing.T) {
	for _, c := range []struct {
		n                                   int
		d2, d3, c4, a2, a3, d3x, d4, b3, b4 float64
	}{
		{2, 1.12838, 0.85250, 0.797885, 1.87997, 2.65868, 0, 3.26653, 0, 3.26653},
		{3, 1.69257, 0.88837, 0.886227, 1.02333, 1.95441, 0, 2.57459, 0, 2.56817},
		{4, 2.05875, 0.87981, 0.921318, 0.72860, 1.62810, 0, 2.28205, 0, 2.26605},
		{5, 2.32593, 0.86408, 0.939986, 0.57682, 1.42730, 0, 2.11450, 0, 2.08900},
		{6, 2.53441, 0.84804, 0.951533, 0.48325, 1.28713, 0, 2.00383, 0.03036, 1.96964},
		{7, 2.70436, 0.83321, 0.959369, 0.41928, 1.18192, 0.07571, 1.92429, 0.11769, 1.88231},
		{8, 2.84720, 0.81983, 0.965030, 0.37253, 1.09910, 0.13617, 1.86383, 0.18509, 1.81491},
		{9, 2.97003, 0.80783, 0.969311, 0.33670, 1.03166, 0.18401, 1.81599, 0.23913, 1.76087},
		{10, 3.07751, 0.79705, 0.972659, 0.30826, 0.97535, 0.22302, 1.77698, 0.28371, 1.71629},
	} {
		got, err := constantsFor(c.n)
		if err != nil {
			t.Fatal(err)
		}
		root := math.Sqrt(float64(c.n))
		for i, pair := range [][2]float64{{got.d2, c.d2}, {got.d3, c.d3}, {3 / (got.d2 * root), c.a2}, {3 / (got.c4 * root), c.a3},
			{got.rangeLo, c.d3x}, {got.rangeHi, c.d4}, {got.stdLo, c.b3}, {got.stdHi, c.b4}} {
			printed(t, fmt.Sprint("constant ", i, " of ", c.n), pair[0], pair[1], 5)
		}
		printed(t, "c4", got.c4, c.c4, 6)
	}
	for _, n := range []int{-1, 0, 1, mostInGroup + 1} {
		_, err := constantsFor(n)
		refused(t, fmt.Sprint(n), err, "process-group-size")
	}
}

// TestPistonRings: example A, luca-scr/qcc (docs/articles/qcc.html), whose d2 is rounded to 2.326; twelve-digit
// values recomputed with exact constants.
func TestPistonRings(t *testing.T) {
	groups := load(t, "pistonrings")
	r, err := MeansAndRanges(groups)
	if err != nil {
		t.Fatal(err)
	}
	printed(t, "centre", r.Location.Centre, 74.00118, 5)
	printed(t, "mean range", r.Scatter.Centre, 0.02276, 5)
	near(t, "sigma", r.Within.Std(), 0.009785338, 1e-6)
	near(t, "sigma with the rounded d2", r.Scatter.Centre/2.326, 0.009785039, 1e-7)
	near(t, "low", r.Location.Lo, 73.988048, 1e-8)
	near(t, "high", r.Location.Hi, 74.014304, 1e-8)
	printed(t, "high", r.Location.Hi, 74.0143, 4)
	near(t, "range high", r.Scatter.Hi, 0.048126001, 1e-7)
	near(t, "dof", r.Within.Dof, 0.9*25*4, 0.02) // the usual rule of thumb

	s, err := MeansAndStds(groups)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean deviation", s.Scatter.Centre, 0.009240037, 1e-7)
	near(t, "sigma", s.Within.Std(), 0.009829977, 1e-6)
	printed(t, "deviation high", s.Scatter.Hi, 0.01930242, 7)
}

// TestViscosity: example B of the same source; recomputed with exact d2, where 1.128 is printed.
func TestViscosity(t *testing.T) {
	values := load(t, "viscosity")[0]
	c, err := Individuals(values)
	if err != nil {
		t.Fatal(err)
	}
	printed(t, "centre", c.Location.Centre, 34.088, 3)
	near(t, "sigma with the rounded d2", c.Scatter.Centre/1.128, 0.5076521, 1e-7)
	near(t, "sigma", c.Within.Std(), 0.507481524, 1e-8)
	near(t, "low", c.Location.Lo, 32.565555, 1e-7)
	near(t, "high", c.Location.Hi, 35.610445, 1e-7)
	near(t, "s/c4", gonum.StdDev(values, nil)/stat.C4(19), 0.5769854, 1e-7)
	if got := c.Location.Signals(c.Location.Points); !slices.Contains(got, Signal{BeyondLimit, 3}) {
		t.Errorf("point 4 is outside, and got %v", got)
	}
}

// TestFlowRate: example C, NIST/SEMATECH e-Handbook 6.3.2.2: data from memory, limits 55.8041 and
// 45.8159 with d2 = 1.128 quoted at second hand; those with exact d2 recomputed.
func TestFlowRate(t *testing.T) {
	c, err := Individuals([]float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1})
	if err != nil {
		t.Fatal(err)
	}
	printed(t, "centre", c.Location.Centre, 50.81, 2)
	printed(t, "mean of moving ranges", c.Scatter.Centre, 1.877778, 6)
	printed(t, "high", 50.81+3*c.Scatter.Centre/1.128, 55.8041, 4)
	near(t, "high", c.Location.Hi, 55.802412, 1e-8)
	near(t, "low", c.Location.Lo, 45.817588, 1e-8)
	near(t, "moving range high", c.Scatter.Hi, 3.266532*c.Scatter.Centre, 1e-6)
}

// TestRunRules: sequences with printed signals, luca-scr/qcc (tests/testthat/test-rules.R), which counts
// from 1.
func TestRunRules(t *testing.T) {
	repeat := func(x float64, n int, more ...float64) []float64 {
		return append(slices.Repeat([]float64{x}, n), more...)
	}
	for _, c := range []struct {
		points []float64
		rule   Rule
		want   []int
	}{
		{[]float64{0, 3.2, -3.5, 2.9}, BeyondLimit, []int{2, 3}},
		{[]float64{0, 2.5, 1, 2.6, 0}, TwoOfThree, []int{4}},
		{[]float64{0, 1.2, 1.3, 0.2, 1.4, 1.5}, FourOfFive, []int{6}},
		{repeat(-1, 8, 1), EightInARow, []int{8}},
		{repeat(2.5, 7, 3.2), BeyondLimit, []int{8}},
		{repeat(2.5, 7, 3.2), TwoOfThree, []int{3, 4, 5, 6, 7, 8}},
		{repeat(2.5, 7, 3.2), FourOfFive, []int{5, 6, 7, 8}},
		{repeat(2.5, 7, 3.2), EightInARow, []int{8}},
		{[]float64{3, 3, 3}, BeyondLimit, nil}, // on the limit is not beyond
		{[]float64{2, 2, -2, -2, 2}, TwoOfThree, nil},
		{[]float64{2.5, -2.5, 0}, TwoOfThree, nil}, // not on one side
	} {
		var got []int
		for _, s := range (Chart{Lo: -3, Hi: 3, Std: 1}).Signals(c.points) {
			if s.Rule == c.rule {
				got = append(got, s.Point+1)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("rule %d on %v: %v, want %v", c.rule, c.points, got, c.want)
		}
	}
	if got := (Chart{Lo: 0, Hi: 3}).Signals(repeat(2.9, 9, 3.1)); len(got) != 1 {
		t.Errorf("a chart of scatter has the first rule only, got %v", got)
	}
}

// TestRunLength: with all four rules a steady process signals every 91.75 points on average (printed by
// a public page on these rules), 91.2 +- 0.6 in a simulation outside this program.
func TestRunLength(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 20261127))
	c := Chart{Lo: -3, Hi: 3, Std: 1}
	runs := 2000
	if testing.Short() {
		runs = 400
	}
	var sum, squares float64
	for range runs {
		var points []float64
		for n := 1.; ; n++ {
			points = append(points, r.NormFloat64())
			// Only what ends at the last point is new.
			recent := points[max(0, len(points)-8):]
			if s := c.Signals(recent); len(s) > 0 && s[len(s)-1].Point == len(recent)-1 {
				sum += n
				squares += n * n
				break
			}
		}
	}
	mean := sum / float64(runs)
	err := math.Sqrt((squares/float64(runs) - mean*mean) / float64(runs))
	t.Logf("%.1f +- %.1f", mean, err)
	if math.Abs(mean-91.75) > 3*err {
		t.Errorf("a signal every %.1f +- %.1f points", mean, err)
	}
}

// TestPrediction: t(0.975, n-1) sqrt(1 + 1/n), recomputed with scipy.
func TestPrediction(t *testing.T) {
	for n, want := range map[int]float64{5: 3.04144, 6: 2.77655, 10: 2.37257, 20: 2.14471, 30: 2.07904} {
		values := make([]float64, n)
		for i := range values {
			values[i] = float64(i * i % 7)
		}
		c, err := Prediction(values, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		printed(t, fmt.Sprint(n), (c.Hi-c.Centre)/gonum.StdDev(values, nil), want, 5)
	}
}

// TestDegreesOfFreedom: the mean range scatters as a standard deviation on as many degrees of
// freedom, by simulation.
func TestDegreesOfFreedom(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 20261127))
	draw := func(n int) (out []float64) {
		for range n {
			out = append(out, r.NormFloat64())
		}
		return out
	}
	groups := func(k, n int) (out [][]float64) {
		for range k {
			out = append(out, draw(n))
		}
		return out
	}
	moving := func(n int) float64 {
		x, sum := draw(n), 0.
		for i := range n - 1 {
			sum += math.Abs(x[i+1] - x[i])
		}
		return sum
	}
	for name, c := range map[string]struct {
		charts func() (Charts, error)
		mean   func() float64 // in any unit
	}{
		"12 individuals": {func() (Charts, error) { return Individuals(draw(12)) }, func() float64 { return moving(12) }},
		"40 individuals": {func() (Charts, error) { return Individuals(draw(40)) }, func() float64 { return moving(40) }},
		"8 ranges": {func() (Charts, error) { return MeansAndRanges(groups(8, 4)) }, func() (sum float64) {
			for _, g := range groups(8, 4) {
				sum += slices.Max(g) - slices.Min(g)
			}
			return sum
		}},
		"8 deviations": {func() (Charts, error) { return MeansAndStds(groups(8, 4)) }, func() (sum float64) {
			for _, g := range groups(8, 4) {
				sum += gonum.StdDev(g, nil)
			}
			return sum
		}},
	} {
		charts, err := c.charts()
		if err != nil {
			t.Fatal(err)
		}
		var means []float64
		for range 20000 {
			means = append(means, c.mean())
		}
		m, v := gonum.MeanVariance(means, nil)
		c4 := stat.C4(charts.Within.Dof)
		near(t, name, v/(m*m), 1/(c4*c4)-1, 0.03)
	}
}

func TestChartsRefuse(t *testing.T) {
	nan := math.NaN()
	_, err := Individuals([]float64{1, 2})
	refused(t, "two values", err, "process-too-few")
	_, err = Individuals([]float64{1, 2, nan})
	refused(t, "not a number", err, "process-not-finite")
	_, err = Individuals([]float64{2, 2, 2})
	refused(t, "all equal", err, "process-no-scatter")
	for _, make := range []func([][]float64) (Charts, error){MeansAndRanges, MeansAndStds} {
		_, err = make(nil)
		refused(t, "nothing", err, "process-too-few")
		_, err = make([][]float64{{1, 2}})
		refused(t, "one group", err, "process-too-few")
		_, err = make([][]float64{{1}, {2}})
		refused(t, "groups of one", err, "process-too-few")
		_, err = make([][]float64{{1, 2}, {1, 2, 3}})
		refused(t, "unequal groups", err, "process-groups-differ")
		_, err = make([][]float64{{1, 1}, {2, 2}})
		refused(t, "no scatter within", err, "process-no-scatter")
		_, err = make([][]float64{{1, 2}, {nan, 2}})
		refused(t, "not a number", err, "process-not-finite")
	}
	_, err = Prediction([]float64{1}, 0.95)
	refused(t, "one value", err, "process-too-few")
	_, err = Prediction([]float64{1, 1}, 0.95)
	refused(t, "equal values", err, "process-no-scatter")
	_, err = Prediction([]float64{1, 2}, 95)
	refused(t, "95 for a confidence", err, "process-probability")
}
