package harmonics

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// sweep is an exponential sweep as it stands in a recording,
//
//	sin( 2 pi L exp((t - at)/L) + phase ),   frequency exp((t - at)/L)
//
// whatever played it: L and at are in the seconds of the recorder's clock.
type sweep struct {
	l  float64 // s, in which the frequency grows by the factor e
	at float64 // s from the start of the samples, when the frequency would be 1 Hz

	lo, hi float64 // Hz, between which it was followed
}

const (
	highestPart  = 0.12 // of the sample rate, up to which zero crossings are looked at
	leastSpan    = 1.5  // octaves that a sweep must be followed over
	loudEnough   = 0.3  // of the usual peak, below which a crossing may be noise
	mostShorter  = 0.75 // of one half-period to the next; a sweep of 5 s from 5 Hz has 0.9
	mostLonger   = 1.06
	mostOffPhase = 0.1 // rad rms, by which crossings may miss those of a sweep
	fewestOf     = 24  // crossings
)

// find recognises an exponential sweep in x (at rate Hz) by its zero crossings: they come when the
// phase is a multiple of pi,
//
//	t_k = a + L ln(k + c),    at = a + L ln(2 L)
//
// for any start, phase and clock. Frequencies count alike for each octave. It fails on any other signal.
// Derived.
func find(x []float64, rate float64) (sweep, bool) {
	t := longestRun(x, rate)
	if len(t) < fewestOf {
		return sweep{}, false
	}
	n := len(t)
	frequency := func(k int) float64 { // around the crossing k
		lo, hi := max(0, k-2), min(n-1, k+2)
		return float64(hi-lo) / 2 / (t[hi] - t[lo])
	}
	first, last := frequency(2), frequency(n-3)
	if math.Log2(last/first) < leastSpan {
		return sweep{}, false
	}
	l := (t[n-3] - t[2]) / math.Log(last/first)
	c := 2*first*l - 2
	a := t[2] - l*math.Log(2+c)
	rows, off := mat.NewDense(n, 3, nil), mat.NewVecDense(n, nil)
	for range 20 {
		if !(c > -1) || !(l > 0) {
			return sweep{}, false
		}
		for k := range t {
			u := float64(k) + c
			if !(u > 0) {
				return sweep{}, false
			}
			w := math.Sqrt(u) // of a phase error is 1/sqrt(f), as crossings come as often as f
			rows.SetRow(k, []float64{w, w * math.Log(u), w * l / u})
			off.SetVec(k, w*(t[k]-a-l*math.Log(u)))
		}
		var step mat.VecDense
		if err := step.SolveVec(rows, off); err != nil {
			return sweep{}, false
		}
		a, l, c = a+step.AtVec(0), l+step.AtVec(1), c+step.AtVec(2)
		if math.Abs(step.AtVec(1)) < 1e-12*l && math.Abs(step.AtVec(2)) < 1e-9*c {
			break
		}
	}
	sum, weight := 0.0, 0.0
	for k := range t {
		u := float64(k) + c
		miss := math.Pi * u / l * (t[k] - a - l*math.Log(u)) // 2 pi f times the time
		sum += miss * miss / u
		weight += 1 / u
	}
	if !(sum/weight < mostOffPhase*mostOffPhase) {
		return sweep{}, false
	}
	return sweep{l: l, at: a + l*math.Log(2*l), lo: c / (2 * l), hi: (float64(n-1) + c) / (2 * l)}, true
}

// time returns when the sweep passes f (Hz), in s from the start of the samples.
func (s sweep) time(f float64) float64 { return s.at + s.l*math.Log(f) }

// longestRun returns the times (s) of the zero crossings of x over which its frequency rises steadily
// for the largest ratio.
func longestRun(x []float64, rate float64) []float64 {
	x = slices.Clone(x)
	floats.AddConst(-floats.Sum(x)/float64(max(1, len(x))), x)
	var all, peaks []float64 // crossings, and the peak before each
	peak := 0.0
	for i := 2; i+1 < len(x); i++ {
		peak = max(peak, math.Abs(x[i-1]))
		if (x[i-1] < 0) == (x[i] < 0) {
			continue
		}
		all = append(all, (float64(i-1)+crossing(x[i-2:i+2]))/rate)
		peaks = append(peaks, peak)
		peak = 0
	}
	if len(all) < fewestOf {
		return nil
	}
	usual := slices.Clone(peaks)
	slices.Sort(usual)
	least := loudEnough * usual[len(usual)*9/10]
	shortest := 1 / (2 * highestPart * rate)
	var best []float64
	bestRatio := 1.0
	from := 0
	for k := 2; k <= len(all); k++ {
		if k < len(all) {
			before, now := all[k-1]-all[k-2], all[k]-all[k-1]
			if peaks[k] >= least && peaks[k-1] >= least && now >= shortest && now > mostShorter*before && now < mostLonger*before {
				continue
			}
		}
		if run := all[from:k]; len(run) > 5 {
			if ratio := (run[4] - run[0]) / (run[len(run)-1] - run[len(run)-5]); ratio > bestRatio {
				best, bestRatio = run, ratio
			}
		}
		from = k - 1
	}
	return best
}

// crossing returns where between the middle two of four samples, 0 to 1, the cubic through all four is zero.
func crossing(w []float64) float64 {
	u := w[1] / (w[1] - w[2])
	for range 3 {
		a, b, c, d := u+1, u, u-1, u-2
		v := -w[0]*b*c*d/6 + w[1]*a*c*d/2 - w[2]*a*b*d/2 + w[3]*a*b*c/6
		u = min(max(u-v/(w[2]-w[1]), 0), 1)
	}
	return u
}
