package study

import (
	"math"
	"testing"

	"conewright/ts/internal/stat"
)

// Values called recomputed were worked out for this project with numpy, scipy and lme4, apart from the
// code here. The data and their sources are in testdata/study.

// TestDyestuff is example A: Davies 1972 by way of lme4; printed values are those of
// lme4 and of MixedModels.jl (test/pls.jl), the rest is recomputed.
func TestDyestuff(t *testing.T) {
	n := analysed(t, "dyestuff")
	b, r := n.Components[0], n.Components[1]
	near(t, "MS between", b.MeanSquare, 11271.5, 1e-12)
	near(t, "MS within", r.MeanSquare, 2451.25, 1e-12)
	printed(t, "REML batch", b.Variance, 1764.0500, 4)
	printed(t, "REML residual", r.Variance, 2451.2500, 4)
	near(t, "moments", b.Moments, 1764.05, 1e-12)
	near(t, "-2 ln L", n.Fit, 319.654277, 1e-8)
	mean, s, err := n.Mean("")
	if err != nil {
		t.Fatal(err)
	}
	printed(t, "mean", mean, 1527.5, 1)
	near(t, "standard error", s.Std(), 19.383412, 1e-7)
	near(t, "half width", s.HalfWidth(0.95), 49.826647, 1e-7)
	near(t, "dof of batch", b.Dof, 3.031867, 1e-6)
	nearInterval(t, "residual", n.Interval(1, 0.95), 1494.509828, 4743.914796, 1e-9)
	nearInterval(t, "batch", n.Interval(0, 0.95), 306.419187, 13045.978411, 1e-8)
	nearInterval(t, "batch by Satterthwaite", b.Spread.Interval(0.95), 568.504792, 23994.009336, 1e-7)
	near(t, "dof of total", n.Total().Dof, 15.101732, 1e-7)
	nearInterval(t, "total by Satterthwaite", n.Total().Interval(0.95), 2304.208148, 10060.939256, 1e-8)
	nearInterval(t, "total", n.TotalInterval(0.95), 2640.800679, 15669.131287, 1e-8)
}

// TestDyestuffUnbalanced: recomputed, and lme4.
func TestDyestuffUnbalanced(t *testing.T) {
	n := analysed(t, "dyestuff-unbalanced")
	b, r := n.Components[0], n.Components[1]
	near(t, "MS between", b.MeanSquare, 8308.541667, 1e-9)
	near(t, "MS within", r.MeanSquare, 2007.291667, 1e-9)
	near(t, "moments", b.Moments, 1602.012712, 1e-9)
	near(t, "factor", n.data.basis[0].expect[0], 3.933333333, 1e-9)
	near(t, "REML batch", b.Variance, 1844.7761, 1e-6)
	near(t, "REML residual", r.Variance, 2042.3978, 1e-6)
	near(t, "-2 ln L", n.Fit, 251.199985, 2e-9)
	mean, s, _ := n.Mean("")
	near(t, "mean", mean, 1517.825412, 1e-9)
	near(t, "standard error", s.Std(), 19.99665, 2e-7)
	nearInterval(t, "batch", n.Interval(0, 0.95), 321.403477, 15886.086729, 1e-8)
}

// TestDyestuff2 is example B, a component at 0, where the residual must be estimated
// anew: lme4.
func TestDyestuff2(t *testing.T) {
	n := analysed(t, "dyestuff2")
	b, r := n.Components[0], n.Components[1]
	near(t, "MS between", b.MeanSquare, 8.336325760, 1e-10)
	near(t, "MS within", r.MeanSquare, 14.945889600, 1e-10)
	near(t, "moments", b.Moments, -1.321912768, 1e-9)
	if b.Variance != 0 || b.Dof != 0 {
		t.Errorf("batch: %v, want exactly 0 on no degrees of freedom", b.Spread)
	}
	near(t, "residual", r.Variance, 13.806309627, 1e-10)
	near(t, "residual dof", r.Dof, 24, 1e-9) // batches that came out alike by chance add none
	near(t, "-2 ln L", n.Fit, 161.828278, 3e-9)
	mean, s, _ := n.Mean("")
	near(t, "mean", mean, 5.6656, 1e-12)
	if limit := math.Sqrt(8.336325760 / 30); s.Std() < limit || s.Dof != 5 {
		t.Errorf("mean: %v, want at least %v on 5 degrees of freedom", s, limit)
	}
	if v := n.Interval(0, 0.95); v.Lo != 0 || !(v.Hi > 0) {
		t.Errorf("batch: %v", v)
	}
}

// TestPastes is example C: Davies and Goldsmith 1972 by way of lme4. Printed values are those of lme4
// (docs/reference/Pastes.html), the rest is recomputed.
func TestPastes(t *testing.T) {
	n := analysed(t, "pastes")
	batch, cask, r := n.Components[0], n.Components[1], n.Components[2]
	near(t, "MS batch", batch.MeanSquare, 27.489185185, 1e-10)
	near(t, "MS cask", cask.MeanSquare, 17.545333333, 1e-10)
	near(t, "MS error", r.MeanSquare, 0.678, 1e-10)
	printed(t, "sd cask", cask.Std(), 2.9041, 4)
	printed(t, "sd batch", batch.Std(), 1.2874, 4)
	printed(t, "sd residual", r.Std(), 0.8234, 4)
	printed(t, "criterion", n.Fit, 246.9907, 4)
	near(t, "v cask", cask.Variance, 8.433666667, 1e-9)
	near(t, "v batch", batch.Variance, 1.657308642, 1e-9)
	mean, s, _ := n.Mean("")
	printed(t, "mean", mean, 60.0533, 4)
	near(t, "standard error", s.Std(), 0.676870, 1e-6)
	near(t, "dof of mean", s.Dof, 9, 1e-8)
	nearInterval(t, "cask", n.Interval(1, 0.95), 4.789569, 17.950448, 2e-7)
	nearInterval(t, "batch", n.Interval(0, 0.95), 0, 12.304314, 1e-7)
	near(t, "dof of batch", batch.Dof, 0.995235, 1e-6)
	nearInterval(t, "batch by Satterthwaite", batch.Spread.Interval(0.95), 0.329169, 1742.245, 2e-6)
}

// TestPastesUnbalanced: recomputed, and lme4.
func TestPastesUnbalanced(t *testing.T) {
	n := analysed(t, "pastes-unbalanced")
	for k, want := range []float64{259.714382353, 250.7865, 12.565} {
		near(t, "SS "+n.Components[k].Level, n.Components[k].SumOfSquares, want, 1e-10)
	}
	for k, want := range []int{9, 18, 23} {
		if got := n.Components[k].Freedom; got != want {
			t.Errorf("level %d: %d degrees of freedom, want %d", k, got, want)
		}
	}
	near(t, "c1", n.data.basis[1].expect[1], 1.777777778, 1e-9)
	near(t, "c2", n.data.basis[0].expect[1], 1.899782135, 1e-9)
	near(t, "c3", n.data.basis[0].expect[0], 5.089324619, 1e-9)
	for k, want := range []float64{2.752016251, 7.529781929, 0.546304348} {
		near(t, "moments "+n.Components[k].Level, n.Components[k].Moments, want, 1e-9)
	}
	for k, want := range []float64{2.78956, 7.51146, 0.545801} {
		near(t, "REML "+n.Components[k].Level, n.Components[k].Variance, want, 1e-6)
	}
	near(t, "-2 ln L", n.Fit, 209.009313, 3e-9)
	mean, s, _ := n.Mean("")
	near(t, "mean", mean, 59.95407, 1e-7)
	near(t, "standard error", s.Std(), 0.749525, 1e-6)
}

// TestDays is example D: the vignette of VCA prints sums of squares, components, total and its
// limits; the data here are rounded to 5 decimals. The modified large sample limits are recomputed
// from data rounded to 4.
func TestDays(t *testing.T) {
	n := analysed(t, "days")
	for k, want := range []float64{1506.145222, 606.928138, 651.360839} {
		near(t, "SS", n.Components[k].SumOfSquares, want, 1e-6)
	}
	for k, want := range []float64{12.231099, 7.031193, 16.284021} {
		near(t, "component", n.Components[k].Variance, want, 1e-6)
	}
	total := n.Total()
	near(t, "total", total.Variance, 35.546313, 1e-7)
	near(t, "dof of total", total.Dof, 50.129098, 1e-6)
	nearInterval(t, "total", total.Interval(0.95), 24.8957, 54.8935, 1e-5)
	nearInterval(t, "error", n.Interval(2, 0.95), 10.9764, 26.6590, 1e-5)
	for k, want := range []float64{47.0968, 26.3372, 13.2585} {
		near(t, "variance of component", n.cov.At(k, k), want, 1e-5)
	}
	nearInterval(t, "day", n.Interval(0, 0.95), 0.699542, 34.790242, 5e-5)
	nearInterval(t, "run", n.Interval(1, 0.95), 0, 23.587319, 1e-5)
}

// TestFurnace is example E: NIST/SEMATECH e-Handbook 3.5.1; 571.659 and 120.893 are printed, the
// rest is recomputed.
func TestFurnace(t *testing.T) {
	n := analysed(t, "furnace")
	for k, want := range []float64{61442.285714, 36014.5, 10155} {
		near(t, "SS", n.Components[k].SumOfSquares, want, 1e-10)
	}
	printed(t, "2 Var(zone) + Var(within)", n.Components[1].MeanSquare, 571.659, 3)
	printed(t, "Var(within)", n.Components[2].Variance, 120.893, 3)
	near(t, "run", n.Components[0].Variance, 312.556944, 1e-8)
	near(t, "zone", n.Components[1].Variance, 225.382937, 1e-8)
	mean, _, _ := n.Mean("")
	near(t, "mean", mean, 563.035714, 1e-9)
}

// TestSiRstv: certified by NIST (StRD, analysis of variance). Digits are lost unless
// values are centred before they are squared.
func TestSiRstv(t *testing.T) {
	n := analysed(t, "sirstv")
	b, r := n.Components[0], n.Components[1]
	near(t, "SS between", b.SumOfSquares, 5.11462616e-2, 1e-9)
	near(t, "SS within", r.SumOfSquares, 2.16636560e-1, 1e-9)
	near(t, "F", b.MeanSquare/r.MeanSquare, 1.18046237440255, 1e-12)
	near(t, "residual sd", math.Sqrt(r.MeanSquare), 1.04076068334656e-1, 1e-12)
}

// TestExactRatio: the exact interval of v_batch/v_residual of example A, recomputed, from the
// quantiles that the other limits use.
func TestExactRatio(t *testing.T) {
	n := analysed(t, "dyestuff")
	f := n.Components[0].MeanSquare / n.Components[1].MeanSquare
	near(t, "low", (f/stat.Fisher(0.975, 5, 24)-1)/5, 0.091507694, 1e-8)
	near(t, "high", (f/stat.Fisher(0.025, 5, 24)-1)/5, 5.573619946, 1e-9)
}

// TestPriorAndRepeats: recomputed. The pooling is that of limma's squeezeVar (Smyth 2004).
func TestPriorAndRepeats(t *testing.T) {
	prior := Spread{0.8 * 0.8, 4}
	repeats := func(values ...float64) *Nested {
		return analyse(t, design(t, []string{"again"}, make([]Place, len(values))), values, prior)
	}
	n := repeats(31.2, 31.9, 31.5)
	c := n.Components[0]
	near(t, "own variance", c.MeanSquare, 0.123333, 3e-6)
	near(t, "variance", c.Variance, 0.467777778, 1e-9)
	near(t, "dof", c.Dof, 6, 1e-12)
	near(t, "sd", c.Std(), 0.683942818, 1e-9)
	mean, s, _ := n.Mean("")
	near(t, "mean", mean, 31.533333, 2e-8)
	near(t, "half width of mean", s.HalfWidth(0.95), 0.966223264, 1e-9)
	_, next, _ := n.Predict("")
	near(t, "half width of next", next.HalfWidth(0.95), 1.932446527, 1e-8)
	v := n.Interval(0, 0.95)
	near(t, "sd low", math.Sqrt(v.Lo), 0.440728, 2e-6)
	near(t, "sd high", math.Sqrt(v.Hi), 1.506087, 1e-6)

	// The repeats alone look better: a prior need not shorten an interval.
	alone := analyse(t, design(t, []string{"again"}, make([]Place, 3)), []float64{31.2, 31.9, 31.5})
	_, s, _ = alone.Mean("")
	near(t, "half width without prior", s.HalfWidth(0.95), 0.872400494, 1e-9)

	_, s, _ = repeats(31.2).Mean("")
	near(t, "half width of one reading", s.HalfWidth(0.95), 2.221156084, 1e-9)
}

// TestPrediction: for balanced groups the best prediction and its error have a closed form, with
// s = vb + ve/n and g = vb/s (textbook; the last term after Kackar and Harville):
//
//	mean + g (mean of the group - mean),   ve + vb (1-g) + (1-g)^2 s/a + (1 - 1/a) s Var(g)
func TestPrediction(t *testing.T) {
	n := analysed(t, "dyestuff")
	const groups, size, mean, first = 6., 5., 1527.5, 1505.
	vb, ve := n.Components[0].Variance, n.Components[1].Variance
	s := vb + ve/size
	g := vb / s
	db, de := (1-g)/s, -g/(size*s) // slopes of g
	varG := db*db*n.cov.At(0, 0) + 2*db*de*n.cov.At(0, 1) + de*de*n.cov.At(1, 1)
	got, spread, err := n.Predict("", "A")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "prediction", got, mean+g*(first-mean), 1e-12)
	near(t, "variance", spread.Variance, ve+vb*(1-g)+(1-g)*(1-g)*s/groups+(1-1/groups)*s*varG, 1e-6)
	got, spread, err = n.Predict("", "new")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "new group", got, mean, 1e-12)
	near(t, "new group variance", spread.Variance, vb+ve+s/groups, 1e-9)
}

// TestJudged: 1/(2 q^2), JCGM 100 G.4.2 (from memory).
func TestJudged(t *testing.T) {
	for doubt, want := range map[float64]float64{0.5: 2, 0.25: 8} {
		near(t, "dof", Judged(1, doubt).Dof, want, 1e-12)
	}
}
