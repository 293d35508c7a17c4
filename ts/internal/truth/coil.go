package truth

import (
	"math"
	"math/cmplx"
)

// Coil is the blocked voice coil without its DC resistance: leakage in air, the parts of the field that
// go through conducting iron, and what alternating current does inside the winding.
type Coil struct {
	Leak     float64   // H, field that meets no conductor
	Sections []Section // field through iron
	Wire     Wire
}

// Impedance is that of the coil less its DC resistance of re ohm, at w rad/s.
func (c Coil) Impedance(w, re float64) complex128 {
	z := jw(w*c.Leak) + complex(re, 0)*c.Wire.excess(w)
	for _, s := range c.Sections {
		z += s.Impedance(w)
	}
	return z
}

// Scaled multiplies every inductance and resistance by a factor, as more turns do by their square.
func (c Coil) Scaled(factor float64) Coil {
	sections := make([]Section, len(c.Sections))
	for i, s := range c.Sections {
		s.L *= factor
		s.Ring.R *= factor
		sections[i] = s
	}
	return Coil{Leak: c.Leak * factor, Sections: sections, Wire: c.Wire}
}

// Section is one path of the field through iron, with a short-circuited conductor around it or without.
//
//	Z = (1-k²) jωL D + k² (jωL D ∥ R x coth x)
//
// L static inductance of the path, D the diffusion factor of its iron, R the resistance of ring or cap as
// the coil sees it, k their coupling, x = √(jω/ω_ring) skin effect in the ring. A perfectly coupled
// short-circuited turn lies in parallel with the inductance; what is not coupled does not see it.
//
// Derived here from the transformer with complex inductance; limits in the tests.
type Section struct {
	L    float64 // H
	Iron Iron
	Ring Ring
}

// Impedance of the section at w rad/s.
func (s Section) Impedance(w float64) complex128 {
	z := jw(w*s.L) * s.Iron.diffusion(w)
	if s.Ring.R == 0 {
		return z
	}
	k2 := complex(s.Ring.Coupling*s.Ring.Coupling, 0)
	return (1-k2)*z + k2*parallel(z, complex(s.Ring.R, 0)*xcothx(s.Ring.skin(w)))
}

// Ring is a shorting ring or a copper cap.
type Ring struct {
	R        float64 // ohm as seen by the coil; 0: no ring
	Coupling float64 // 0 to 1
	Corner   float64 // 1/(μ0 σ d²) of its thickness d, rad/s; 0: thin
}

func (r Ring) skin(w float64) complex128 {
	if r.Corner == 0 {
		return 0
	}
	return cmplx.Sqrt(jw(w / r.Corner))
}

// Iron is the conducting iron of a path.
type Iron struct {
	Corner     float64 // 1/(μσd²), d half thickness or radius, rad/s; 0: not conducting
	Solid      bool    // a solid round pole; otherwise a plate
	Hysteresis float64 // ε: the permeability falls as (jω)^{-ε}, a constant angle of loss of ε·90°
}

// diffusion is the flux that enters the iron over the flux without eddy currents. With q = √(jω/ω0):
//
//	plate of half thickness d:  tanh(q)/q            pole of radius d:  2 I1(q)/(q I0(q))
//
// ω0 = 1/(μσd²). Both go from 1 to 1/q and 2/q: far above ω0 the inductance is a semi-inductance.
//
// Reference: Lammeraner and Štafl, Eddy Currents, 1966, chapters 2 and 4; for loudspeakers Vanderkooy,
// JAES 37, 1989 (from memory; limits and a ladder of an outside circuit simulator in the tests).
func (i Iron) diffusion(w float64) complex128 {
	if i.Corner == 0 {
		return 1
	}
	u := w / i.Corner
	q := power(u, (1-i.Hysteresis)/2)
	mu := power(u, -i.Hysteresis) // of the permeability, 1 at ω0
	if i.Solid {
		return mu * 2 * besselRatio(q) / q
	}
	return mu * tanhOver(q)
}

// tanhOver is tanh(q)/q for Re q ≥ 0.
func tanhOver(q complex128) complex128 {
	switch {
	case cmplx.Abs(q) < 1e-3:
		return 1 - q*q/3
	case real(q) > 20:
		return 1 / q
	}
	return cmplx.Tanh(q) / q
}

// xcothx is x coth x for Re x ≥ 0: the internal impedance of a sheet, field on one side, over its
// resistance.
func xcothx(x complex128) complex128 { return 1 / tanhOver(x) }

// besselRatio is I1(q)/I0(q), Re q > 0, by its continued fraction 1/(2/q + 1/(4/q + 1/(6/q + ...)))
// (Abramowitz and Stegun 9.1.73 in modified form, from memory), and by Hankel's expansion for large q.
func besselRatio(q complex128) complex128 {
	if cmplx.Abs(q) > 60 {
		u := 1 / q
		return 1 - u/2 - u*u/8 - u*u*u/8 - 25*u*u*u*u/128
	}
	var tail complex128
	for n := 40 + int(2*cmplx.Abs(q)); n >= 1; n-- {
		tail = 1 / (complex(2*float64(n), 0)/q + tail)
	}
	return tail
}

// Wire is what skin and proximity do in the winding.
type Wire struct {
	Corner float64 // 1/(μ0 σ h²), h the height of a layer, rad/s; 0: no effect
	Layers int
}

// excess is the rise of the winding's internal impedance over its DC resistance,
//
//	x coth x + (2/3)(m²-1) x tanh(x/2) - 1,   x = √(jω/ω_wire), m layers
//
// Reference: Dowell, Effects of eddy currents in transformer windings, Proc. IEE 113, 1966 (from memory;
// its real part is the well-known form with sinh and sin, compared in the tests).
func (w Wire) excess(omega float64) complex128 {
	if w.Corner == 0 {
		return 0
	}
	x := cmplx.Sqrt(jw(omega / w.Corner))
	m := float64(w.Layers)
	half := x * x / 2 * tanhOver(x/2) // x tanh(x/2)
	return xcothx(x) - 1 + complex(2*(m*m-1)/3, 0)*half
}

// mu0 is the permeability of air, copper and aluminium, H/m.
const mu0 = 4e-7 * math.Pi

// diffusionCorner is 1/(μσd²) in rad/s of a relative permeability, a conductivity in S/m and a thickness
// in m.
func diffusionCorner(permeability, conductivity, thickness float64) float64 {
	return 1 / (mu0 * permeability * conductivity * thickness * thickness)
}
