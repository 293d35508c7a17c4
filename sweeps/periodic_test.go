package sweeps

import (
	"math"
	"testing"

	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/measured"
)

// What a technician does wrong with the recorder does not bias the impedance.
func TestMeasureDoesNotCareHowItWasRecorded(t *testing.T) {
	for name, change := range map[string]func(f *virtual.Flaws){
		"player 50 ppm fast":    func(f *virtual.Flaws) { f.Clock = 50e-6 },
		"player 1000 ppm slow":  func(f *virtual.Flaws) { f.Clock = -1000e-6 },
		"started late":          func(f *virtual.Flaws) { f.CutStart = 1.7 },
		"stopped early":         func(f *virtual.Flaws) { f.After = 0; f.CutEnd = 1.3 },
		"offset":                func(f *virtual.Flaws) { f.Offset = [2]float64{0.02, -0.01} },
		"hum at 50 Hz":          func(f *virtual.Flaws) { f.Hum = [2]float64{3e-3, 1e-3}; f.HumHz = 50.03 },
		"hum at 60 Hz":          func(f *virtual.Flaws) { f.Hum = [2]float64{3e-3, 1e-3}; f.HumHz = 59.96 },
		"16 bit":                func(f *virtual.Flaws) { f.Bits = 16 },
		"latency, odd fraction": func(f *virtual.Flaws) { f.Latency = 0.123456789 },
		"noise in both":         func(f *virtual.Flaws) { f.CommonNoise = 3e-4 },
	} {
		for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.PinkNoise, signal.Multitone} {
			v := benchtop.BenchTop()
			change(&v.Flaws)
			s := signal.Signal{Kind: kind, Rate: 16000, Hi: 7000, Duration: 10, Period: 2}
			z, e, err := measure(benchtop.Record(t, v, s), v.Bench)
			if err != nil {
				t.Errorf("%s, %v: %v", name, kind, err)
				continue
			}
			if repeats := e.Lines != nil; repeats != (kind == signal.Multitone) {
				t.Errorf("%s, %v: repeats %v", name, kind, repeats)
			}
			var chi2 float64
			n := 0
			for i, f := range z.Freq {
				off := dsp.SqAbs(z.Z[i]-benchtop.Larch.Impedance(f)) / (2 * z.Sigma[i] * z.Sigma[i])
				chi2 += off
				n++
				if off > 32 {
					t.Errorf("%s, %v: at %.2f Hz the error is %.1f standard deviations", name, kind, f, math.Sqrt(off))
				}
			}
			if r := math.Sqrt(chi2 / float64(n)); r > 1.15 || n < 200 {
				t.Errorf("%s, %v: error over sigma %.2f, %d points", name, kind, r, n)
			}
		}
	}
}

// Every period counts, also where several come with one block of the file.
func TestEveryPeriodCounts(t *testing.T) {
	_, e, err := measure(benchtop.Record(t, benchtop.BenchTop(), signal.Signal{Kind: signal.Multitone, Rate: 16000, Hi: 7000, Duration: 12, Period: 1}), benchtop.BenchTop().Bench)
	if err != nil {
		t.Fatal(err)
	}
	if e.Lines == nil || e.Lines.Count < 10 {
		t.Errorf("%+v of 12 periods", e.Lines)
	}
}

// At the usual rate of a sound card, and at twice that, which is halved first, tones are measured up to the
// highest.
func TestMultitoneToItsTop(t *testing.T) {
	for _, rate := range []int{48000, 96000} {
		v := benchtop.BenchTop()
		z, e, err := measure(benchtop.Record(t, v, signal.Signal{Kind: signal.Multitone, Rate: rate, Hi: 15000, Duration: 4, Period: 1}), v.Bench)
		if err != nil {
			t.Fatal(err)
		}
		if e.Lines == nil || z.Len() < 100 || z.Freq[z.Len()-1] < 14000 {
			t.Fatalf("%d Hz: %d points to %.0f Hz", rate, z.Len(), z.Freq[z.Len()-1])
		}
		for i, f := range z.Freq {
			if off := math.Sqrt(dsp.SqAbs(z.Z[i]-benchtop.Larch.Impedance(f))) / z.Sigma[i]; off > 8 {
				t.Errorf("%d Hz: at %.1f Hz the error is %.1f standard deviations", rate, f, off)
			}
		}
	}
}

// A sweep that is played over and over repeats itself too, but has too many
// lines to be a multitone.
func TestRepeatedSweepIsNoMultitone(t *testing.T) {
	s := signal.Signal{Rate: 16000, Hi: 7000, Duration: 4}
	one, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	var x []float64
	for range 4 {
		x = append(x, one...)
	}
	v := benchtop.BenchTop()
	rec, err := v.Record(x, s.Rate)
	if err != nil {
		t.Fatal(err)
	}
	z, e, err := measure(rec, v.Bench)
	if err != nil {
		t.Fatal(err)
	}
	if e.Lines != nil || z.Len() > 1000 {
		t.Errorf("taken for a multitone with %+v, %d points", e.Lines, z.Len())
	}
	if off := worst(z.Freq, z.Z, 10, 6000); off > 5e-3 {
		t.Errorf("error %.2g", off)
	}
}

// The detection lines of a multitone tell even from odd distortion.
func TestDistortionLines(t *testing.T) {
	s := signal.Signal{Kind: signal.Multitone, Rate: 16000, Hi: 7000, Duration: 12, Period: 2}
	distortion := func(q, c float64) measured.FreeLines {
		v := benchtop.BenchTop()
		v.Flaws.Quadratic, v.Flaws.Cubic = q, c
		z, _, err := measure(benchtop.Record(t, v, s), v.Bench)
		if err != nil {
			t.Fatal(err)
		}
		if z.FreeLines == nil {
			t.Fatal("no distortion was looked for")
		}
		return *z.FreeLines
	}
	none, even, odd := distortion(0, 0), distortion(0.1, 0), distortion(0, 2)
	if none.Even.Seen() || none.Odd.Seen() || none.Even.Share > 3e-3 || none.Odd.Share > 3e-3 {
		t.Errorf("a linear driver shows %+v", none)
	}
	if even.Even.Share < 5*even.Odd.Share || even.Even.Share < 0.005 || !even.Even.Seen() {
		t.Errorf("a square law shows %+v", even)
	}
	if odd.Odd.Share < 3*odd.Even.Share || odd.Odd.Share < 0.005 || !odd.Odd.Seen() {
		t.Errorf("a cube law shows %+v", odd)
	}
	// The threshold follows the noise: distortion of a tenth of a percent is seen, and none is twice what is there.
	small := distortion(0.005, 0)
	if !small.Even.Seen() || small.Odd.Seen() || small.Even.Share > 3e-3 || small.Even.Floor > 1e-3 {
		t.Errorf("a weak square law shows %+v", small)
	}
}
