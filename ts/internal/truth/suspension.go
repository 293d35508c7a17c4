package truth

import (
	"math"
	"math/cmplx"
)

// Suspension is a spring with memory.
type Suspension interface {
	// Stiffness returns the complex dynamic stiffness K(jω) in N/m at w rad/s: force over displacement.
	// Its imaginary part over ω is a mechanical resistance.
	Stiffness(w float64) complex128
}

// Spring is Hooke's.
type Spring struct{ K float64 } // N/m

// Stiffness implements Suspension.
func (s Spring) Stiffness(float64) complex128 { return complex(s.K, 0) }

// FractionalVoigt is a spring beside a spring-pot,
//
//	K (1 + (jωτ)^α),  0 < α < 1
//
// stiffness and loss rising as ω^α without end: textile with resin.
//
// Reference: Bagley and Torvik, A theoretical basis for the application of fractional calculus to
// viscoelasticity, J. Rheology 27, 1983 (from memory). α = 1 is the viscous damper.
type FractionalVoigt struct{ K, Tau, Alpha float64 } // N/m, s, 1

// Stiffness implements Suspension.
func (s FractionalVoigt) Stiffness(w float64) complex128 {
	return complex(s.K, 0) * (1 + power(w*s.Tau, s.Alpha))
}

// FractionalZener rises from K to K+Step around 1/τ,
//
//	K + Step (jωτ)^α/(1 + (jωτ)^α)
//
// the fractional standard linear solid: rubber.
//
// Reference: Pritz, Analysis of four-parameter fractional derivative model of real solid materials,
// J. Sound and Vibration 195, 1996 (from memory).
type FractionalZener struct{ K, Step, Tau, Alpha float64 } // N/m, N/m, s, 1

// Stiffness implements Suspension.
func (s FractionalZener) Stiffness(w float64) complex128 {
	x := power(w*s.Tau, s.Alpha)
	return complex(s.K, 0) + complex(s.Step, 0)*x/(1+x)
}

// Relaxation is one spring in series with one damper.
type Relaxation struct{ K, Tau float64 } // N/m, s

// Relaxations is a spring beside any number of relaxations, the generalised Maxwell body,
//
//	K + Σ K_i jωτ_i/(1 + jωτ_i)
//
// with a spread of relaxation times: foam.
//
// Reference: Ferry, Viscoelastic Properties of Polymers, chapter 1 (from memory).
type Relaxations struct {
	K    float64 // N/m
	Each []Relaxation
}

// Stiffness implements Suspension.
func (s Relaxations) Stiffness(w float64) complex128 {
	k := complex(s.K, 0)
	for _, r := range s.Each {
		x := jw(w * r.Tau)
		k += complex(r.K, 0) * x / (1 + x)
	}
	return k
}

// Structural is a material whose loss angle is the same at all frequencies,
//
//	K (jω/ω0)^{2φ/π}
//
// A constant loss factor with a constant stiffness is not causal; with the power law it is.
//
// Reference: the "universal response" with a constant loss angle (Jonscher 1977) in mechanical form; the
// spring-pot of Scott Blair (from memory).
type Structural struct{ K, At, Angle float64 } // N/m at At rad/s, loss angle φ in rad

// Stiffness implements Suspension.
func (s Structural) Stiffness(w float64) complex128 {
	return complex(s.K, 0) * power(w/s.At, 2*s.Angle/math.Pi)
}

// Together is several suspensions side by side: the surround and the spider.
type Together []Suspension

// Stiffness implements Suspension.
func (s Together) Stiffness(w float64) complex128 {
	var k complex128
	for _, each := range s {
		k += each.Stiffness(w)
	}
	return k
}

// Changed is a suspension that has become stiffer by a factor and, with Loss ≠ 1, lossier: its loss angle is
// multiplied by Loss, and so is the slope of its stiffness over frequency, as causality demands,
//
//	Factor |K(jω0)| (K(jω)/|K(jω0)|)^Loss
//
// Derived here: a power of a positive real function over jω stays one while the loss angle stays below 90°.
type Changed struct {
	Of           Suspension
	Factor, Loss float64
	At           float64 // ω0, rad/s: where Factor is the factor
}

// Stiffness implements Suspension.
func (s Changed) Stiffness(w float64) complex128 {
	if s.Loss == 1 {
		return complex(s.Factor, 0) * s.Of.Stiffness(w)
	}
	k0 := complex(cmplx.Abs(s.Of.Stiffness(s.At)), 0)
	return complex(s.Factor, 0) * k0 * cmplx.Pow(s.Of.Stiffness(w)/k0, complex(s.Loss, 0))
}
