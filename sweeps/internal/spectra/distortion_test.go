package spectra

import (
	"math/rand/v2"
	"testing"

	"conewright/sweeps/internal/dsp"
)

// freeLines is a recording of periods with a tone on every fourth line, and noise that is ten times as strong on the lowest lines; add is
// what a driver adds on the odd free lines.
func freeLines(rng *rand.Rand, periods int, add complex128) (*lines, []bool) {
	const count = 240
	l := &lines{Period: 1. / 7, Count: periods, x: make([]complex128, count), y: make([]complex128, count), xx: make([]float64, count), yy: make([]float64, count), yx: make([]complex128, count)}
	on := make([]bool, count)
	for k := range count {
		on[k] = k%4 == 1
		std := 1e-3
		if k < count/8 {
			std = 1e-2
		}
		for range periods {
			x := complex(1e-6*rng.NormFloat64(), 0)
			y := complex(std*rng.NormFloat64(), std*rng.NormFloat64())
			switch {
			case on[k]:
				x += 1
				y += 0.5
			case k%2 == 1:
				y += add
			}
			l.x[k], l.y[k] = l.x[k]+x, l.y[k]+y
			l.xx[k], l.yy[k], l.yx[k] = l.xx[k]+dsp.SqAbs(x), l.yy[k]+dsp.SqAbs(y), l.yx[k]+y*conj(x)
		}
	}
	return l, on
}

// Noise alone passes the floor in about one of a thousand recordings, whatever its colour, and what lies clearly above the
// noise passes it always.
func TestFloorOfFreeLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 4))
	for _, periods := range []int{3, 6} {
		const runs = 3000
		passed, missed := 0, 0
		for range runs {
			l, on := freeLines(rng, periods, 0)
			if got := l.distortion(on); got.Even.Seen() || got.Odd.Seen() {
				passed++
			}
		}
		for range 100 {
			l, on := freeLines(rng, periods, 0.02)
			got := l.distortion(on)
			if !got.Odd.Seen() || got.Odd.Share < 0.034 || got.Odd.Share > 0.046 {
				missed++
			}
		}
		// Two kinds of lines: 6 are expected.
		if passed > 18 || passed == 0 || missed > 3 {
			t.Errorf("%d periods: noise alone was seen in %d of %d, and distortion missed in %d of 100", periods, passed, runs, missed)
		}
	}
}
