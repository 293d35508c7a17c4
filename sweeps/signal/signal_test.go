package signal

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/notice"
)

func TestSweepConstants(t *testing.T) {
	// Check values worked out from the published formula of the synchronized
	// sweep: time constant, duration, and by how much the second and the third
	// harmonic come early, L ln 2 and L ln 3.
	for _, c := range []struct{ lo, hi, dur, L, T, second, third float64 }{
		{10, 1000, 10, 2.2, 10.131374, 1.524924, 2.416947},
		{5, 2000, 20, 3.4, 20.370979, 2.356700, 0},
	} {
		L, T := sweepConstants(c.lo, c.hi, c.dur)
		if math.Abs(L-c.L) > 1e-12 || math.Abs(T-c.T) > 1e-6 || math.Abs(L*math.Ln2-c.second) > 1e-6 {
			t.Errorf("%g to %g Hz in %g s: L %.7f s, T %.7f s, second harmonic %.7f s early", c.lo, c.hi, c.dur, L, T, L*math.Ln2)
		}
		if c.third > 0 && math.Abs(L*math.Log(3)-c.third) > 1e-6 {
			t.Errorf("third harmonic %.7f s early", L*math.Log(3))
		}
	}
}

func TestSignalsKeepTheirLevelAndSilence(t *testing.T) {
	for _, kind := range []Kind{ExponentialSweep, Multitone, PinkNoise} {
		s := Signal{Kind: kind, Rate: 48000, Duration: 12, Level: 0.25}
		x, err := s.Samples()
		if err != nil {
			t.Fatal(err)
		}
		var peak float64
		for _, v := range x {
			peak = max(peak, math.Abs(v))
		}
		if math.Abs(peak-0.25) > 1e-12 {
			t.Errorf("%v: peak %v", kind, peak)
		}
		for i := range 24000 {
			if x[i] != 0 || x[len(x)-1-i] != 0 {
				t.Fatalf("%v: sample %d from either end is not silent", kind, i)
			}
		}
		again, _ := s.Samples()
		for i := range x {
			if x[i] != again[i] {
				t.Fatalf("%v: not the same signal twice", kind)
			}
		}
	}
}

func TestSignalRefusals(t *testing.T) {
	for code, list := range map[string][]Signal{
		"signal-kind":       {{Kind: 7}},
		"signal-rate":       {{Rate: 10}, {Rate: -1}, {Rate: math.MaxInt}},
		"signal-band":       {{Lo: 100, Hi: 50}, {Lo: math.NaN()}, {Lo: math.Inf(1)}, {Hi: math.NaN()}},
		"signal-above-rate": {{Hi: 24000}, {Hi: math.Inf(1)}},
		"signal-short":      {{Duration: 0.1}, {Duration: math.NaN()}, {Lo: 1e-300}},
		"signal-long":       {{Duration: 1e6}, {Duration: math.Inf(1)}, {Duration: 3000, Rate: 192000}},
		"signal-level":      {{Level: 1.5}, {Level: -1}, {Level: math.NaN()}},
		"signal-fade":       {{Fade: 10, Duration: 12}, {Fade: math.NaN()}, {Fade: math.Inf(1)}},
		"signal-period":     {{Kind: Multitone, Period: 10, Duration: 20}, {Kind: Multitone, Period: math.NaN()}, {Kind: Multitone, Period: math.Inf(1)}},
		"signal-empty":      {{Kind: Multitone, Lo: 100, Hi: 100.2}, {Kind: PinkNoise, Lo: 100.01, Hi: 100.02}},
	} {
		for _, s := range list {
			x, err := s.Samples()
			var n *notice.Notice
			if x != nil || !errors.As(err, &n) || n.Code != code {
				t.Errorf("%+v: got %d samples, error %v, want %s", s, len(x), err, code)
			}
		}
	}
}

func TestKindWords(t *testing.T) {
	for kind, want := range map[Kind]string{ExponentialSweep: "sweep", Multitone: "multitone", PinkNoise: "pink-noise", 7: "Kind(7)"} {
		if got := kind.String(); got != want {
			t.Errorf("%d is %q, want %q", uint8(kind), got, want)
		}
	}
}

func TestMultitoneLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	lines := multitoneLines(5, 20000, 4, rng)
	for i, k := range lines {
		if k%2 == 0 {
			t.Fatalf("line %d is even", k)
		}
		for _, hz := range [...]float64{50, 60} {
			if k%int(4*hz) == 0 {
				t.Errorf("line %d is a harmonic of %g Hz", k, hz)
			}
		}
		if i > 0 && k-lines[i-1] < 2 {
			t.Fatalf("lines %d and %d", lines[i-1], k)
		}
	}
	// At the low end every third line of four, in the mean, is played.
	low := 0
	for _, k := range lines {
		if float64(k)/4 < 30 {
			low++
		}
	}
	if low < 33 || low > 41 {
		t.Errorf("%d tones from 5 to 30 Hz, where 50 odd lines lie", low)
	}
}
