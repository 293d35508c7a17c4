package process

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"conewright/ts/study"
)

func factor(t *testing.T, f func(n, dof, share, confidence float64) (float64, error), n, dof, share, confidence float64) float64 {
	t.Helper()
	k, err := f(n, dof, share, confidence)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// TestToleranceFactors: confidence 95 %, recomputed with scipy, five decimals.
func TestToleranceFactors(t *testing.T) {
	for _, c := range []struct {
		n                                                              float64
		one95, howe95, exact95, one99, howe99, exact99, exact90, one90 float64
	}{
		{5, 4.20268, 5.09353, 5.07687, 5.74108, 6.69403, 6.59798, 4.29060, 3.40663},
		{6, 3.70768, 4.42296, 4.42215, 5.06199, 5.81276, 5.75775, 3.73257, 3.00626},
		{10, 2.91096, 3.38191, 3.39343, 3.98112, 4.44459, 4.43691, 2.85631, 2.35464},
		{20, 2.39600, 2.75228, 2.76035, 3.29516, 3.61712, 3.62099, 2.31879, 1.92599},
		{30, 2.21984, 2.54964, 2.55489, 3.06390, 3.35079, 3.35458, 2.14511, 1.77733},
	} {
		for i, x := range []struct {
			f     func(n, dof, share, confidence float64) (float64, error)
			share float64
			want  float64
		}{
			{OneSidedFactor, 0.95, c.one95}, {HoweFactor, 0.95, c.howe95}, {TwoSidedFactor, 0.95, c.exact95},
			{OneSidedFactor, 0.99, c.one99}, {HoweFactor, 0.99, c.howe99}, {TwoSidedFactor, 0.99, c.exact99},
			{TwoSidedFactor, 0.90, c.exact90}, {OneSidedFactor, 0.90, c.one90},
		} {
			printed(t, fmt.Sprint(c.n, " units, column ", i), factor(t, x.f, c.n, c.n-1, x.share, 0.95), x.want, 5)
		}
	}
}

// TestPrintedTolerances: Meeker, Hahn and Escobar J.5b, ISO 16269-6 annex F (rounded up), both as in the
// tests of cjekel/tolerance_interval_py; Montgomery and Runger table XII; NIST/SEMATECH e-Handbook
// 7.2.6.3 for Howe. Pooled degrees of freedom recomputed with scipy.
func TestPrintedTolerances(t *testing.T) {
	sizes := []float64{5, 6, 10, 20, 30}
	for share, want := range map[float64][]float64{
		0.95: {5.077, 4.422, 3.393, 2.760, 2.555},
		0.99: {6.598, 5.758, 4.437, 3.621, 3.355},
		0.90: {4.291, 3.733, 2.856, 2.319, 2.145},
	} {
		for i, n := range sizes {
			printed(t, fmt.Sprint("two-sided ", n), factor(t, TwoSidedFactor, n, n-1, share, 0.95), want[i], 3)
		}
	}
	for share, want := range map[float64][]float64{
		0.90: {3.407, 3.006, 2.355, 1.926, 1.777},
		0.95: {4.203, 3.708, 2.911, 2.396, 2.220},
		0.99: {5.741, 5.062, 3.981, 3.295, 3.064},
	} {
		for i, n := range sizes {
			printed(t, fmt.Sprint("one-sided ", n), factor(t, OneSidedFactor, n, n-1, share, 0.95), want[i], 3)
		}
	}
	for _, c := range []struct{ n, share, confidence, want float64 }{
		{5, 0.95, 0.95, 5.0769}, {10, 0.95, 0.95, 3.3935}, {26, 0.95, 0.95, 2.6188}, {35, 0.90, 0.90, 1.9906},
	} {
		k := factor(t, TwoSidedFactor, c.n, c.n-1, c.share, c.confidence)
		if up := math.Ceil(k*1e4) / 1e4; math.Abs(up-c.want) > 1e-9 {
			t.Errorf("%v units: %v, printed %v rounded up", c.n, k, c.want)
		}
	}
	printed(t, "Howe", factor(t, HoweFactor, 43, 42, 0.90, 0.99), 2.2173, 4)
	near(t, "exact beside it", factor(t, TwoSidedFactor, 43, 42, 0.90, 0.99), 2.222825, 1e-6)
	near(t, "pooled, exact", factor(t, TwoSidedFactor, 5, 24, 0.95, 0.95), 2.904037, 1e-6)
	near(t, "pooled, Howe", factor(t, HoweFactor, 5, 24, 0.95, 0.95), 2.826468, 1e-6)
	near(t, "pooled, one-sided", factor(t, OneSidedFactor, 5, 24, 0.95, 0.95), 2.627817, 1e-6)
}

// TestToleranceByScipy: testdata/study/distributions.txt, by adaptive integration of the definition.
func TestToleranceByScipy(t *testing.T) {
	f, err := os.Open("../../testdata/study/distributions.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	seen := 0
	for lines := bufio.NewScanner(f); lines.Scan(); {
		words := strings.Fields(lines.Text())
		if words[0] != "tolerance" {
			continue
		}
		var x [5]float64
		for i := range x {
			if x[i], err = strconv.ParseFloat(words[i+1], 64); err != nil {
				t.Fatal(err)
			}
		}
		near(t, lines.Text(), factor(t, TwoSidedFactor, x[0], x[1], x[2], x[3]), x[4], 1e-8)
		seen++
	}
	if seen < 5 {
		t.Errorf("%d lines", seen)
	}
}

// TestFactorConfidence: Howe's factor is too small for 10 units and too large for 5, and the exact
// one is neither.
func TestFactorConfidence(t *testing.T) {
	for _, n := range []float64{5, 10, 30} {
		exact, err := FactorConfidence(factor(t, TwoSidedFactor, n, n-1, 0.95, 0.95), n, n-1, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "exact", exact, 0.95, 1e-10)
		howe, err := FactorConfidence(factor(t, HoweFactor, n, n-1, 0.95, 0.95), n, n-1, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if (howe > 0.95) != (n == 5) || math.Abs(howe-0.95) > 0.005 {
			t.Errorf("Howe for %v units: confidence %v", n, howe)
		}
	}
	// With scatter that is known exactly and any mean, only the mean is in doubt.
	k := factor(t, TwoSidedFactor, 10, math.Inf(1), 0.95, 0.95)
	c, err := FactorConfidence(k, 10, math.Inf(1), 0.95)
	if err != nil || math.Abs(c-0.95) > 0.02 {
		t.Errorf("known scatter: k %v, confidence %v, %v", k, c, err)
	}
}

// TestToleranceLimits: the sides of an interval.
func TestToleranceLimits(t *testing.T) {
	s := study.Spread{Variance: 4, Dof: 4}
	u := Units{N: 5, Mean: 31, Within: s, Overall: s}
	for side, want := range map[Side]study.Interval{
		BothSides: {Lo: 31 - 2*5.07687, Hi: 31 + 2*5.07687},
		AtLeast:   {Lo: 31 - 2*4.20268, Hi: math.Inf(1)},
		AtMost:    {Lo: math.Inf(-1), Hi: 31 + 2*4.20268},
	} {
		got, err := u.Tolerance(side, 0.95, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		if !(math.Abs(got.Lo-want.Lo) < 2e-5 || got.Lo == want.Lo) || !(math.Abs(got.Hi-want.Hi) < 2e-5 || got.Hi == want.Hi) {
			t.Errorf("side %d: %v, want %v", side, got, want)
		}
	}
}

func TestToleranceRefuses(t *testing.T) {
	for name, f := range map[string]func(n, dof, share, confidence float64) (float64, error){
		"one-sided": OneSidedFactor, "two-sided": TwoSidedFactor, "Howe": HoweFactor,
	} {
		for _, c := range []struct {
			n, dof, share, confidence float64
			code                      string
		}{
			{0, 4, 0.9, 0.9, "process-too-few"}, {5, 0, 0.9, 0.9, "process-too-few"}, {math.NaN(), 4, 0.9, 0.9, "process-too-few"},
			{5, 4, 1, 0.9, "process-probability"}, {5, 4, 95, 0.9, "process-probability"},
			{5, 4, 0.9, 0, "process-probability"}, {5, 4, 0.9, math.NaN(), "process-probability"},
		} {
			_, err := f(c.n, c.dof, c.share, c.confidence)
			refused(t, name, err, c.code)
		}
	}
	_, err := FactorConfidence(0, 5, 4, 0.9)
	refused(t, "no factor", err, "process-factor")
}
