package signal

import (
	"math"
	"testing"
)

func TestSweepConstants(t *testing.T) {
	// Check values worked out from the published formula of the synchronized
	// sweep: time constant, duration, and by how much the second and the third
	// harmonic come early, L ln 2 and L ln 3.
	for _, c := range []struct{ lo, hi, dur, L, T, second, third float64 }{
		{10, 1000, 10, 2.2, 10.131374, 1.524924, 2.416947},
		{5, 2000, 20, 3.4, 20.370979, 2.356700, 0},
	} {
		L, T := SweepConstants(c.lo, c.hi, c.dur)
		if math.Abs(L-c.L) > 1e-12 || math.Abs(T-c.T) > 1e-6 || math.Abs(L*math.Ln2-c.second) > 1e-6 {
			t.Errorf("%g to %g Hz in %g s: L %.7f s, T %.7f s, second harmonic %.7f s early", c.lo, c.hi, c.dur, L, T, L*math.Ln2)
		}
		if c.third > 0 && math.Abs(L*math.Log(3)-c.third) > 1e-6 {
			t.Errorf("third harmonic %.7f s early", L*math.Log(3))
		}
	}
}

func TestSignalsKeepTheirLevelAndSilence(t *testing.T) {
	for _, kind := range []SignalKind{ExponentialSweep, Multitone, PinkNoise} {
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
	for name, s := range map[string]Signal{
		"rate":     {Rate: 10},
		"band":     {Lo: 100, Hi: 50},
		"nyquist":  {Hi: 24000},
		"short":    {Duration: 0.1},
		"long":     {Duration: 1e6},
		"level":    {Level: 1.5},
		"negative": {Level: -1},
		"fade":     {Fade: 10, Duration: 12},
		"period":   {Kind: Multitone, Period: 10, Duration: 20},
		"nan":      {Lo: math.NaN()},
	} {
		x, err := s.Samples()
		h, ok := err.(interface{ Hint() string })
		if x != nil || !ok || h.Hint() == "" {
			t.Errorf("%s: got %d samples, error %v", name, len(x), err)
		}
	}
}

func TestLowCrestPhasesAreLow(t *testing.T) {
	crest := func(low bool) float64 {
		s := Signal{Kind: Multitone, Rate: 48000, Duration: 12, LowCrest: low}.Defaults()
		x := s.multitone()
		var peak, sum float64
		for _, v := range x {
			peak = max(peak, math.Abs(v))
			sum += v * v
		}
		return peak / math.Sqrt(sum/float64(len(x)))
	}
	low, random := crest(true), crest(false)
	if low > 3.6 || low > 0.85*random {
		t.Errorf("crest factor %.2f with low-crest phases, %.2f with random ones", low, random)
	}
}
