package lot

import (
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/param"
	"conewright/ts/verdict"
)

// only returns a set that holds nothing but Fs.
func only(fs float64) param.Parameters {
	return param.Parameters{IDs: []param.ID{param.Fs}, Scaled: []float64{math.Log(fs)}, Origin: []param.Origin{param.FromFit}, Coverage: 1.96}
}

// add takes a unit in that must be one.
func add(t *testing.T, b *Batch, p param.Parameters) {
	t.Helper()
	if err := b.Add(p); err != nil {
		t.Fatal(err)
	}
}

// outlying returns in what a unit stands apart.
func outlying(t *testing.T, b *Batch, p param.Parameters) []Outlier {
	t.Helper()
	out, err := b.Outliers(p)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestBatchCapability(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 12))
	b, err := NewBatch(verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 28, Hi: 36}}})
	if err != nil {
		t.Fatal(err)
	}
	const sigma = 0.03
	for range 4000 {
		add(t, b, only(32*math.Exp(sigma*rng.NormFloat64())))
	}
	v := b.Summary()[0]
	near := func(what string, got, want, tolerance float64) {
		if math.Abs(got/want-1) > tolerance {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	near("median", v.Median, 32, 0.002)
	near("std", v.Std, sigma, 0.05)
	near("robust std", v.RobustStd, sigma, 0.06)
	near("sigmas to the lower limit", v.LoSigmas, math.Log(32./28)/sigma, 0.08)
	near("sigmas to the upper limit", v.HiSigmas, math.Log(36./32)/sigma, 0.08)
	if v.Capability() != v.HiSigmas {
		t.Errorf("capability %v, want the nearer limit %v", v.Capability(), v.HiSigmas)
	}
	if v.Trend.Drifts() {
		t.Errorf("no drift was put in: %+v", v.Trend)
	}
}

// Ten percent of outlying units move the mean and the standard deviation but not the
// robust figures, and are found; a unit of the batch is not.
func TestBatchOutliers(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 13))
	b := new(Batch)
	far := 0
	for i := range 500 {
		fs := 32 * math.Exp(0.02*rng.NormFloat64())
		if i%10 == 0 {
			fs *= 1.3
			far++
		}
		add(t, b, only(fs))
	}
	v := b.Summary()[0]
	if v.RobustStd > 0.03 || v.Std < 0.06 {
		t.Errorf("std %v, robust %v", v.Std, v.RobustStd)
	}
	if out := outlying(t, b, only(32*1.3)); len(out) != 1 || out[0].ID != param.Fs || out[0].Sigmas < 5 {
		t.Errorf("outlying unit: %+v", out)
	}
	if out := outlying(t, b, only(32*1.03)); len(out) != 0 {
		t.Errorf("sound unit: %+v", out)
	}
	poor := only(32 * 1.3)
	poor.Components = []param.Component{{Source: "noise", Effect: []float64{0.2}}}
	if out := outlying(t, b, poor); len(out) != 0 {
		t.Errorf("a poor measurement is not a poor unit: %+v", out)
	}
	few := new(Batch)
	for range 7 {
		add(t, few, only(32))
	}
	if out := outlying(t, few, only(64)); len(out) != 0 {
		t.Errorf("seven units are too few: %+v", out)
	}
}

// A drift of 1 % over the batch, a third of the spread, is found and sized, the
// memory stays bounded, and without a drift the test errs in 1 % of all batches.
func TestBatchTrend(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 14))
	const n = 5000
	b := new(Batch)
	for i := range n {
		add(t, b, only(32*math.Exp(0.01*float64(i)/n+0.03*rng.NormFloat64())))
	}
	s := b.series[param.Fs]
	if len(s.blocks) >= mostBlocks || len(s.bins) > 4000 {
		t.Errorf("%d blocks and %d bins for %d units", len(s.blocks), len(s.bins), n)
	}
	trend := b.Summary()[0].Trend
	if !trend.Drifts() || math.Abs(trend.Total-0.01) > 0.005 || math.Abs(trend.PerHundred*n/100-trend.Total) > 1e-12 {
		t.Errorf("trend %+v, want 0.01 in all", trend)
	}
	false1 := 0
	const batches = 2000
	for range batches {
		var s series
		s.bins = map[int]int{}
		for range 40 {
			s.add(rng.NormFloat64())
		}
		if s.trend().Drifts() {
			false1++
		}
	}
	if rate := float64(false1) / batches; rate > 0.017 || rate < 0.003 {
		t.Errorf("a drift is found in %.2f %% of batches without one", 100*rate)
	}
}

// scipy 1.10 on the x below: kendalltau(range(12), x, method="asymptotic") gives
// tau 0.454545 and p = 0.0396693, theilslopes(x) the slope 0.1. tau is S/66, so S
// is 30; scipy leaves out the correction for continuity that is made here.
func TestTrendAgainstScipy(t *testing.T) {
	s := series{bins: map[int]int{}}
	for _, x := range []float64{3.1, 2.7, 3.4, 3.0, 3.9, 3.3, 4.2, 3.8, 3.6, 4.4, 4.1, 3.5} {
		s.add(x)
	}
	p := func(s float64) float64 { return math.Erfc(s / math.Sqrt(12*11*29/18.) / math.Sqrt2) }
	if math.Abs(p(30)-0.03966925656449891) > 1e-12 {
		t.Fatalf("without the correction: %v, scipy has 0.0396693", p(30))
	}
	trend := s.trend()
	if math.Abs(trend.P-p(29)) > 1e-9 || math.Abs(trend.PerHundred-10) > 1e-9 {
		t.Errorf("trend %+v, want P = %v and 0.1 a unit", trend, p(29))
	}
}

// A healthy lot names hardly any unit, however large it is; a unit that is eight
// standard deviations off stands apart in all of them.
func TestOutliersOfALargeLot(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 15))
	const units = 20000
	b := new(Batch)
	draw := func(at float64) param.Parameters {
		p := only(31)
		p.Scaled[0] += 0.03 * at
		p.Components = []param.Component{{Effect: []float64{1e-4}}}
		return p
	}
	var far []param.Parameters // beyond three standard deviations: only they may stand apart
	for range units {
		at := rng.NormFloat64()
		p := draw(at)
		add(t, b, p)
		if math.Abs(at) > 3 {
			far = append(far, p)
		}
	}
	apart := 0
	for _, p := range far {
		apart += len(outlying(t, b, p))
	}
	if apart > 1 { // a fixed bound of 3.5 names about nine
		t.Errorf("%d of %d healthy units stand apart", apart, units)
	}
	if len(outlying(t, b, draw(8))) != 1 {
		t.Error("a unit eight standard deviations off does not stand apart")
	}
}
