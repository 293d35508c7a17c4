package sweeps

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The variance of a line from the scatter of Y - H X is the textbook's formula
// for the ratio of two noisy, correlated quantities,
//
//	var H/|H|^2 = ( var Y/|Y|^2 + var X/|X|^2 - 2 Re(cov(Y,X)/(Y X*)) )/M
//
// Source: Pintelon and Schoukens, System Identification, 2nd ed. (from memory).
func TestPeriodicVarianceIsTheRatioFormula(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	normal := func(s float64) complex128 { return complex(s*rng.NormFloat64(), s*rng.NormFloat64()) }
	const m = 7
	l := &lines{period: 1, count: m, x: make([]complex128, 1), y: make([]complex128, 1), xx: make([]float64, 1), yy: make([]float64, 1), yx: make([]complex128, 1)}
	var xs, ys [m]complex128
	for p := range m {
		common := normal(0.02)
		xs[p], ys[p] = 1+2i+common+normal(0.01), 0.3-0.4i+common+normal(0.02)
		l.add([2][]complex128{{xs[p]}, {ys[p]}})
	}
	var mx, my complex128
	for p := range m {
		mx += xs[p] / m
		my += ys[p] / m
	}
	var vx, vy float64
	var c complex128
	for p := range m {
		vx += sqAbs(xs[p]-mx) / (m - 1)
		vy += sqAbs(ys[p]-my) / (m - 1)
		c += (ys[p] - my) * conj(xs[p]-mx) / (m - 1)
	}
	want := (vy/sqAbs(my) + vx/sqAbs(mx) - 2*real(c/(my*conj(mx)))) / m
	h, noise := l.ratio(0)
	got := noise / (m * sqAbs(mx)) / sqAbs(h)
	if math.Abs(got/want-1) > 1e-12 {
		t.Errorf("relative variance %.12g, the formula says %.12g", got, want)
	}
}

// What a technician does wrong with the recorder does not bias the impedance.
func TestEstimateDoesNotCareHowItWasRecorded(t *testing.T) {
	for name, change := range map[string]func(f *Flaws){
		"player 50 ppm fast":    func(f *Flaws) { f.Clock = 50e-6 },
		"player 1000 ppm slow":  func(f *Flaws) { f.Clock = -1000e-6 },
		"started late":          func(f *Flaws) { f.CutStart = 1.7 },
		"stopped early":         func(f *Flaws) { f.After = 0; f.CutEnd = 1.3 },
		"offset":                func(f *Flaws) { f.Offset = [2]float64{0.02, -0.01} },
		"hum at 50 Hz":          func(f *Flaws) { f.Hum = [2]float64{3e-3, 1e-3}; f.HumHz = 50.03 },
		"hum at 60 Hz":          func(f *Flaws) { f.Hum = [2]float64{3e-3, 1e-3}; f.HumHz = 59.96 },
		"16 bit":                func(f *Flaws) { f.Bits = 16 },
		"latency, odd fraction": func(f *Flaws) { f.Latency = 0.123456789 },
		"noise in both":         func(f *Flaws) { f.CommonNoise = 3e-4 },
	} {
		for _, kind := range []SignalKind{ExponentialSweep, PinkNoise, Multitone} {
			v := benchTop()
			change(&v.Flaws)
			s := Signal{Kind: kind, Rate: 16000, Hi: 7000, Duration: 10, Period: 2}
			m, err := Measure(record(t, v, s), v.Bench)
			if err != nil {
				t.Errorf("%s, %v: %v", name, kind, err)
				continue
			}
			if repeats := m.Periods > 0; repeats != (kind == Multitone) {
				t.Errorf("%s, %v: %d periods", name, kind, m.Periods)
			}
			var chi2 float64
			n := 0
			for i, f := range m.Impedance.Freq {
				e := sqAbs(m.Impedance.Z[i]-larch.Impedance(f)) / (2 * m.Impedance.Sigma[i] * m.Impedance.Sigma[i])
				chi2 += e
				n++
				if e > 32 {
					t.Errorf("%s, %v: at %.2f Hz the error is %.1f standard deviations", name, kind, f, math.Sqrt(e))
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
	m, err := Measure(record(t, benchTop(), Signal{Kind: Multitone, Rate: 16000, Hi: 7000, Duration: 12, Period: 1}), benchTop().Bench)
	if err != nil || m.Periods < 10 {
		t.Errorf("%d periods of 12, %v", m.Periods, err)
	}
}

// A sweep that is played over and over repeats itself too, but has too many
// lines to be a multitone.
func TestRepeatedSweepIsNoMultitone(t *testing.T) {
	s := Signal{Rate: 16000, Hi: 7000, Duration: 4}
	one, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	var x []float64
	for range 4 {
		x = append(x, one...)
	}
	v := benchTop()
	rec, err := v.Record(x, s.Rate)
	if err != nil {
		t.Fatal(err)
	}
	m, err := Measure(rec, v.Bench)
	if err != nil || m.Periods != 0 || m.Impedance.Len() > 1000 {
		t.Errorf("%d periods, %d points, %v", m.Periods, m.Impedance.Len(), err)
	}
	if off := worst(m.Impedance.Freq, m.Impedance.Z, 10, 6000); off > 5e-3 {
		t.Errorf("error %.2g", off)
	}
}

// The detection lines of a multitone tell even from odd distortion.
func TestDistortionLines(t *testing.T) {
	s := Signal{Kind: Multitone, Rate: 16000, Hi: 7000, Duration: 12, Period: 2}
	hear := func(q, c float64) Distortion {
		v := benchTop()
		v.Flaws.Quadratic, v.Flaws.Cubic = q, c
		m, err := Measure(record(t, v, s), v.Bench)
		if err != nil {
			t.Fatal(err)
		}
		if m.Distortion == nil {
			t.Fatal("no distortion was looked for")
		}
		return *m.Distortion
	}
	none, even, odd := hear(0, 0), hear(0.1, 0), hear(0, 2)
	if none.Total() > 3e-3 {
		t.Errorf("a linear driver shows %.2g", none.Total())
	}
	if even.Even < 5*even.Odd || even.Even < 0.005 {
		t.Errorf("a square law shows even %.2g, odd %.2g", even.Even, even.Odd)
	}
	if odd.Odd < 3*odd.Even || odd.Odd < 0.005 {
		t.Errorf("a cube law shows even %.2g, odd %.2g", odd.Even, odd.Odd)
	}
}

func TestMultitoneLines(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	lines := multitoneLines(5, 20000, 4, rng)
	for i, k := range lines {
		if k%2 == 0 {
			t.Fatalf("line %d is even", k)
		}
		for _, hz := range mainsHz {
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
