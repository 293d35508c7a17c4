package sweeps

import (
	"math"
	"slices"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/checks"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/testfiles"
	"conewright/sweeps/signal"
)

// A contact that opens for a few milliseconds neither biases the impedance nor
// makes its noise figure a lie, and is told.
func TestOpeningsAreLeftOut(t *testing.T) {
	for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise} {
		var chi2, n float64
		for seed := range uint64(4) {
			v := benchtop.BenchTop()
			v.Seed, v.Bench.Wiring = []uint64{10, 20, 21, 23}[seed], bench.Wiring(seed%3) // their openings meet the signal
			s := signal.Signal{Kind: kind, Rate: 16000, Hi: 7000, Duration: 12, Period: 2}
			quiet, err := Measure(benchtop.Record(t, v, s), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			if len(quiet.Warnings) > 0 {
				t.Errorf("%v, seed %d, no opening: %v", kind, seed, quiet.Warnings)
			}
			v.Flaws.Openings = 1 + int(seed%2)
			m, err := Measure(benchtop.Record(t, v, s), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			z := m
			told := len(z.Warnings) == 1 && z.Warnings[0].Code == "unsteady-contact"
			for i, f := range z.Freq {
				chi2 += dsp.SqAbs(z.Z[i]-benchtop.Larch.Impedance(f)) / (2 * z.Sigma[i] * z.Sigma[i])
				n++
			}
			grown := checks.MedianNoise(z) / checks.MedianNoise(quiet)
			t.Logf("%v, seed %d: %d points, noise %.2f times, %v", kind, seed, z.Len(), grown, z.Warnings)
			if !told || grown > 3 || z.Len() < quiet.Len()*9/10 {
				t.Errorf("%v, seed %d: %d of %d points, noise %.2f times that without, %v", kind, seed, z.Len(), quiet.Len(), grown, z.Warnings)
			}
		}
		if ratio := math.Sqrt(chi2 / n); ratio > 1.2 {
			t.Errorf("%v: true over claimed error %.2f", kind, ratio)
		}
	}
}

// Distortion of the driver is spiky too, but comes back in every period.
func TestDistortionIsNoOpening(t *testing.T) {
	v := benchtop.BenchTop()
	v.Flaws.Quadratic, v.Flaws.Cubic = 0.5, 2
	s := benchtop.QuickSweep
	s.Kind, s.Period = signal.Multitone, 1
	if got := codes(benchtop.Record(t, v, s), v.Bench); slices.Contains(got, "unsteady-contact") || !slices.Contains(got, "distortion") {
		t.Errorf("got %v", got)
	}
}

// Openings that a sweep hid: where it bends sharply itself, where it was near its
// peak and looked clipped, and where the way to the filled recording ran away.
// Each of these gave points many times their noise off the truth, or a refusal.
func TestOpeningsInASweep(t *testing.T) {
	for _, c := range []struct {
		seed     uint64
		openings int
		wiring   bench.Wiring
	}{{39, 1, bench.ResistorFirst}, {21, 2, bench.ResistorFirst}, {4, 3, bench.DriverFirst}, {18, 5, bench.ResistorFirst}} {
		v := benchtop.BenchTop()
		v.Seed, v.Bench.Wiring = c.seed, c.wiring
		v.Flaws.Openings, v.Flaws.Bits = c.openings, 24
		m, err := Measure(benchtop.Record(t, v, signal.Signal{Kind: signal.ExponentialSweep, Rate: 16000, Hi: 7000, Duration: 15}), v.Bench)
		if err != nil {
			t.Errorf("seed %d: %v", c.seed, err)
			continue
		}
		z := m
		var chi2, worst float64
		for i, f := range z.Freq {
			off := dsp.SqAbs(z.Z[i]-benchtop.Larch.Impedance(f)) / (z.Sigma[i] * z.Sigma[i])
			chi2 += off / 2 / float64(z.Len())
			worst = max(worst, math.Sqrt(off))
		}
		t.Logf("seed %d: chi-squared %.2f, worst %.1f, %v", c.seed, chi2, worst, z.Warnings)
		if len(z.Warnings) != 1 || z.Warnings[0].Code != "unsteady-contact" || z.Len() < 350 || chi2 > 1.2 || worst > 6 {
			t.Errorf("seed %d: %d points, mean chi-squared %.2f, worst error %.1f times its noise, %v", c.seed, z.Len(), chi2, worst, z.Warnings)
		}
	}
}

// withOpenings is what became of recordings with openings.
type withOpenings struct {
	told, refused int
	far           int // with a point more than six times its noise off the truth
	farthest      float64
	chi2, points  float64
	grown         []float64 // noise relative to that without openings
}

// recordOpenings measures n recordings of s with some openings, 1 to 2 where openings is 0.
func recordOpenings(t testing.TB, s signal.Signal, openings, n int) (c withOpenings) {
	for seed := range uint64(n) {
		v := benchtop.BenchTop()
		v.Seed, v.Bench.Wiring = seed, bench.Wiring(seed%3)
		v.Flaws.Bits = 24
		quiet, err := Measure(benchtop.Record(t, v, s), v.Bench)
		if err != nil {
			t.Fatal(err)
		}
		v.Flaws.Openings = openings
		if openings == 0 {
			v.Flaws.Openings = 1 + int(seed/3%2)
		}
		m, err := Measure(benchtop.Record(t, v, s), v.Bench)
		if err != nil {
			c.refused++
			continue
		}
		worst := 0.0
		for i, f := range m.Freq {
			off := dsp.SqAbs(m.Z[i]-benchtop.Larch.Impedance(f)) / (m.Sigma[i] * m.Sigma[i])
			c.chi2 += off / 2
			c.points++
			worst = max(worst, math.Sqrt(off))
		}
		if worst > 6 {
			c.far++
		}
		c.farthest = max(c.farthest, worst)
		if slices.Contains(strings.Fields(testfiles.Codes(m.Warnings)), "unsteady-contact") {
			c.told++
		}
		c.grown = append(c.grown, checks.MedianNoise(m)/checks.MedianNoise(quiet))
	}
	return c
}

// BenchmarkOpenings counts what openings of a contact do.
//
//	go test ./sweeps -run xxx -bench Openings -benchtime 1x
func BenchmarkOpenings(b *testing.B) {
	for _, c := range []struct {
		name     string
		signal   signal.Signal
		openings int
		n        int
	}{
		{"sweep", signal.Signal{Kind: signal.ExponentialSweep, Rate: 16000, Hi: 7000, Duration: 12}, 0, 30},
		{"multitone", signal.Signal{Kind: signal.Multitone, Rate: 16000, Hi: 7000, Duration: 12, Period: 2}, 0, 30},
		{"pink-noise", signal.Signal{Kind: signal.PinkNoise, Rate: 16000, Hi: 7000, Duration: 12}, 0, 30},
		{"sweep, three", signal.Signal{Kind: signal.ExponentialSweep, Rate: 16000, Hi: 7000, Duration: 15}, 3, 40},
	} {
		b.Run(c.name, func(b *testing.B) {
			for range b.N {
				r := recordOpenings(b, c.signal, c.openings, c.n)
				loud := 0
				for _, g := range r.grown {
					if g > 3 {
						loud++
					}
				}
				b.ReportMetric(float64(r.told), "told")
				b.ReportMetric(float64(r.refused), "refused")
				b.ReportMetric(float64(r.far), "far")
				b.ReportMetric(r.farthest, "farthest")
				b.ReportMetric(math.Sqrt(r.chi2/r.points), "ratio")
				b.ReportMetric(dsp.Median(r.grown), "noise")
				b.ReportMetric(float64(loud), "loud")
			}
		})
	}
}
