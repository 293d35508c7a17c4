package friction

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/nonlinear"
	"conewright/ts/param"
)

// linear is what a fit says of a driver, as far as harmonics need it.
type linear struct {
	fs, qms, res, re float64 // Hz, 1, ohm, ohm
	bl               float64 // T m
	creep            float64 // of the suspension, a decade; 0: none was fitted
	freq             []float64
	z                []complex128 // ohm, measured
	ze               []complex128 // ohm, what of the fitted curve is not motional
	missed           []float64    // ohm, by how much the fitted curve misses around each frequency
}

// newLinear reads it off one curve of a fit; own is what ln Fs, ln Qms and ln Re of that sweep lie from those of p.
func newLinear(c fitted.Curve, p param.Parameters, own [3]float64, bl float64) (linear, bool) {
	l := linear{bl: bl, freq: c.Freq, z: c.Measured}
	for id, to := range map[param.ID]*float64{param.Fs: &l.fs, param.Qms: &l.qms, param.Res: &l.res, param.Re: &l.re} {
		e, ok := p.Get(id)
		if !ok {
			return l, false
		}
		*to = e.Value
	}
	if e, ok := p.Get(param.Creep); ok {
		l.creep = max(0, e.Value) // no suspension is softer above; friction makes a fit say so
	}
	l.re *= math.Exp(own[2])
	l.fs, l.qms, l.res = l.fs*math.Exp(own[0]), l.qms*math.Exp(own[1]), l.res*math.Exp(own[1]-own[0]) // (1.4), mass and motor alike
	for i, f := range c.Freq {
		l.ze = append(l.ze, c.Fitted[i]-l.motional(f))
	}
	l.missed = missedAround(c)
	return l, len(l.freq) > 1
}

// aroundTone is how many octaves to either side of a harmonic count as its neighbourhood.
const aroundTone = 1. / 3

// missedAround returns the root mean square (ohm) of what a fitted curve misses around each frequency.
func missedAround(c fitted.Curve) []float64 {
	sum := make([]float64, len(c.Freq)+1)
	for i, z := range c.Measured {
		off := z - c.Fitted[i]
		sum[i+1] = sum[i] + real(off)*real(off) + imag(off)*imag(off)
	}
	missed := make([]float64, len(c.Freq))
	reach := math.Exp2(aroundTone)
	for i, f := range c.Freq {
		from, _ := slices.BinarySearch(c.Freq, f/reach)
		to, _ := slices.BinarySearch(c.Freq, f*reach)
		missed[i] = math.Sqrt((sum[to] - sum[from]) / float64(to-from))
	}
	return missed
}

// motional returns the motional impedance in ohm at f (Hz), theory (1.4), with the creep of (3.2) and (3.3).
func (l linear) motional(f float64) complex128 {
	x := f / l.fs
	q := driver.CreepLoss * l.creep
	stiffness := complex(1+q*q, 0) / complex(1-l.creep*math.Log10(x), -q)
	return complex(l.res, 0) / (complex(1-q*l.qms, l.qms*x) - complex(0, l.qms/x)*stiffness)
}

// at returns a curve at f (Hz), on the straight line between its points.
func (l linear) at(curve []complex128, f float64) complex128 {
	i, _ := slices.BinarySearch(l.freq, f)
	i = min(max(i, 1), len(l.freq)-1)
	u := complex((f-l.freq[i-1])/(l.freq[i]-l.freq[i-1]), 0)
	return (1-u)*curve[i-1] + u*curve[i]
}

// missedAt returns by how many ohm the fitted curve misses around f (Hz).
func (l linear) missedAt(f float64) float64 {
	i, _ := slices.BinarySearch(l.freq, f)
	return l.missed[min(i, len(l.missed)-1)]
}

// What is looked at: odd orders up to the highest, around the resonance, where the cone moves.
const (
	highest = 9
	below   = 1. / 3 // of the resonance
	above   = 8.0
)

// point is one frequency of a sweep: how the cone moves, and the forces that its harmonics tell of. Phases are those
// of a velocity of phase zero, so that Coulomb's friction is real and above zero in every order.
type point struct {
	tone     nonlinear.Tone
	excursed float64      // m, peak
	force    []complex128 // N, of orders 3, 5 ...
	noise    []float64    // N, standard deviation of each part
	voltage  []complex128 // N/V: what a voltage against the current is worth as a force, in each order
	unsure   []float64    // relative, how far the motional impedance at each order is known
	excess   float64      // of chi2 over its usual value in the sweep of the point, for all that the model does not hold; at least 1
}

// observe turns the harmonics of the current into forces: that of order n is what makes this current in the linear driver,
// theory (9.4),
//
//	F = BL i Z(n f)/Zmot(n f)
func (l linear) observe(h *measured.Harmonics) []point {
	top := l.freq[len(l.freq)-1]
	var all []point
	for k, f := range h.Freq {
		if f < below*l.fs || f > above*l.fs || f < l.freq[0] || 3*f > top {
			continue
		}
		z := l.at(l.z, f)
		velocity := complex(h.Voltage[k]/l.bl, 0) * (z - l.at(l.ze, f)) / z
		speed := cmplx.Abs(velocity)
		if !(speed > 0) {
			continue
		}
		turn := cmplx.Conj(velocity) / complex(speed, 0)
		p := point{excess: 1, excursed: speed / (2 * math.Pi * f),
			tone: nonlinear.Tone{Freq: f, Velocity: complex(speed, 0), Current: turn * complex(h.Voltage[k], 0) / z}}
		for n := 3; n <= highest && n-2 < len(h.Orders); n += 2 {
			o := h.Orders[n-2]
			at := float64(n) * f
			if k >= len(o.Current) || at > top {
				break
			}
			worth := complex(l.bl, 0) / l.motional(at)
			gain := worth * l.at(l.z, at)
			p.force = append(p.force, gain*o.Current[k]*cmplx.Pow(turn, complex(float64(n), 0)))
			p.noise = append(p.noise, cmplx.Abs(gain)*o.Noise[k])
			p.voltage = append(p.voltage, worth)
			p.unsure = append(p.unsure, l.missedAt(at)/cmplx.Abs(l.motional(at)))
		}
		if len(p.force) > 0 {
			all = append(all, p)
		}
	}
	return all
}
