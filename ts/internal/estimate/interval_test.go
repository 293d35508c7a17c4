package estimate

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/internal/stat"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// Half a standard normal distribution at 0 and half at 10: 5 % of the upper one
// lie beyond the end, at 10 + 1.6449 (tables of the normal distribution). One
// distribution alone ends at 1.96. Of any mixture the probability beyond the end is
// that of the tail.
func TestUpperEnd(t *testing.T) {
	for _, c := range []struct {
		mix  []branch
		want float64
	}{
		{[]branch{{1, 0, 1}}, 1.95996},
		{[]branch{{0.5, 0, 1}, {0.5, 10, 1}}, 11.64485},
		{[]branch{{0.5, 10, 1}, {0.5, 0, 1}}, 11.64485},
		{[]branch{{0.99, 0, 1}, {0.01, 100, 1}}, 2.16596}, // 0.985 of the one is 0.975 of both
		{[]branch{{1, 0, 1}, {0, 50, 1}}, 1.95996},
		{[]branch{{0.9, 0, 1}, {0.1, 3, 0}}, 3},
	} {
		if got := upperEnd(c.mix); math.Abs(got-c.want) > 2e-4 {
			t.Errorf("%v ends at %.5f, want %.5f", c.mix, got, c.want)
		}
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		mix := make([]branch, 1+rng.IntN(8))
		var sum float64
		for i := range mix {
			mix[i] = branch{math.Exp(6 * rng.NormFloat64()), 3 * rng.NormFloat64(), math.Exp(rng.NormFloat64())}
			sum += mix[i].weight
		}
		for i := range mix {
			mix[i].weight /= sum
		}
		x, beyond := upperEnd(mix), 0.0
		for _, b := range mix {
			beyond += b.weight * math.Erfc((x-b.offset)/b.std/math.Sqrt2) / 2
		}
		if math.Abs(beyond-stat.Tail) > 2e-5 {
			t.Errorf("%v: %.6f lie beyond %v", mix, beyond, x)
		}
	}
}

// The interval holds the truth as often as it says under either creep law: under
// the logarithmic one and under a power of frequency, of which the sweep cannot say
// which it is. Intervals of so many standard deviations around the value would hold
// the first always.
func TestBothCreepLawsAreHeld(t *testing.T) {
	d := handmade.CourseWithCoil()
	const n, creep = 250, 0.12
	tau := 2 * math.Pi
	ws := tau * d.Fs()
	power := func(f float64) complex128 { // stiffness relative to its real part at resonance
		k := cmplx.Pow(complex(0, tau*f/ws), complex(creep/2, 0))
		return k / complex(math.Cos(math.Pi*creep/4), 0)
	}
	logarithmic := func(f float64) complex128 { // theory (1.3)
		q := math.Pi / (2 * math.Ln10) * creep
		return complex(1+q*q, 0) / complex(1-creep*math.Log10(tau*f/ws), -q)
	}
	for name, law := range map[string]func(f float64) complex128{"power of frequency": power, "logarithmic": logarithmic} {
		held := map[param.ID]int{}
		for seed := range uint64(n) {
			rng := rand.New(rand.NewPCG(seed, 4))
			freq := simulated.LogFreq(4, 2000, 24)
			z, sigma := make([]complex128, len(freq)), make([]float64, len(freq))
			for i, f := range freq {
				s := complex(0, tau*f)
				mechanical := s*complex(d.Mms, 0) + complex(d.Rms, 0) + law(f)/(s*complex(d.Cms, 0))
				z[i] = complex(d.Re, 0) + d.Coil.Impedance(tau*f) + complex(d.BL*d.BL, 0)/mechanical
				sigma[i] = 0.002 * cmplx.Abs(z[i])
				z[i] += complex(sigma[i]*rng.NormFloat64(), sigma[i]*rng.NormFloat64())
			}
			got, err := Fit([]measured.Sweep{{Impedance: measured.Impedance{Freq: freq, Z: z, Sigma: sigma}}}, measured.Conditions{})
			if err != nil {
				t.Fatal(err)
			}
			for id, want := range map[param.ID]float64{param.Re: d.Re, param.Fs: d.Fs(), param.Qes: d.Qes()} {
				if e, _ := got.Parameters.Get(id); e.Low <= want && want <= e.High {
					held[id]++
				}
			}
		}
		for id, k := range held {
			if part := float64(k) / n; part < 0.92 || part > 0.98 {
				t.Errorf("%s: %v held in %.1f %%", name, id, 100*part)
			}
		}
	}
}
