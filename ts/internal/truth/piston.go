package truth

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// sqrt is math.Sqrt under a short name.
var sqrt = math.Sqrt

// piston is the radiation impedance of one side of a rigid piston in an infinite baffle over ρcπa²,
// at x = 2ka:
//
//	R = 1 - 2 J1(x)/x      X = 2 H1(x)/x       (H1: Struve's function)
//
// Reference: Rayleigh, Theory of Sound II, §302; Morse and Ingard, Theoretical Acoustics, 7.4 (from
// memory; checked in the tests against scipy and against the limits 8ka/(3π) and (ka)²/2).
func piston(x float64) complex128 {
	if x < 1e-2 { // the closed form loses digits here; the next terms are below 1e-9 of these
		return complex(x*x/8-x*x*x*x/192, 4*x/(3*math.Pi)-4*x*x*x/(45*math.Pi))
	}
	return complex(1-2*math.J1(x)/x, 2*struve1(x)/x)
}

// struve1 is Struve's function H1(x), x ≥ 0: its power series below 10; above, Y1(x) and
//
//	(2x/π) ∫0^∞ e^{-xt} √(1+t²) dt
//
// Reference: Abramowitz and Stegun 12.1.3 and 12.1.8 (from memory, checked against scipy).
func struve1(x float64) float64 {
	if x < 10 {
		h := x / 2
		term := h * h * 8 / (3 * math.Pi) // 1/(Γ(3/2)Γ(5/2)) = 8/(3π)
		sum := term
		for m := 1.0; math.Abs(term) > 1e-17*math.Abs(sum); m++ {
			term *= -h * h / ((m + 0.5) * (m + 1.5))
			sum += term
		}
		return sum
	}
	rest := quad.Fixed(func(u float64) float64 { // u = xt
		t := u / x
		return math.Exp(-u) * sqrt(1+t*t)
	}, 0, 45, 60, nil, 0)
	return math.Y1(x) + 2/math.Pi*rest
}
