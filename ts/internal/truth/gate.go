package truth

import (
	"math"
	"math/cmplx"
)

// Gate is a time window that cuts the ringing of the main resonance: full up to From, then half a cosine
// down to To (s).
type Gate struct{ From, To float64 }

// Of is the driver seen through the gate. What the window removes from the ringing
//
//	h(t) = 2 Re(r e^{pt}),   p = ωs(-1/(2Qm) + j√(1 - 1/(4Qm²))),   r = BL² p/(M (p - p*))
//
// of the motional impedance BL² s/(M (s-p)(s-p*)) of the values at resonance is taken off its spectrum in
// closed form, and the rest of the impedance, which is over long before, stays as it is. Derived here; the
// test does the same by quadrature.
func (g Gate) Of(d Driver) OnePort {
	v := d.Values()
	ws := 2 * math.Pi * v.Fs
	p := complex(-ws/(2*v.Qms), ws*sqrt(1-1/(4*v.Qms*v.Qms)))
	r := complex(v.BL*v.BL/v.Mms, 0) * p / (p - cmplx.Conj(p))
	return Port(func(f float64) complex128 {
		s := jw(2 * math.Pi * f)
		return d.Z(f) - r*g.removed(p-s) - cmplx.Conj(r)*g.removed(cmplx.Conj(p)-s)
	})
}

// removed is ∫ (1-w(t)) e^{lt} dt from From on, for Re l < 0.
func (g Gate) removed(l complex128) complex128 {
	length := g.To - g.From
	b := complex(math.Pi/length, 0)
	start, end := cmplx.Exp(l*complex(g.From, 0)), cmplx.Exp(l*complex(g.To, 0))
	flank := (end-start)/(2*l) + l*(end+start)/(2*(l*l+b*b))
	return flank - end/l
}
