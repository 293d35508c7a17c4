package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// A few wild points must neither move the values nor go unnoticed.
func TestOutliers(t *testing.T) {
	d := exactDriver(law.Lossy, 0.08)
	freq := simulated.LogFreq(5, 2000, 24)
	clean := simulated.Simulate(d, freq, 0, 0, 0.002, rand.New(rand.NewPCG(1, 2)))
	want, err := Fit([]measured.Sweep{{Impedance: clean}}, measured.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if want.Quality.Outliers != 0 {
		t.Errorf("%d outliers in a clean sweep", want.Quality.Outliers)
	}
	for _, withSigma := range []bool{true, false} {
		wild, _ := measured.NewImpedance(clean.Freq, clean.Z, clean.Sigma)
		if !withSigma {
			wild.Sigma = nil
		}
		for i, e := range map[int]complex128{40: 0.05, 81: -0.04i, 120: 0.2, 170: 0.03 + 0.03i} {
			wild.Z[i] *= 1 + e
		}
		got, err := Fit([]measured.Sweep{{Impedance: wild}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		if got.Quality.Outliers != 4 {
			t.Errorf("sigma %v: %d outliers counted, 4 made", withSigma, got.Quality.Outliers)
		}
		for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes} {
			a, _ := want.Parameters.Get(id)
			b, _ := got.Parameters.Get(id)
			if math.Abs(a.Value-b.Value) > a.Std {
				t.Errorf("sigma %v: %v moves from %v to %v, standard uncertainty %v", withSigma, id, a.Value, b.Value, a.Std)
			}
		}
	}
}

// The median kept from one value to the next is that of each window sorted.
func TestMiddles(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	for _, n := range []int{1, 2, 5, 11, 40} {
		v := make([]float64, n)
		for i := range v {
			v[i] = float64(rng.IntN(12)) // with ties
		}
		for i, got := range middles(v, 5) {
			if want := middle(v[max(0, i-5):min(n, i+6)]); got != want {
				t.Errorf("%d values, number %d: %v, want %v", n, i, got, want)
			}
		}
	}
}
