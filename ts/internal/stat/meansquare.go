package stat

import "math"

// MeanSquare is a mean of squares with its degrees of freedom, which may be
// infinite. Value has the unit of a variance.
type MeanSquare struct{ Value, Dof float64 }

// arms returns the relative lengths of the lower and the upper arm of the
// interval for the expectation of a mean square at the confidence 1-2 tail:
//
//	G = 1 - d/chi2(1-tail, d),   H = d/chi2(tail, d) - 1
func arms(tail, dof float64) (g, h float64) {
	return 1 - 1/ChiSquare(1-tail, dof), 1/ChiSquare(tail, dof) - 1
}

// DifferenceLimits returns the limits of E[a] - E[b] for two independent mean
// squares, each missed with the probability tail, by the modified large sample
// method. They may be negative.
//
//	L = a - b - sqrt(G1^2 a^2 + H2^2 b^2 + G12 a b)
//	U = a - b + sqrt(H1^2 a^2 + G2^2 b^2 + H12 a b)
//	G12 = ((F1-1)^2 - G1^2 F1^2 - H2^2)/F1,   F1 = F(1-tail, d1, d2)
//	H12 = ((1-F2)^2 - H1^2 F2^2 - G2^2)/F2,   F2 = F(tail, d1, d2)
//
// Source: Ting, Burdick, Graybill, Jeyaratnam, Lu, J. Stat. Comput. Simul. 35,
// 1990, and Burdick and Graybill 1992 (from memory; checked against limits that
// another program printed, and by simulated coverage). Theory (8.5).
func DifferenceLimits(a, b MeanSquare, tail float64) (lo, hi float64) {
	g1, h1 := arms(tail, a.Dof)
	g2, h2 := arms(tail, b.Dof)
	f1, f2 := Fisher(1-tail, a.Dof, b.Dof), Fisher(tail, a.Dof, b.Dof)
	g12 := (sq(f1-1) - sq(g1*f1) - sq(h2)) / f1
	h12 := (sq(1-f2) - sq(h1*f2) - sq(g2)) / f2
	v := a.Value - b.Value
	lo = v - math.Sqrt(max(0, sq(g1*a.Value)+sq(h2*b.Value)+g12*a.Value*b.Value))
	hi = v + math.Sqrt(max(0, sq(h1*a.Value)+sq(g2*b.Value)+h12*a.Value*b.Value))
	return lo, hi
}

// SumLimits returns the limits of the sum of weights[i] E[squares[i]], each
// missed with the probability tail:
//
//	L = T - sqrt( sum (a w S)^2 ),   U = T + sqrt( sum (b w S)^2 )
//
// a = G and b = H for a positive weight, the other way round for a negative one: there terms of
// pairs are left out, which makes the interval longer than that of DifferenceLimits.
//
// Source: Graybill and Wang, J. Am. Stat. Assoc. 75, 1980 (from memory; checked
// like DifferenceLimits); negative weights after Ting et al. Theory (8.6).
func SumLimits(squares []MeanSquare, weights []float64, tail float64) (lo, hi float64) {
	var total, down, up float64
	for i, s := range squares {
		if weights[i] == 0 {
			continue
		}
		a, b := arms(tail, s.Dof)
		if weights[i] < 0 {
			a, b = b, a
		}
		part := weights[i] * s.Value
		total += part
		down += sq(a * part)
		up += sq(b * part)
	}
	return total - math.Sqrt(down), total + math.Sqrt(up)
}

func sq(x float64) float64 { return x * x }
