package truth

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// Ripple is a deviation that follows no law of a driver: a smooth complex factor 1 + δ,
//
//	δ(jω) = Σ a_i B_i(jω),   B_i = (s/ω_i)/Q / ((s/ω_i)² + (s/ω_i)/Q + 1)
//
// of band-passes of a fraction of an octave. It is rational, causal and, being small, of minimum phase; it is
// 0 at DC, so that Re stays what it was.
type Ripple struct {
	Q     float64
	Bands []Band
}

// Band is one band-pass.
type Band struct{ Frequency, Height float64 } // Hz, relative

// Factor is 1 + δ at f Hz.
func (r Ripple) Factor(f float64) complex128 {
	sum := complex(1, 0)
	for _, b := range r.Bands {
		x := complex(0, f/b.Frequency)
		u := x / complex(r.Q, 0)
		sum += complex(b.Height, 0) * u / (x*x + u + 1)
	}
	return sum
}

// Of is a port seen through the ripple.
func (r Ripple) Of(p OnePort) OnePort {
	return Port(func(f float64) complex128 { return p.Z(f) * r.Factor(f) })
}

// DrawRipple is a ripple of a relative size rms (of real and of imaginary part) between low and high Hz, of
// bands a fraction of an octave wide. Below quiet Hz it has a third of that size: what follows no law in
// measured drivers is mostly above the resonance.
func DrawRipple(rng *rand.Rand, rms, octave, low, high, quiet float64) Ripple {
	half := math.Exp2(octave / 2)
	r := Ripple{Q: 1 / (half - 1/half)}
	for f := low; f <= high; f *= math.Exp2(octave * between(rng, 0.4, 1)) {
		height := rng.NormFloat64()
		if f < quiet {
			height /= 3
		}
		r.Bands = append(r.Bands, Band{f, height})
	}
	sum, n := 0.0, 0
	for _, f := range Grid(low, high, 24) {
		e := cmplx.Abs(r.Factor(f) - 1)
		sum, n = sum+e*e/2, n+1
	}
	scale := rms / sqrt(sum/float64(n))
	for i := range r.Bands {
		r.Bands[i].Height *= scale
	}
	return r
}
