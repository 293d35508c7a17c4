package ts

import (
	"math"
	"slices"
	"testing"
)

// The numbers are those of numpy 1.24 and scipy 1.10: numpy.mean, std(ddof=1)
// and median, and scipy.stats.linregress over the positions without the outlier
// (slope and stderr times 11 places, p-value).
func TestNewTrait(t *testing.T) {
	nan := math.NaN()
	values := []float64{31.02, 31.11, 30.94, 31.25, 31.18, 31.30, 31.22, 31.41, 31.35, 33.90, 31.44, 31.52}
	limit := &Limit{Fs, 27.9, 34.1}
	got := NewTrait(Fs, values, limit)
	near := func(name string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-10*math.Abs(want) {
			t.Errorf("%s is %v, want %v", name, got, want)
		}
	}
	near("mean", got.Mean, 31.47)
	near("sd", got.SD, 0.7841150193921572)
	near("median", got.Median, 31.275)
	near("sigmas to the lower limit", got.SigmasToLo, (31.47-27.9)/0.7841150193921572)
	near("sigmas to the upper limit", got.SigmasToHi, (34.1-31.47)/0.7841150193921572)
	near("drift", got.Drift.Change, 0.49823983169705527)
	near("std of drift", got.Drift.Std, 0.07588754977062115)
	near("p of drift", got.Drift.P, 0.00010330337221831281)
	if got.N != 12 || got.Min != 30.94 || got.Max != 33.9 || !slices.Equal(got.Outliers, []int{9}) || !got.Drift.Real() {
		t.Errorf("%+v", got)
	}

	// A unit without the value keeps its place.
	gap := NewTrait(Fs, slices.Insert(slices.Clone(values), 3, nan), limit)
	if gap.N != 12 || !slices.Equal(gap.Outliers, []int{10}) {
		t.Errorf("with a gap: %+v", gap)
	}

	// Too little to tell anything.
	for _, few := range [][]float64{{}, {nan}, {31}, {31, 33, 35}, {31, 31, 31, 31, 31, 31, 31, 31, 31}} {
		got := NewTrait(Fs, few, limit)
		if got.Drift.Real() || got.Outliers != nil || math.IsNaN(got.SigmasToLo) || math.IsNaN(got.SD) {
			t.Errorf("%v: %+v", few, got)
		}
	}
	if one := NewTrait(Fs, values, &Limit{Fs, math.Inf(-1), 34.1}); !math.IsInf(one.SigmasToLo, 1) {
		t.Errorf("an absent limit is %v sigmas away", one.SigmasToLo)
	}
}
