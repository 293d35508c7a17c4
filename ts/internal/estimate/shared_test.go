package estimate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// withCommon returns n sweeps of a driver that follows a law, with noise of which the part common of the variance is the same in all.
func withCommon(n int, common float64, seed uint64) (sweeps []measured.Sweep) {
	const noise = 0.002 // of |Z|
	rng := rand.New(rand.NewPCG(seed, 13))
	freq := simulated.LogFreq(5, 1500, 24)
	clean := simulated.Simulate(exactDriver(law.Lossy, 0), freq, 0, 0, 0, nil)
	draw := func() (all []complex128) {
		for range freq {
			all = append(all, complex(noise*rng.NormFloat64(), noise*rng.NormFloat64()))
		}
		return all
	}
	same := draw()
	for range n {
		z := measured.Impedance{Freq: freq, Sigma: make([]float64, len(freq))}
		own := draw()
		for i, v := range clean.Z {
			z.Z = append(z.Z, v*(1+complex(math.Sqrt(common), 0)*same[i]+complex(math.Sqrt(1-common), 0)*own[i]))
			z.Sigma[i] = noise * real(abs(v))
		}
		sweeps = append(sweeps, measured.Sweep{Impedance: z})
	}
	return sweeps
}

// Residuals that are the same in all of n sweeps make the variance of their mean n times that of independent ones; half of
// the variance in common, (n+1)/2 times; and what is independent is found to be that.
func TestSharedResiduals(t *testing.T) {
	for _, c := range []struct{ common, want, within float64 }{{0, 1, 0}, {0.5, 2.5, 0.4}, {1, 4, 0.01}} {
		t.Run(fmt.Sprint(c.common), func(t *testing.T) {
			in := prepare(withCommon(4, c.common, 3), measured.Conditions{}, new(scratch))
			found := in.explore()
			if got := best(found).shared(); math.Abs(got-c.want) > c.within {
				t.Errorf("factor %.3f, want %.3f", got, c.want)
			}
		})
	}
}

// So n sweeps say as much more than one as what is independent in them makes them, and no more, also where the law is not in
// doubt: the standard uncertainty of L1k is no smaller than sqrt((1 + (n - 1) common)/n) times that from one, but for a tenth.
func TestSharedResidualsCountOnce(t *testing.T) {
	const n = 4
	said := func(sweeps []measured.Sweep) float64 {
		f, err := Fit(sweeps, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		e, _ := f.Parameters.Get(param.L1k)
		return math.Hypot(e.Budget.Noise, e.Budget.Model)
	}
	for _, common := range []float64{0, 0.25, 1} {
		for seed := range uint64(3) {
			sweeps := withCommon(n, common, seed)
			if got, want := said(sweeps)/said(sweeps[:1]), math.Sqrt((1+(n-1)*common)/n); got < 0.9*want {
				t.Errorf("%v in common, seed %d: %.2f times that from one sweep, want %.2f", common, seed, got, want)
			}
		}
	}
}

// Four tables of one untouched driver that follows no law, with coarse lines held over the grid, say what each of them says:
// their steps are the same four times and count once.
func TestRepeatsOfTablesSayTheSame(t *testing.T) {
	const n = 4
	worst := map[param.ID]float64{}
	for seed := range uint64(6) {
		rng := rand.New(rand.NewPCG(seed, 131))
		d := simulated.DrawLawless(rng, 0.015)
		const line = 0.7 // Hz
		var sweeps []measured.Sweep
		mean := map[param.ID]float64{}
		half := map[param.ID]float64{}
		for range n {
			var z measured.Impedance
			for _, f := range simulated.LogFreq(2, 20000, 24) {
				at := max(1, math.Floor(f/line)) * line
				v := d.Impedance(at)
				if k := len(z.Z); k > 0 && math.Floor(z.Freq[k-1]/line) == math.Floor(f/line) {
					v = z.Z[k-1]
				} else {
					v *= 1 + complex(1e-4*rng.NormFloat64(), 1e-4*rng.NormFloat64())
				}
				z.Freq, z.Z = append(z.Freq, f), append(z.Z, v)
			}
			sweeps = append(sweeps, measured.Sweep{Impedance: z})
			one, err := Fit(sweeps[len(sweeps)-1:], measured.Conditions{})
			if err != nil {
				t.Fatal(err)
			}
			for _, id := range []param.ID{param.Re, param.Qms, param.Qes} {
				e, _ := one.Parameters.Get(id)
				mean[id] += math.Log(e.Value) / n
				half[id] += math.Log(e.High/e.Low) / 2 / n
			}
		}
		all, err := Fit(sweeps, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for id, m := range mean {
			e, _ := all.Parameters.Get(id)
			worst[id] = max(worst[id], math.Abs(math.Log(e.Value)-m)/half[id])
			t.Logf("driver %d: %s differs by %.2f of half an interval, half-width %.2f of that of one", seed, id, (math.Log(e.Value)-m)/half[id], math.Log(e.High/e.Low)/2/half[id])
		}
	}
	for id, w := range worst {
		if w > 0.35 {
			t.Errorf("%s of four tables differs from that of each by %.2f of half an interval", id, w)
		}
	}
}
