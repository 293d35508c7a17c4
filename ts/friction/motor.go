package friction

import "math"

// unevenMotor returns by how much the force factor changes with the square of the excursion, BL (1 + b x^2), in 1/m^2, and
// its standard deviation; false where the sweeps do not determine it. To the fundamental of an excursion of x (peak) the force
// factor is BL (1 + b x^2/4) for the voltage and for the current in step with the velocity, and BL (1 + 3/4 b x^2) for the
// current in step with the excursion. So the mechanical impedance BL^2/(Z - Ze) that is seen is, to first order,
//
//	Zm = R + r x^2 + jwM - jK/w - jk x^2/w - b x^2 (Re Zm/2 + j Im Zm)
//
// with the excursion at each frequency, which falls fast above the resonance. Mass, k, b, and r, by which losses of a suspension
// that slides follow the excursion, are those of all sweeps, K and R of each. Theory (9.12). Derived, from the averages of sin^4 and of sin^2 cos^2.
func unevenMotor(all []played) (b, std float64, ok bool) {
	n := 4 + 2*len(all)
	var points []seen
	for s, p := range all {
		points = append(points, p.seenNear(func(w, x float64, zm complex128) []complex128 {
			of := make([]complex128, n)
			of[0], of[1], of[2] = complex(0, w), complex(0, -x*x/w), -complex(x*x, 0)*complex(real(zm)/2, imag(zm))
			of[3], of[4+2*s], of[5+2*s] = complex(x*x, 0), complex(0, -1/w), 1
			return of
		})...)
	}
	x, cov, ok := solve(points, n)
	if !ok {
		return 0, 0, false
	}
	return x[2], math.Sqrt(cov.At(2, 2)), true
}
