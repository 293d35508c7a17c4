// Package measured is what goes into a fit: impedances with their noise and
// the errors of the bench, the load on the cone, the conditions; and what can be read
// off a curve without any model: its peaks, the three-point method, and whether it can be
// a driver at all.
package measured

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/notice"
	"conewright/ts/param"
)

// Impedance is one sweep: the electrical impedance at the terminals of a driver
// over frequency, in one condition.
type Impedance struct {
	Freq []float64    // Hz, strictly increasing, positive
	Z    []complex128 // ohm; when MagnitudeOnly the imaginary parts are zero
	// Sigma is the standard deviation of the noise in ohm, of the real and of
	// the imaginary part alike (the two are taken as independent). Nil: unknown.
	Sigma []float64
	// Systematic lists the errors of the bench that move all points together.
	Systematic []Systematic
	// MagnitudeOnly says that Z holds |Z| and the phase is unknown.
	MagnitudeOnly bool
	Drive         *Drive // what drove the driver; nil: unknown
	Source        string // where it came from, for messages
	Warnings      []param.Warning
	Notices       []notice.Notice // what was found while it was measured; becomes Warnings when those are notices
}

// Systematic is one bench error that moves all points of a sweep together: the
// tolerance of the resistor, the leads, a channel gain. Effects with the same
// Source in two sweeps are the same error and cancel in a comparison.
type Systematic struct {
	Source string       // "resistor", "leads", "channel gain", ...
	Effect []complex128 // ohm: change of Z at each point for one standard deviation
}

// NewImpedance returns a sweep made of copies of its arguments. Frequencies
// (Hz) must be positive, finite and strictly increasing, impedances (ohm)
// finite; sigma (ohm) is nil or has one positive finite value a point.
func NewImpedance(freq []float64, z []complex128, sigma []float64) (Impedance, error) {
	if len(freq) == 0 {
		return Impedance{}, &param.Refusal{Code: "no-points", Message: "the sweep holds no points",
			Advice: "check that the file has one line of numbers for each frequency"}
	}
	if len(z) != len(freq) || (sigma != nil && len(sigma) != len(freq)) {
		return Impedance{}, &param.Refusal{Code: "lengths-differ",
			Message: fmt.Sprintf("the sweep has %d frequencies, %d impedances and %d noise figures", len(freq), len(z), len(sigma)),
			Advice:  "every frequency needs one impedance, and one noise figure or none at all"}
	}
	for i, f := range freq {
		switch {
		case !(f > 0) || math.IsInf(f, 0):
			return Impedance{}, &param.Refusal{Code: "bad-frequency", Message: fmt.Sprintf("point %d has the frequency %v Hz", i+1, f),
				Advice: "frequencies must be positive numbers"}
		case i > 0 && f <= freq[i-1]:
			return Impedance{}, &param.Refusal{Code: "frequency-order", Message: fmt.Sprintf("point %d (%v Hz) does not lie above the one before it (%v Hz)", i+1, f, freq[i-1]),
				Advice: "sort the points by frequency and keep one point for each"}
		case cmplx.IsNaN(z[i]) || cmplx.IsInf(z[i]):
			return Impedance{}, &param.Refusal{Code: "bad-impedance", Message: fmt.Sprintf("the impedance at %v Hz is not a finite number", f),
				Advice: "remove that point"}
		case sigma != nil && (!(sigma[i] > 0) || math.IsInf(sigma[i], 0)):
			return Impedance{}, &param.Refusal{Code: "bad-sigma", Message: fmt.Sprintf("the noise figure at %v Hz is %v ohm", f, sigma[i]),
				Advice: "noise figures must be positive; leave them all out when they are unknown"}
		}
	}
	return Impedance{Freq: slices.Clone(freq), Z: slices.Clone(z), Sigma: slices.Clone(sigma)}, nil
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
		out.Systematic[k] = Systematic{s.Source, slices.Clone(s.Effect[i:j])}
	}
	out.Warnings = slices.Clone(z.Warnings)
	out.Notices = slices.Clone(z.Notices)
	return out
}
