package friction

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// linear is what the fit says of a driver, as far as harmonics need it: the back EMF is what the motional part makes of
// the current.
type linear struct {
	fs, qms, res float64 // Hz, 1, ohm
	z            []complex128
	ze           []complex128 // at freq: coil and Re, what of the fitted curve is not motional
	freq         []float64
	shift        float64 // the load's share of mass, stiffness: see motional
}

// motional returns the motional impedance in ohm at f (Hz).
func (l linear) motional(f float64) complex128 {
	return complex(l.res, 0) / complex(1, l.qms*(f/l.fs-l.fs/f))
}

// at returns a curve at f (Hz), on the straight line between its points.
func (l linear) at(curve []complex128, f float64) complex128 {
	i, _ := slices.BinarySearch(l.freq, f)
	i = min(max(i, 1), len(l.freq)-1)
	u := complex((f-l.freq[i-1])/(l.freq[i]-l.freq[i-1]), 0)
	return (1-u)*curve[i-1] + u*curve[i]
}

func newLinear(c fitted.Curve, p param.Parameters) (linear, bool) {
	var l linear
	for id, to := range map[param.ID]*float64{param.Fs: &l.fs, param.Qms: &l.qms, param.Res: &l.res} {
		e, ok := p.Get(id)
		if !ok {
			return l, false
		}
		*to = e.Value
	}
	l.freq = c.Freq
	l.z = c.Measured
	for i, f := range c.Freq {
		l.ze = append(l.ze, c.Fitted[i]-l.motional(f))
	}
	return l, true
}

// point is one frequency of a sweep: how the cone swings, and the force that its harmonics tell of.
type point struct {
	freq  float64
	emf   complex128 // V, peak: BL times the velocity
	place float64    // m, peak, with the BL that was taken
	force []complex128 // N of orders 3, 5, ... turned to the velocity, so that Coulomb's friction is real and positive
	noise []float64    // N, of each part
}

const (
	highest = 9 // order that is looked at
	orders  = (highest - 1) / 2
)

// observe turns harmonics into forces: the force of order n is what, in the linear driver, makes that current,
//
//	F = BL i Z(n f)/Zmot(n f)
func observe(h *measured.Harmonics, l linear, bl float64) []point {
	var all []point
	for k, f := range h.Freq {
		if f < l.fs/3 || f > 8*l.fs || f > l.freq[len(l.freq)-1] {
			continue
		}
		z := l.at(l.z, f)
		p := point{freq: f, emf: complex(h.Voltage[k], 0) * (z - l.at(l.ze, f)) / z}
		p.place = cmplx.Abs(p.emf) / (bl * 2 * math.Pi * f)
		turn := p.emf / complex(cmplx.Abs(p.emf), 0)
		for n := 3; n <= highest; n += 2 {
			o := h.Orders[n-2]
			if k >= len(o.Current) {
				break
			}
			at := float64(n) * f
			if at > l.freq[len(l.freq)-1] {
				break
			}
			gain := l.at(l.z, at) / l.motional(at) * complex(bl, 0)
			back := cmplx.Pow(cmplx.Conj(turn), complex(float64(n), 0))
			p.force = append(p.force, o.Current[k]*gain*back)
			p.noise = append(p.noise, o.Noise[k]*cmplx.Abs(gain))
		}
		all = append(all, p)
	}
	return all
}
