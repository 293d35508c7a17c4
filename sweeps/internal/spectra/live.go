package spectra

import (
	"slices"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Live estimates the ratio of the channels while a recording of a sweep grows. Like a
// [pyramid] it looks at several sample rates, but each time only at the last samples of
// each: a sweep passes by once, and what an earlier look said of lower frequencies stays. So
// the work for a look does not grow with the recording.
type Live struct {
	entry  [2][]*dsp.Halfband
	levels []liveLevel
}

// liveLevel is one sample rate.
type liveLevel struct {
	lo, hi  float64 // Hz
	rate    float64 // Hz
	longest int     // samples that a look takes
	down    [2][]*dsp.Halfband
	samples [2][]float64 // the last ones
	dropped int          // samples before those
	bands   []band       // of the longest look
	points  []Point      // by the bands of the longest look, the best of all looks; no power: none yet
}

// NewLive begins a recording at rate (Hz).
func NewLive(rate float64) *Live {
	l := &Live{}
	for rate/2*0.42 >= highestHz {
		for c := range l.entry {
			l.entry[c] = append(l.entry[c], dsp.NewHalfband(highestHz/rate))
		}
		rate /= 2
	}
	hi := min(highestHz, 0.42*rate)
	for i, longest := range longestSegment {
		v := liveLevel{hi: hi, longest: longest}
		if i > 0 {
			for range 3 {
				for c := range v.down {
					v.down[c] = append(v.down[c], dsp.NewHalfband(hi/rate))
				}
				rate /= 2
			}
		}
		v.rate, v.lo = rate, LowestHz
		if i < len(longestSegment)-1 {
			v.lo = Usable * rate / 8
		}
		l.levels = append(l.levels, v)
		hi = v.lo
	}
	return l
}

// Push takes in what was recorded since.
func (l *Live) Push(ch1, ch2 []float64) {
	for c, x := range [2][]float64{ch1, ch2} {
		for _, h := range l.entry[c] {
			x = h.Push(x)
		}
		for i := range l.levels {
			v := &l.levels[i]
			for _, h := range v.down[c] {
				x = h.Push(x)
			}
			v.samples[c] = append(v.samples[c], x...)
		}
	}
	for i := range l.levels {
		v := &l.levels[i]
		if drop := len(v.samples[0]) - v.longest; drop > v.longest && len(v.samples[1]) == len(v.samples[0]) {
			for c := range v.samples {
				v.samples[c] = v.samples[c][:copy(v.samples[c], v.samples[c][drop:])]
			}
			v.dropped += drop
		}
	}
}

// Look estimates the ratio from what was recorded so far; passing is the frequency (Hz) that
// the sweep has at a time (s) of the recording, 0 before its start. Frequencies that it has
// not passed hold noise, whose ratio means nothing.
func (l *Live) Look(swap bool, passing func(t float64) float64) *Result {
	var points []Point
	for i := len(l.levels) - 1; i >= 0; i-- {
		points = append(points, l.levels[i].look(swap, passing)...)
	}
	poolNoise(points)
	points, gone := WithoutOutliers(points)
	return &Result{Swap: swap, Points: points, Outliers: gone}
}

// inside is how far, as a ratio of frequencies, a band lies within what a window shows of a
// sweep.
const inside = 1.02

// look returns the points of a level.
func (v *liveLevel) look(swap bool, passing func(t float64) float64) []Point {
	n := min(len(v.samples[0]), len(v.samples[1]))
	size := dsp.Smooth5Below(min(n, v.longest))
	if size < 2*minCells {
		return nil
	}
	var spectra [2][]complex128
	Both(func(c int) {
		x := v.samples[c]
		if swap {
			x = v.samples[1-c]
		}
		spectra[c] = fourier.NewFFT(size).Coefficients(nil, x[n-size:n])
	})
	from := inside * passing(float64(v.dropped+n-size)/v.rate)
	to := passing(float64(v.dropped+n)/v.rate) / inside
	bands := v.bands
	if size < v.longest || bands == nil {
		bands = plan(&level{lo: v.lo, hi: v.hi, binHz: v.rate / float64(size), size: size})
		if size == v.longest {
			v.bands, v.points = bands, make([]Point, len(bands))
		}
	}
	var points []Point
	for i := range bands {
		b := &bands[i]
		if b.centre-b.half < from || b.centre+b.half > to {
			continue
		}
		f := newLocalFit(b.n, nil)
		f.add(spectra[0][b.from:b.from+b.n], spectra[1][b.from:b.from+b.n])
		found, ok := f.solve()
		p := Point{Freq: b.centre + found.at*b.half, Ratio: found.ratio, noise: found.noise, Gain: found.gain, Split: found.split, dof: found.dof,
			Power: found.total / (b.rate * b.rate) * b.centre}
		switch {
		case size < v.longest && ok:
			points = append(points, p)
		case size == v.longest && ok && (v.points[i].Power == 0 || p.Variance() < v.points[i].Variance()):
			v.points[i] = p
		}
	}
	if size == v.longest {
		return slices.DeleteFunc(slices.Clone(v.points), func(p Point) bool { return p.Power == 0 })
	}
	return points
}
