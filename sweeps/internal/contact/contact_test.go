package contact

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/notice"

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

// A recording with filled gaps reads the same in whatever blocks.
func TestGapsReadInBlocks(t *testing.T) {
	rec, err := bench.NewRecording(make([]float64, 1000), make([]float64, 1000), 8000, "zeros")
	if err != nil {
		t.Fatal(err)
	}
	g := &gaps{whole: rec, channel: 1, list: []gap{{from: 95, samples: []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}}, {from: 998, samples: []float64{11, 12}}}}
	want := ""
	for _, size := range []int{1000, 100, 3, 1} {
		got := make([]float64, 0, 1000)
		for from := 0; from < 1000; from += size {
			n := min(size, 1000-from)
			a, b := make([]float64, n), make([]float64, n)
			if err := g.recording().Read(a, b, from); err != nil {
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

// What could not be filled is told before what could.
func TestWarning(t *testing.T) {
	gaps := []spectra.Interval{{From: 2.5, To: 2.52}, {From: 7, To: 7.01}}
	for _, c := range []struct {
		e     spectra.Result
		facts notice.Facts
	}{
		{spectra.Result{Unfilled: 3, Gaps: gaps}, notice.Facts{"channel": 2, "kept": 3}},
		{spectra.Result{Gaps: gaps, Swap: true}, notice.Facts{"channel": 1, "gaps": 2, "first": 2.5}},
	} {
		n := Warning(&c.e)
		if n == nil || n.Code != "unsteady-contact" || !maps.Equal(n.Facts, c.facts) {
			t.Errorf("%v, want %v", n, c.facts)
		}
	}
	if n := Warning(&spectra.Result{}); n != nil {
		t.Errorf("a steady contact: %v", n)
	}
}

// That nobody looked at the rest of a long recording is said.
func TestUnwatched(t *testing.T) {
	const rate = 100
	for _, c := range []struct {
		seconds float64
		told    bool
	}{{spectra.WatchedSeconds, false}, {spectra.WatchedSeconds + 1, true}} {
		n := int(c.seconds * rate)
		rec, err := bench.NewRecording(make([]float64, n), make([]float64, n), rate, "zeros")
		if err != nil {
			t.Fatal(err)
		}
		if got := Unwatched(&spectra.Result{Rec: rec}); (got != nil) != c.told {
			t.Errorf("%g s: %v", c.seconds, got)
		}
	}
}
