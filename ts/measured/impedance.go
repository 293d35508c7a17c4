// Package measured is what goes into a fit: impedances with their noise and
// the errors of the bench, the load on the cone, the conditions; and what can be read
// off a curve without any model: its peaks, the three-point method, and whether it can be
// a driver at all.
package measured

import (
	"math/cmplx"
	"slices"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
)

// Impedance is one sweep: the electrical impedance at the terminals of a driver
// over frequency, in one condition.
type Impedance struct {
	Freq []float64    // Hz, strictly increasing, positive
	Z    []complex128 // ohm; when MagnitudeOnly the imaginary parts are zero
	// Sigma is the standard deviation of the noise in ohm, the same for the real
	// and the imaginary part (the two are taken as independent). Nil: unknown.
	Sigma []float64
	// Systematic lists the errors of the bench that move all points together.
	Systematic []Systematic
	// Frequency is how far the frequencies may be off; zero: they are exact, as those of a recording are.
	Frequency FrequencyError
	// MagnitudeOnly says that Z holds |Z| and the phase is unknown.
	MagnitudeOnly bool
	Drive         *Drive     // what drove the driver; nil: unknown
	Level         Level      // how loud it was; zero: unknown
	Harmonics     *Harmonics // multiples of the sweep's frequency in the current; nil: not known, as in every table
	FreeLines     *FreeLines // what a multitone shows between its tones; nil: another signal
	Source        string     // where it came from, for messages
	Warnings      []notice.Notice
}

// Systematic is one bench error that moves all points of a sweep together: the
// tolerance of the resistor, the leads, a channel gain. Effects with the same
// Source in two sweeps are the same error and cancel in a comparison.
type Systematic struct {
	Source string       // "resistor", "leads", "channels", ...
	Effect []complex128 // ohm: change of Z at each point for one standard deviation
	// Fitted says that the sweep itself tells the size of the error, as no driver has its
	// shape: it becomes an unknown of the fit. The others are carried over to the result.
	Fitted bool
	// Bend says how the change of a fitted error curves, nil: not at all. What was measured is
	// off by sum b Effect/(1 + sum b Bend) for errors of b standard deviations: every divider
	// turns the ratio of its inputs into ohms by such a map.
	Bend []complex128
}

// FrequencyError is one factor that all frequencies of a sweep may be off by: that of the counter or of the generator.
type FrequencyError struct {
	Std     float64 // relative standard uncertainty
	Assumed bool    // it is common practice, nothing was stated
}

// MostFrequencyError is the largest relative error of frequencies that a bench can have.
const MostFrequencyError = 0.1

// Source names the error in a budget. What is stated is that of an instrument, the same before and after;
// of what is assumed nobody knows that.
func (e FrequencyError) Source() string {
	if e.Assumed {
		return "frequency, assumed"
	}
	return "frequency"
}

// ChannelSource begins the names of all sources that say how the two inputs of a bench differ.
const ChannelSource = "channels"

// Drive is the current through a driver while its sweep was taken.
type Drive struct {
	Rate    float64   // Hz, well above twice the frequencies at which a cone moves far
	Current []float64 // A, without constant part
}

// NewImpedance returns a sweep made of copies of its arguments: frequencies in Hz,
// impedances in ohm, and the noise in ohm, which may be nil. It refuses what
// [Impedance.Check] refuses.
func NewImpedance(freq []float64, z []complex128, sigma []float64) (Impedance, error) {
	out := Impedance{Freq: slices.Clone(freq), Z: slices.Clone(z), Sigma: slices.Clone(sigma)}
	if err := out.Check(); err != nil {
		return Impedance{}, err
	}
	return out, nil
}

const (
	mostOhm = 1e12 // no impedance is larger
	// A noise figure below this part of |Z| is none: it is what numbers are rounded to.
	leastNoise = 1e-15
)

// Check refuses a sweep that is none: frequencies must be positive and strictly
// increasing, impedances finite, a magnitude real and not negative, noise figures
// positive, and every list as long as that of the frequencies.
func (z Impedance) Check() error {
	refuse := func(code string, facts notice.Facts) error { return notice.New(code, facts).In(z.Source) }
	n := len(z.Freq)
	if n == 0 {
		return refuse("no-points", nil)
	}
	if len(z.Z) != n || (z.Sigma != nil && len(z.Sigma) != n) {
		return refuse("lengths-differ", notice.Facts{"frequencies": n, "impedances": len(z.Z), "noise": len(z.Sigma)})
	}
	for i, f := range z.Freq {
		v := z.Z[i]
		switch {
		case !bounds.Frequency.Holds(f):
			return refuse("bad-frequency", notice.Facts{"point": i + 1, "frequency": f})
		case i > 0 && f <= z.Freq[i-1]:
			return refuse("frequency-order", notice.Facts{"point": i + 1, "frequency": f, "before": z.Freq[i-1]})
		case !(cmplx.Abs(v) <= mostOhm):
			return refuse("bad-impedance", notice.Facts{"frequency": f})
		case z.MagnitudeOnly && (imag(v) != 0 || real(v) < 0):
			return refuse("magnitude-complex", notice.Facts{"frequency": f})
		case z.Sigma != nil && !(z.Sigma[i] > leastNoise*cmplx.Abs(v) && z.Sigma[i] <= mostOhm):
			return refuse("bad-sigma", notice.Facts{"frequency": f, "sigma": z.Sigma[i]})
		}
	}
	if e := z.Frequency.Std; !(e >= 0 && e <= MostFrequencyError) {
		return refuse("bad-frequency-error", notice.Facts{"std": e})
	}
	for _, e := range z.Systematic {
		if len(e.Effect) != n || e.Bend != nil && len(e.Bend) != n {
			return refuse("effects-differ", notice.Facts{"source": e.Source, "effects": len(e.Effect), "frequencies": n})
		}
		for _, list := range [][]complex128{e.Effect, e.Bend} {
			for i, x := range list {
				if !(cmplx.Abs(x) <= mostOhm) {
					return refuse("bad-effect", notice.Facts{"source": e.Source, "frequency": z.Freq[i]})
				}
			}
		}
	}
	if d := z.Drive; d != nil && (!bounds.Frequency.Holds(d.Rate) || !bounds.Finite(d.Current...)) {
		return refuse("bad-drive", nil)
	}
	if z.Harmonics != nil {
		if err := z.Harmonics.Check(); err != nil {
			return refuse("bad-harmonics", nil)
		}
	}
	if z.FreeLines != nil {
		if err := z.FreeLines.Check(); err != nil {
			return refuse("bad-free-lines", nil)
		}
	}
	return nil
}

// Len returns the number of points.
func (z Impedance) Len() int { return len(z.Freq) }

// Band returns the part of the sweep from lo to hi (Hz, both included). The
// result shares no memory with z and may be empty.
func (z Impedance) Band(lo, hi float64) Impedance {
	i, _ := slices.BinarySearch(z.Freq, lo)
	j, found := slices.BinarySearch(z.Freq, hi)
	if found {
		j++
	}
	j = max(i, j)
	out := z
	out.Freq = slices.Clone(z.Freq[i:j])
	out.Z = slices.Clone(z.Z[i:j])
	if z.Sigma != nil {
		out.Sigma = slices.Clone(z.Sigma[i:j])
	}
	out.Systematic = make([]Systematic, len(z.Systematic))
	for k, s := range z.Systematic {
		s.Effect = slices.Clone(s.Effect[i:j])
		if s.Bend != nil {
			s.Bend = slices.Clone(s.Bend[i:j])
		}
		out.Systematic[k] = s
	}
	out.Warnings = slices.Clone(z.Warnings)
	return out
}
