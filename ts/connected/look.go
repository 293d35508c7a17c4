// Package connected says what hangs on the leads when it is not one driver alone: what a
// curve shows that no driver in free air has, and a change that is larger than a repair
// makes. Each finding is a notice with its evidence; a verdict is withheld as long as it
// stands.
package connected

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/notice"
)

// Kind is a circuit that may be on the leads.
type Kind string

// The kinds of circuits.
const (
	OneDriver     Kind = "driver"
	VentedBox     Kind = "vented-box"
	LooseMass     Kind = "loose-mass"
	TwoInSeries   Kind = "two-in-series"
	TwoInParallel Kind = "two-in-parallel"
	Capacitor     Kind = "capacitor"
	Delay         Kind = "delay"
	Coupling      Kind = "coupling"
	twoResonances Kind = "two-resonances"
	smoothed      Kind = "smoothed"
)

// Look says what is connected, by one sweep alone; nil for a driver, or where nothing fits
// better. Off says that a driver does not follow the curve; without it and without a
// sign of something else in the curve only what |Z| hardly shows is looked for: a delay, a difference of the AC coupling, a coil in series.
func Look(z measured.Impedance, off bool) *notice.Notice {
	if n := noDriver(z); n != nil {
		return n
	}
	if n := clipped(z); n != nil {
		return n
	}
	if z.Len() < fewest {
		return nil
	}
	t := thin(z, z.Freq[0], highest, perOctave)
	var n *notice.Notice
	switch {
	case t.Len() < fewest:
		return nil
	case off, otherPeak(t):
		n = circuits(t)
	default:
		n = late(t)
	}
	if n == nil && !inFit(z) {
		n = apart(z)
	}
	if n == nil && !off {
		n = lossless(t)
	}
	return n
}

// inFit says whether a difference of the AC coupling of the inputs is among the unknowns of the fit already.
func inFit(z measured.Impedance) bool {
	return slices.ContainsFunc(z.Systematic, func(e measured.Systematic) bool { return e.Fitted })
}

// otherPeak says whether a curve has a second peak, or begins on the flank of one.
func otherPeak(z measured.Impedance) bool {
	const peak, flank = 0.08, 0.1 // of ln |Z|
	peaks := measured.Peaks(z)
	if len(peaks) == 0 || len(peaks) > 1 && peaks[1].Prominence > peak {
		return true
	}
	size := sizes(z)
	top, _ := slices.BinarySearch(z.Freq, peaks[0].Freq)
	return math.Log(size[0]/slices.Min(size[:top+1])) > flank
}

// fewest points that circuits can be told apart with.
const fewest = 16

// noDriver finds what has no resonance at all: leads that touch, leads that are open, and a
// resistor.
func noDriver(z measured.Impedance) *notice.Notice {
	const (
		short, open = 0.5, 2000.0 // ohm: no coil is below, no peak above over a whole sweep
		alike, turn = 1.03, 0.05  // a resistor: |Z| within 3 %, and its phase in rad
	)
	size := sizes(z)
	lowest, highest := slices.Min(size), slices.Max(size)
	turned := slices.ContainsFunc(z.Z, func(v complex128) bool { return math.Abs(cmplx.Phase(v)) > turn })
	switch {
	case highest < short || median(size) < short && lowest > 0 && flat(z, size):
		return notice.New("leads-shorted", notice.Facts{"impedance": median(size)})
	case median(size) > open:
		return notice.New("driver-disconnected", notice.Facts{"impedance": median(size), "capacitive": falls(size)})
	case highest < alike*lowest && !turned:
		return notice.New("only-resistor", notice.Facts{"impedance": median(size)})
	}
	return nil
}

// flat says whether there is no peak in |Z|.
func flat(z measured.Impedance, size []float64) bool {
	peaks := measured.Peaks(z)
	return len(peaks) == 0 || peaks[0].Size < 2*slices.Min(size)
}

// falls says whether |Z| falls from the lowest frequency to the highest.
func falls(size []float64) bool { return size[len(size)-1] < size[0]/2 }

// sizes are |Z|.
func sizes(z measured.Impedance) []float64 {
	out := make([]float64, z.Len())
	for i, v := range z.Z {
		out[i] = cmplx.Abs(v)
	}
	return out
}

func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return s[len(s)/2]
}
