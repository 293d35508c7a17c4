package truth

import (
	"math"
	"math/cmplx"
	"testing"
)

// scipy 1.10: ive(1, q)/ive(0, q) at q = r e^{jπ/4}.
func TestBesselRatioAgainstScipy(t *testing.T) {
	for _, c := range []struct {
		r    float64
		want complex128
	}{
		{0.1, complex(0.0353994594498, 0.0353110713554)},
		{1, complex(0.389364918235, 0.30343511628)},
		{5, complex(0.929233111426, 0.0750551309358)},
		{20, complex(0.982334687201, 0.018001110242)},
		{59, complex(0.994008016537, 0.00602876950998)},
		{61, complex(0.994204446631, 0.00582993939037)},
		{200, complex(0.998232244219, 0.0017709030006)},
	} {
		nearC(t, "ratio", besselRatio(cmplx.Rect(c.r, math.Pi/4)), c.want, 1e-9)
	}
}

// Far below its corner iron does nothing but a loss that grows as ω²: tanh(q)/q = 1 - q²/3, 2I1/(qI0) =
// 1 - q²/8. Far above, the inductance is a semi-inductance of 45°: 1/q and 2/q.
func TestThinAndThickIron(t *testing.T) {
	for _, c := range []struct {
		solid      bool
		thin, much float64
	}{{false, 1. / 3, 1}, {true, 1. / 8, 2}} {
		iron := Iron{Corner: 100, Solid: c.solid}
		d := iron.diffusion(0.1)
		near(t, "loss when thin", -imag(d), c.thin*0.001, 1e-3)
		near(t, "inductance when thin", real(d), 1, 1e-5)
		d = iron.diffusion(1e8)
		nearC(t, "thick", d, complex(c.much, 0)/power(1e6, 0.5), 2e-3)
	}
	if (Iron{}).diffusion(5) != 1 {
		t.Error("iron that does not conduct must do nothing")
	}
	near(t, "corner", diffusionCorner(1, 5.8e7, math.Sqrt(2/(2*math.Pi*1e4*mu0*5.8e7))), 2*math.Pi*1e4/2, 1e-12) // d = one skin depth: ω0 = ω/2
}

// With hysteresis the phase of the coil is that of a power law between 45° and 90°.
func TestHysteresisBendsThePhase(t *testing.T) {
	s := Section{L: 1e-3, Iron: Iron{Corner: 10, Hysteresis: 0.1}}
	_, degrees := polar(s.Impedance(1e6))
	near(t, "phase", degrees, 90*(1-0.1-0.45), 1e-3)
}

// Dowell's factor in its well-known form,
// ξ[(sinh 2ξ + sin 2ξ)/(cosh 2ξ - cos 2ξ) + (2/3)(m²-1)(sinh ξ - sin ξ)/(cosh ξ + cos ξ)], ξ = h/δ.
func TestWireAgainstDowell(t *testing.T) {
	for _, xi := range []float64{0.1, 0.5, 1, 3} {
		for _, m := range []int{1, 2, 4} {
			f := (math.Sinh(2*xi) + math.Sin(2*xi)) / (math.Cosh(2*xi) - math.Cos(2*xi))
			f += 2. / 3 * float64(m*m-1) * (math.Sinh(xi) - math.Sin(xi)) / (math.Cosh(xi) + math.Cos(xi))
			const corner = 1e5
			w := Wire{Corner: corner, Layers: m}
			near(t, "R over DC", 1+real(w.excess(2*xi*xi*corner)), xi*f, 1e-6) // ω/ω0 = 2ξ²
		}
	}
}

// Without resistance a ring takes k² of the inductance away; with much of it, nothing. A thick ring is of higher
// resistance and some inductance.
func TestRingLimits(t *testing.T) {
	const w = 1e4
	s := Section{L: 1e-3, Ring: Ring{R: 1e9, Coupling: 0.8}}
	nearC(t, "open", s.Impedance(w), jw(w*1e-3), 1e-7)
	s.Ring.R = 1e-9
	nearC(t, "shorted", s.Impedance(w), jw(w*1e-3*0.36), 1e-7)
	s.Ring.R = 0.1
	thin := s.Impedance(w)
	s.Ring.Corner = w / 50 // ten skin depths
	if thick := s.Impedance(w); real(thick) < 2*real(thin) {
		t.Errorf("a thick ring must lose more at high frequencies: %v, thin %v", thick, thin)
	}
}

func TestScaledCoil(t *testing.T) {
	c := drawCoil(Rand(3), 6, size{8, 37, 34})
	nearC(t, "scaled", c.Scaled(2).Impedance(5000, 12), 2*c.Impedance(5000, 6), 1e-12)
}
