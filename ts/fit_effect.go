package ts

import (
	"math"
	"math/cmplx"
)

// atCurve returns what a bench error does at the fitted curve, given what it does
// at the measured points. The two differ by the noise n of each point,
//
//	E(Z - n) = E(Z) - E'(Z) n,   E(Z) ~ a + b Z + c Z^2
//
// and the difference matters: an effect that holds the noise of its own point can
// shrink that noise, so that a fit prefers a wrong resistor to the right one (the
// bias of a common normalisation error). Every bench error is such a polynomial:
// the resistor b Z, leads a, a channel's gain b Z + c Z^2, the input's resistance
// c Z^2. All slices have one value a point, in ohm.
//
// Source: D'Agostini, Nucl. Instrum. Meth. A 346, 1994 (from memory), for the bias;
// the remedy is derived.
func atCurve(effect, measured, fitted []complex128) []complex128 {
	// Orthogonal columns 1, Z, Z^2 by Gram and Schmidt; relative weights, so that
	// the peak does not rule.
	n := len(effect)
	var column [3][]complex128
	var upper [3][3]complex128 // column k = sum of upper[j][k] q[j]
	var coefficient [3]complex128
	rest := make([]complex128, n)
	for i, z := range measured {
		rest[i] = effect[i] / complex(cmplx.Abs(z), 0)
	}
	rank := 0
	for k := range column {
		v := make([]complex128, n)
		size := 0.0
		for i, z := range measured {
			v[i] = power(z, k) / complex(cmplx.Abs(z), 0)
			size += sq(cmplx.Abs(v[i]))
		}
		for j := range rank {
			upper[j][k] = conjDot(column[j], v)
			subtractScaled(v, upper[j][k], column[j])
		}
		left := real(conjDot(v, v))
		if left < 1e-12*size {
			break // the curve is too flat to tell this power from the others
		}
		length := complex(math.Sqrt(left), 0)
		for i := range v {
			v[i] /= length
		}
		upper[k][k] = length
		column[k] = v
		coefficient[k] = conjDot(v, rest)
		subtractScaled(rest, coefficient[k], v)
		rank++
	}
	for k := rank - 1; k >= 0; k-- {
		for j := k + 1; j < rank; j++ {
			coefficient[k] -= upper[k][j] * coefficient[j]
		}
		coefficient[k] /= upper[k][k]
	}
	out := make([]complex128, n)
	for i, z := range measured {
		slope := coefficient[1] + 2*coefficient[2]*z
		out[i] = effect[i] - slope*(z-fitted[i])
	}
	return out
}

func power(z complex128, k int) complex128 {
	p := complex(1, 0)
	for range k {
		p *= z
	}
	return p
}

// conjDot returns the sum of conj(a) b.
func conjDot(a, b []complex128) complex128 {
	var s complex128
	for i := range a {
		s += cmplx.Conj(a[i]) * b[i]
	}
	return s
}

// subtractScaled takes s b away from a.
func subtractScaled(a []complex128, s complex128, b []complex128) {
	for i := range a {
		a[i] -= s * b[i]
	}
}
