package sweeps

import "math"

// A halfband halves the sample rate of a stream: a low-pass with its middle at
// a quarter of the rate, of which every second coefficient is zero, and of the
// result every second sample. Both channels go through the same filter, so the
// ratio of their spectra does not change.
//
// Source: Kaiser's window method for filters, with his formulas for length and
// shape; textbooks of digital signal processing (from memory).
type halfband struct {
	side []float64 // coefficients at the distances 1, 3, 5, ... from the middle
	buf  []float64 // samples that are still needed, then the new ones
	at   int       // index in buf of the middle of the next output
}

// stopBand is the attenuation of what would fold back into the pass band, dB.
const stopBand = 100

// newHalfband returns a filter that passes up to pass (fraction of the incoming
// rate, below 1/4) and stops what would fold back below that.
func newHalfband(pass float64) *halfband {
	length := (stopBand - 7.95) / (14.36 * (0.5 - 2*pass))
	n := int(math.Ceil((length + 1) / 4))
	beta := 0.1102 * (stopBand - 8.7)
	side := make([]float64, n)
	sum := 0.5
	for k := range side {
		d := float64(2*k + 1)
		r := d / float64(2*n)
		side[k] = 0.5 * sinc(d/2) * bessel0(beta*math.Sqrt(1-r*r)) / bessel0(beta)
		sum += 2 * side[k]
	}
	for k := range side {
		side[k] /= sum
	}
	h := &halfband{side: side}
	h.at = h.reach()
	h.buf = make([]float64, h.at) // silence before the start
	return h
}

// reach is how far the filter looks to either side of its middle.
func (h *halfband) reach() int { return 2*len(h.side) - 1 }

// push takes in samples and appends to dst the outputs that they complete.
func (h *halfband) push(dst, samples []float64) []float64 {
	h.buf = append(h.buf, samples...)
	reach := h.reach()
	middle := 1.0
	for _, c := range h.side {
		middle -= 2 * c
	}
	for ; h.at+reach < len(h.buf); h.at += 2 {
		w := h.buf[h.at-reach : h.at+reach+1]
		sum := middle * w[reach]
		lo, hi := reach-1, reach+1
		for _, c := range h.side {
			sum += c * (w[lo] + w[hi])
			lo -= 2
			hi += 2
		}
		dst = append(dst, sum)
	}
	keep := h.at - reach
	n := copy(h.buf, h.buf[keep:])
	h.buf, h.at = h.buf[:n], reach
	return dst
}
