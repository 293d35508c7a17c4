package estimate

import (
	"math"
	"math/cmplx"
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

// One bad point on the peak counts less, though by the first fit its good neighbours stick out as well.
func TestOutlierOnThePeak(t *testing.T) {
	const fs = 40.0
	missed := 0
	for seed := range uint64(6) {
		rng := rand.New(rand.NewPCG(seed, 5))
		var z measured.Impedance
		bad := -1
		for k := range 24 * 8 {
			f := 6 * math.Exp2(float64(k)/24)
			if bad < 0 && f > fs {
				bad = k
			}
			v := 6 + 40/complex(1, 6*(f/fs-fs/f)) + cmplx.Rect(3*math.Pow(f/1000, 0.65), 0.65*math.Pi/2)
			v *= 1 + complex(1e-3*rng.NormFloat64(), 1e-3*rng.NormFloat64())
			z.Freq, z.Z, z.Sigma = append(z.Freq, f), append(z.Z, v), append(z.Sigma, 1e-3*cmplx.Abs(v))
		}
		z.Z[bad] *= complex(0.9, 0.05)
		f, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for id, want := range map[param.ID]float64{param.Fs: fs, param.Qms: 6, param.Qes: 0.9} {
			if e, _ := f.Parameters.Get(id); want < e.Low || want > e.High {
				missed++
			}
		}
	}
	if missed > 2 {
		t.Errorf("%d of 18 values lie outside their interval", missed)
	}
}
