package spectra

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

// repetition is a signal that repeats itself.
type repetition struct {
	period float64 // s, on the recorder's clock
	start  float64 // s from the start of the recording: the driver has settled
	count  int     // whole periods from start on
}

const (
	shortestPeriod = 0.5  // s
	longestPeriod  = 12.0 // s: bounds the memory of a period
	likeness       = 0.9  // correlation of a signal with itself one period later
	settling       = 1.0  // s: 5 Qms/(pi fs) for a Qms of 12 at 20 Hz
	fadeMargin     = 0.06 // s that may be faded out at the end
)

// findPeriod looks for a signal that repeats itself at least twice after it has
// settled. It needs to be told nothing about the signal.
func findPeriod(o lowRate) (repetition, bool) {
	o.Samples = slices.Clone(o.Samples)
	floats.AddConst(-floats.Sum(o.Samples)/float64(max(1, len(o.Samples))), o.Samples)
	on, off := o.extent()
	shortest := int(shortestPeriod * o.Rate)
	if off-on < 4*shortest { // off lies before on in silence
		return repetition{}, false
	}
	x := o.Samples[on:off]
	like := autocorrelation(x, len(x)/2)
	best := 0.0
	for k := shortest; k < len(like)-1; k++ {
		best = max(best, like[k])
	}
	if best < likeness {
		return repetition{}, false
	}
	period := 0.0
	for k := max(1, shortest); k < len(like)-1; k++ {
		a, b, c := like[k-1], like[k], like[k+1]
		if b >= best-0.03 && b >= a && b > c {
			period = float64(k) + 0.5*(a-c)/(a-2*b+c)
			break
		}
	}
	if period == 0 || period > longestPeriod*o.Rate {
		return repetition{}, false
	}
	// The first and the last period that fit tell the period best: what one
	// period is wrong by, many are wrong by that many times.
	for gap := 1; float64(gap+1)*period < float64(len(x)); gap *= 2 {
		period += shift(x, period, gap) / float64(gap)
	}
	r := repetition{period: period / o.Rate}
	end := float64(off)/o.Rate - fadeMargin
	r.count = int((end - float64(on)/o.Rate - settling) / r.period)
	r.start = end - float64(r.count)*r.period
	return r, r.count >= 2
}

// extent returns the samples between which there is signal: its power over 20
// ms is above a tenth of what it is where it is loud.
func (o lowRate) extent() (on, off int) {
	n := max(1, int(0.02*o.Rate))
	var level []float64
	for i := 0; i+n <= len(o.Samples); i += n {
		var sum float64
		for _, v := range o.Samples[i : i+n] {
			sum += v * v
		}
		level = append(level, sum)
	}
	if len(level) == 0 {
		return 0, 0
	}
	sorted := slices.Clone(level)
	slices.Sort(sorted)
	limit := 0.1 * sorted[len(sorted)*3/4]
	first := slices.IndexFunc(level, func(v float64) bool { return v > limit })
	last := len(level) - 1
	for last > first && level[last] <= limit {
		last--
	}
	return first * n, (last + 1) * n
}

// autocorrelation returns the correlation coefficient of x with itself k samples
// later, for k up to limit, each over the samples that overlap.
func autocorrelation(x []float64, limit int) []float64 {
	n := dsp.Smooth5(len(x) + limit)
	fft := fourier.NewFFT(n)
	padded := make([]float64, n)
	copy(padded, x)
	s := fft.Coefficients(nil, padded)
	for i, v := range s {
		s[i] = complex(dsp.SqAbs(v), 0)
	}
	fft.Sequence(padded, s)
	energy := make([]float64, len(x)+1) // of the first i samples
	for i, v := range x {
		energy[i+1] = energy[i] + v*v
	}
	like := make([]float64, limit)
	for k := range like {
		a := energy[len(x)-k]
		b := energy[len(x)] - energy[k]
		if a > 0 && b > 0 {
			like[k] = padded[k] / float64(n) / math.Sqrt(a*b)
		}
	}
	return like
}

// shift returns by how many samples the signal gap periods later comes later
// than the period says, from the slope of the phase between the two.
func shift(x []float64, period float64, gap int) float64 {
	later := int(math.Round(float64(gap) * period))
	n := dsp.Smooth5Below(min(int(period), len(x)-later))
	from := len(x) - later - n
	fft := fourier.NewFFT(n)
	a, b := make([]float64, n), make([]float64, n)
	for i := range n {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
		a[i] = w * x[from+i]
		b[i] = w * x[from+later+i]
	}
	fa, fb := fft.Coefficients(nil, a), fft.Coefficients(nil, b)
	var num, den float64
	for k := 1; k < int(Usable*float64(n)); k++ {
		w := cmplx.Abs(fa[k]) * cmplx.Abs(fb[k])
		f := 2 * math.Pi * float64(k) / float64(n)
		num -= w * f * cmplx.Phase(fb[k]*conj(fa[k]))
		den += w * f * f
	}
	slope := 0.0
	if den > 0 {
		slope = num / den
	}
	return float64(later) + slope - float64(gap)*period
}
