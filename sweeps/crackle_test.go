package sweeps

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
)

// A contact that opens for a few milliseconds neither biases the impedance nor
// makes its noise figure a lie, and is told.
func TestCrackleIsLeftOut(t *testing.T) {
	for _, kind := range []SignalKind{ExponentialSweep, Multitone, PinkNoise} {
		var chi2, n float64
		for seed := range uint64(4) {
			v := benchTop()
			v.Seed, v.Bench.Wiring = []uint64{10, 20, 21, 23}[seed], Wiring(seed%3) // their crackles meet the signal
			s := Signal{Kind: kind, Rate: 16000, Hi: 7000, Duration: 12, Period: 2}
			quiet, err := Measure(record(t, v, s), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			if len(quiet.Impedance.Warnings) > 0 {
				t.Errorf("%v, seed %d, no crackle: %v", kind, seed, quiet.Impedance.Warnings)
			}
			v.Flaws.Crackle = 1 + int(seed%2)
			m, err := Measure(record(t, v, s), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			z := m.Impedance
			told := len(z.Warnings) == 1 && z.Warnings[0].Code == "unsteady-contact"
			for i, f := range z.Freq {
				chi2 += sqAbs(z.Z[i]-larch.Impedance(f)) / (2 * z.Sigma[i] * z.Sigma[i])
				n++
			}
			grown := medianNoise(z) / medianNoise(quiet.Impedance)
			t.Logf("%v, seed %d: %d points, noise %.2f times, %v", kind, seed, z.Len(), grown, z.Warnings)
			if !told || grown > 3 || z.Len() < quiet.Impedance.Len()*9/10 {
				t.Errorf("%v, seed %d: %d of %d points, noise %.2f times that without, %v", kind, seed, z.Len(), quiet.Impedance.Len(), grown, z.Warnings)
			}
		}
		if ratio := math.Sqrt(chi2 / n); ratio > 1.2 {
			t.Errorf("%v: true over claimed error %.2f", kind, ratio)
		}
	}
}

// Distortion of the driver is spiky too, but comes back in every period.
func TestDistortionIsNoCrackle(t *testing.T) {
	v := benchTop()
	v.Flaws.Quadratic, v.Flaws.Cubic = 0.5, 2
	s := quickSweep
	s.Kind, s.Period = Multitone, 1
	if got := codes(record(t, v, s), v.Bench); contains(got, "unsteady-contact") || !contains(got, "distortion") {
		t.Errorf("got %v", got)
	}
}

// The way to the fixed point of a linear map with slow modes: x = A x + b.
func TestAcceleration(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 9))
	const n = 40
	slow := []float64{0.97, 0.9, -0.6, 0.5} // the rest dies at once
	want := make([]float64, n)
	for i := range want {
		want[i] = rng.NormFloat64()
	}
	x := make([]float64, n)
	var quick acceleration
	for range 8 {
		y := make([]float64, n)
		for i := range y {
			y[i] = want[i]
			if i < len(slow) {
				y[i] += slow[i] * (x[i] - want[i])
			}
		}
		x = quick.next(x, y)
	}
	if off := floats.Distance(x, want, math.Inf(1)); off > 1e-9 {
		t.Errorf("off by %.2g after eight steps", off)
	}
}

// Goertzel's recursion gives the size that the definition of the transform does.
func TestPowerAt(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	x := make([]float64, 200)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	for _, f := range []float64{0.003, 0.0401, 0.25, 0.4} {
		var want complex128
		for i, v := range x {
			sin, cos := math.Sincos(2 * math.Pi * f * float64(i))
			want += complex(v*cos, -v*sin)
		}
		if got := math.Sqrt(powerAt(x, f)); math.Abs(got-math.Sqrt(sqAbs(want))) > 1e-9 {
			t.Errorf("at %g: size %g, want %g", f, got, math.Sqrt(sqAbs(want)))
		}
	}
}

// A patched recording reads the same in whatever blocks.
func TestPatchesReadInBlocks(t *testing.T) {
	rec, err := NewRecording(make([]float64, 1000), make([]float64, 1000), 8000, "zeros")
	if err != nil {
		t.Fatal(err)
	}
	p := &patches{whole: rec, channel: 1, list: []patch{{from: 95, samples: []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}}, {from: 998, samples: []float64{11, 12}}}}
	want := ""
	for _, size := range []int{1000, 100, 3, 1} {
		got := make([]float64, 0, 1000)
		for from := 0; from < 1000; from += size {
			n := min(size, 1000-from)
			a, b := make([]float64, n), make([]float64, n)
			if err := p.recording().Read(a, b, from); err != nil {
				t.Fatal(err)
			}
			if floats.Norm(a, 1) != 0 {
				t.Fatal("the other channel changed")
			}
			got = append(got, b...)
		}
		if floats.Sum(got) != 55+23 || got[95] != 1 || got[104] != 10 || got[999] != 12 {
			t.Errorf("in blocks of %d: %v", size, got)
		}
		if text := fmt.Sprint(got); want == "" {
			want = text
		} else if text != want {
			t.Errorf("blocks of %d read differently", size)
		}
	}
}

// One jump that could not be left out is told in the singular.
func TestOneJumpIsToldAsOne(t *testing.T) {
	for shaky, want := range map[int]string{1: "channel 2 jumps once, and that moment could not", 3: "channel 2 jumps 3 times, and not all of those"} {
		e := examination{shaky: shaky}
		if got, ok := e.unsteadyContact(); !ok || !strings.Contains(got, want) {
			t.Errorf("%q does not say %q", got, want)
		}
	}
}
