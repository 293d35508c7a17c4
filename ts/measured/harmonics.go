package measured

import (
	"math"
	"math/cmplx"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
)

// Harmonics is what a sweep says beside the impedance: the multiples of its frequency in the current. Phases are those of
// sines where the voltage at the terminals is a sine of phase zero: a part of order n with the phasor I is
// Im(I exp(j n w t)).
type Harmonics struct {
	Freq    []float64 // Hz of the sweep, increasing
	Voltage []float64 // V, peak, at the terminals
	// FullScale is the voltage that amplitudes are told by. Where it is not known it is 0, and all volts and amperes are
	// those of a recorder that is full at one volt: only their ratios mean something.
	FullScale float64
	Orders    []Order // from 2 on, without a gap
	// Beyond is the root of the sum of squares of all orders above the last that could be followed, in A, with its
	// noise; over the first points of Freq, as far as they could.
	Beyond, BeyondNoise []float64
}

// Order is one multiple of the frequency, over the first points of [Harmonics.Freq], as far as it could be followed.
type Order struct {
	N int
	// Current is what the driver itself adds to its current, in A peak: what would flow with no voltage of that frequency
	// at its terminals.
	Current []complex128
	Noise   []float64 // A, standard deviation of each part of Current
	// Amplifier is the current in A that the amplifier's own part of that order drives through the driver.
	Amplifier []float64
}

// Check refuses harmonics that are none.
func (h *Harmonics) Check() error {
	bad := notice.New("bad-harmonics", nil)
	if len(h.Voltage) != len(h.Freq) || len(h.BeyondNoise) != len(h.Beyond) || len(h.Beyond) > len(h.Freq) || !(h.FullScale >= 0) ||
		!bounds.Finite(h.FullScale) || !bounds.Finite(h.Voltage...) || !bounds.Finite(h.Beyond...) || !bounds.Finite(h.BeyondNoise...) {
		return bad
	}
	for i, f := range h.Freq {
		if bounds.Frequency.Number(f) != nil || i > 0 && f <= h.Freq[i-1] || !(h.Voltage[i] > 0) {
			return bad
		}
	}
	for i, o := range h.Orders {
		n := len(o.Current)
		if o.N != i+2 || n > len(h.Freq) || len(o.Noise) != n || len(o.Amplifier) != n || !bounds.Finite(o.Amplifier...) {
			return bad
		}
		for k, c := range o.Current {
			if cmplx.IsNaN(c) || cmplx.IsInf(c) || !(o.Noise[k] > 0) || !bounds.Finite(o.Noise[k]) {
				return bad
			}
		}
	}
	return nil
}

// Near returns the index of the frequency that is nearest to f (Hz) by their ratio.
func (h *Harmonics) Near(f float64) int {
	near := 0
	for i, g := range h.Freq {
		if math.Abs(math.Log(g/f)) < math.Abs(math.Log(h.Freq[near]/f)) {
			near = i
		}
	}
	return near
}
