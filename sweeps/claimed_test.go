package sweeps

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
)

// trueOverClaimed records one driver n times with fresh noise and returns, for each
// octave, the ratio of the true error to the claimed one (both rms).
func trueOverClaimed(t testing.TB, v virtual.Bench, s signal.Signal, noise [2]float64, common float64, n int) map[int]float64 {
	v.Flaws.Noise = [2]float64{}
	clean := benchtop.Record(t, v, s)
	ch1, ch2 := make([]float64, clean.Frames), make([]float64, clean.Frames)
	if err := clean.Read(ch1, ch2, 0); err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(v.Seed, 77))
	sum, count := map[int]float64{}, map[int]float64{}
	a, b := make([]float64, len(ch1)), make([]float64, len(ch1))
	for range n {
		for i := range a {
			c := 0.0
			if common != 0 {
				c = common * rng.NormFloat64()
			}
			a[i] = ch1[i] + noise[0]*rng.NormFloat64() + c
			b[i] = ch2[i] + noise[1]*rng.NormFloat64() + c
		}
		rec, err := bench.NewRecording(a, b, clean.Rate, "simulated")
		if err != nil {
			t.Fatal(err)
		}
		z, err := Measure(rec, v.Bench)
		if err != nil {
			t.Fatal(err)
		}
		for i, f := range z.Freq {
			o := int(math.Floor(math.Log2(f / 5)))
			sum[o] += dsp.SqAbs(z.Z[i]-v.Z(f)) / (2 * z.Sigma[i] * z.Sigma[i])
			count[o]++
		}
	}
	ratio := map[int]float64{}
	for o := range sum {
		ratio[o] = math.Sqrt(sum[o] / count[o])
	}
	return ratio
}

func octaves(r map[int]float64) []int {
	var o []int
	for k := range r {
		o = append(o, k)
	}
	sort.Ints(o)
	return o
}

// The noise figures of every signal are those of the true error, octave by
// octave. A few recordings show a figure that is wrong by a quarter; the full
// check is BenchmarkClaimedNoise.
func TestClaimedNoiseIsTrue(t *testing.T) {
	for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise} {
		v := benchtop.BenchTop()
		s := signal.Signal{Kind: kind, Rate: 16000, Hi: 6000, Duration: 8, Period: 2}
		r := trueOverClaimed(t, v, s, [2]float64{1e-4, 2e-4}, 5e-5, 12)
		if len(r) < 9 {
			t.Errorf("%v: only %d octaves", kind, len(r))
		}
		for _, o := range octaves(r) {
			t.Logf("%v, from %6.1f Hz: true over claimed error %.3f", kind, 5*math.Exp2(float64(o)), r[o])
			if r[o] < 0.8 || r[o] > 1.25 {
				t.Errorf("%v, from %6.1f Hz: true over claimed error %.3f", kind, 5*math.Exp2(float64(o)), r[o])
			}
		}
	}
}

// BenchmarkClaimedNoise is the full check of the noise figures: 200 recordings of
// each signal. It reports the ratio of true to claimed error of the worst
// octaves.
//
//	go test ./sweeps -run xxx -bench ClaimedNoise -benchtime 1x
func BenchmarkClaimedNoise(b *testing.B) {
	for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise} {
		for _, level := range []float64{3e-5, 1e-3} {
			b.Run(fmt.Sprintf("%v/noise=%g", kind, level), func(b *testing.B) {
				for range b.N {
					v := benchtop.BenchTop()
					r := trueOverClaimed(b, v, signal.Signal{Kind: kind, Rate: 48000, Duration: 12, Fade: 0.02}, [2]float64{level, level}, 0, 200)
					lo, hi := math.Inf(1), 0.0
					for _, o := range octaves(r) {
						b.Logf("from %7.1f Hz: %.3f", 5*math.Exp2(float64(o)), r[o])
						lo, hi = min(lo, r[o]), max(hi, r[o])
					}
					b.ReportMetric(lo, "lowest")
					b.ReportMetric(hi, "highest")
				}
			})
		}
	}
}
