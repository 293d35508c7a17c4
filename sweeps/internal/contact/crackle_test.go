package contact

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"

	"gonum.org/v1/gonum/floats"
)

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
		if got := math.Sqrt(powerAt(x, f)); math.Abs(got-math.Sqrt(dsp.SqAbs(want))) > 1e-9 {
			t.Errorf("at %g: size %g, want %g", f, got, math.Sqrt(dsp.SqAbs(want)))
		}
	}
}

// A patched recording reads the same in whatever blocks.
func TestPatchesReadInBlocks(t *testing.T) {
	rec, err := bench.NewRecording(make([]float64, 1000), make([]float64, 1000), 8000, "zeros")
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
		e := spectra.Heard{Shaky: shaky}
		if got, ok := UnsteadyContact(&e); !ok || !strings.Contains(got, want) {
			t.Errorf("%q does not say %q", got, want)
		}
	}
}
