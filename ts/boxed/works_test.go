package boxed

import (
	"testing"

	"conewright/ts/internal/truth"
	"conewright/ts/measured"
)

func outlined(t *testing.T, s truth.Sweep) (crossover float64, several bool) {
	t.Helper()
	z, err := measured.NewImpedance(s.F, s.Z, s.Sigma)
	if err != nil {
		t.Fatal(err)
	}
	_, crossover, several = outlineOf(z)
	return crossover, several
}

// Two-way loudspeakers are told from drivers in boxes, with second resonances and ports, by the shape of the curve; their crossover is near the
// frequency where the coil before the woofer has the reactance of its resistance.
func TestSeveralDrivers(t *testing.T) {
	const n = 60
	whole, one, placed := 0, 0, 0
	for i := range uint64(n) {
		was, _, _ := truth.FaultyLoudspeaker(2900+i, truth.NetworkUntouched)
		if x, several := outlined(t, was); several {
			whole++
			if x > 400 && x < 4000 {
				placed++
			}
		}
		rng := truth.Rand(i, 79)
		d := truth.Draw(rng)
		box := truth.DrawBox(rng, d, i%2 == 0)
		if _, several := outlined(t, truth.DrawRig(rng).Measure(rng, d.Loaded(box), truth.BenchGrid)); !several {
			one++
		}
	}
	if whole < n-1 || one < n-2 || placed < n*3/4 {
		t.Errorf("of %d loudspeakers %d are seen as such, %d with a crossover where it can be; of %d drivers %d", n, whole, placed, n, one)
	}
	t.Log(whole, one, placed)
}

// Of a driver alone nothing but its coil works above the resonance; of a loudspeaker branches do.
func TestWorks(t *testing.T) {
	bands := func() []Band { return []Band{{Freq: 20}, {Freq: 100}, {Freq: 450}, {Freq: 5000}} }
	for name, c := range map[string]struct {
		z    measured.Impedance
		want [4]Works
	}{
		"driver": {of(box(38, 7, 50, 60)), [4]Works{DriverAndBox, DriverAndBox, CoilOfDriver, CoilOfDriver}},
		"two-way": {sweep(func(f float64) complex128 {
			woofer := box(0, 7, 50, 0).impedance(f, 0) + complex(0, 2*3.14159*f*1.2e-3)
			tweeter := complex(5, -1/(2*3.14159*f*10e-6))
			return woofer * tweeter / (woofer + tweeter)
		}), [4]Works{DriverAndBox, DriverAndBox, LowestBranch, UpperBranch}},
	} {
		got := bands()
		works(got, c.z)
		for i, b := range got {
			if b.Works != c.want[i] {
				t.Errorf("%s at %v Hz: %q, want %q", name, b.Freq, b.Works, c.want[i])
			}
		}
	}
}
