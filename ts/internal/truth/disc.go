package truth

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/mat"
)

// discTop is the ka above which a disc without a baffle is taken as a piston with one: the two differ
// there by less than a tenth of 2ρcπa², which is nothing beside ωM.
const discTop = 8.0

// disc is the radiation impedance of both sides of a rigid disc without a baffle over ρcπa², at ka.
// Small ka: X → 8ka/(3π), half of what two baffled sides have, and R → 16(ka)⁴/(27π²), the dipole.
func disc(ka float64) complex128 {
	if ka >= discTop {
		return 2 * piston(2*ka)
	}
	t := discTable()
	k4 := ka * ka * ka * ka
	return complex(t.r.Predict(ka)*k4/(1+k4), t.x.Predict(ka)*ka)
}

type discSplines struct{ r, x interp.NaturalCubic }

// discTable holds the exact solution at 81 points, as smooth functions of ka: R(1+k⁴)/k⁴ and X/k.
var discTable = sync.OnceValue(func() *discSplines {
	const n = 81
	k, r, x := make([]float64, n), make([]float64, n), make([]float64, n)
	r[0], x[0] = 16/(27*math.Pi*math.Pi), 8/(3*math.Pi)
	for i := 1; i < n; i++ {
		k[i] = discTop * float64(i) / (n - 1)
		z, k4 := discExact(k[i], 6), k[i]*k[i]*k[i]*k[i]
		r[i], x[i] = real(z)*(1+k4)/k4, imag(z)/k[i]
	}
	t := &discSplines{}
	if t.r.Fit(k, r) != nil || t.x.Fit(k, x) != nil {
		panic("truth: no spline through the radiation of a disc")
	}
	return t
})

// discExact solves the wave equation for the disc by Galerkin's method with a number of terms. The jump of
// pressure across the disc is ρc u Σ a_n (1-r²)^{n+1/2} (r over a), which has the right edge; its Hankel
// transform is (Sonine)
//
//	B_n(t) = c_n j_{n+1}(t)/t^{n+1},   c_n = 2^ν Γ(ν+1) √(2/π),   ν = n+1/2
//
// with spherical Bessel functions, and the normal velocity on the disc is u if for every m
//
//	½ Σ a_n ∫0^∞ B_m B_n μ t dt = jk/(2m+3),   μ = √(t²-k²), and j√(k²-t²) below k.
//
// Then Z/(ρcπa²) = 2 Σ a_n/(2n+3). For k = 0 the integral is Weber and Schafheitlin's (Abramowitz and
// Stegun 11.4.33, from memory); only the difference from it is integrated by quadrature.
//
// Derived here; the method is Bouwkamp's for the freely vibrating disc (thesis, Groningen 1941, from memory).
func discExact(k float64, terms int) complex128 {
	a := mat.NewDense(2*terms, 2*terms, nil) // (stored + j radiated) as twice as many real equations
	add := func(m, n int, stored, radiated float64) {
		a.Set(m, n, a.At(m, n)+stored)
		a.Set(m+terms, n+terms, a.At(m+terms, n+terms)+stored)
		a.Set(m, n+terms, a.At(m, n+terms)-radiated)
		a.Set(m+terms, n, a.At(m+terms, n)+radiated)
	}
	b := make([]float64, terms)
	node := func(t, stored, radiated float64) {
		sonine(b, t)
		for m := range terms {
			for n := range terms {
				add(m, n, b[m]*b[n]*stored/2, b[m]*b[n]*radiated/2)
			}
		}
	}
	for m := range terms {
		for n := range terms {
			add(m, n, discStatic(m, n)/2, 0)
		}
	}
	at, weight := make([]float64, 24), make([]float64, 24)
	quad.Legendre{}.FixedLocations(at, weight, 0, math.Pi/2)
	for i, th := range at { // t = k sin θ below k
		t, c := k*math.Sin(th), k*math.Cos(th)
		node(t, -t*t*c*weight[i], t*c*c*weight[i])
	}
	const pieces, top = 20, 60.0 // above k, t² = k² + s²; beyond s = 60 less than 1e-6 is missing
	for p := range pieces {
		quad.Legendre{}.FixedLocations(at, weight, top*float64(p)/pieces, top*float64(p+1)/pieces)
		for i, s := range at {
			t := sqrt(k*k + s*s)
			node(t, s*(s-t)*weight[i], 0)
		}
	}
	right := mat.NewVecDense(2*terms, nil)
	for m := range terms {
		right.SetVec(m+terms, k/float64(2*m+3))
	}
	var x mat.VecDense
	if err := x.SolveVec(a, right); err != nil {
		if _, poor := err.(mat.Condition); !poor {
			panic("truth: the disc has no solution: " + err.Error())
		}
	}
	var z complex128
	for n := range terms {
		z += complex(x.AtVec(n), x.AtVec(n+terms)) * complex(2/float64(2*n+3), 0)
	}
	return z
}

// discFactor is c_n of discExact.
func discFactor(n int) float64 {
	nu := float64(n) + 0.5
	return math.Exp2(nu) * math.Gamma(nu+1) * sqrt(2/math.Pi)
}

// discStatic is ∫0^∞ B_m B_n t² dt.
func discStatic(m, n int) float64 {
	// B_n = c_n √(π/2) J_{n+3/2}/t^{n+3/2}; the orders are mu and nu, the power of t is -lambda.
	mu, nu, lambda := float64(m)+1.5, float64(n)+1.5, float64(m+n+1)
	g := math.Gamma
	return discFactor(m) * discFactor(n) * math.Pi / 2 * g(lambda) * g((mu+nu-lambda+1)/2) /
		(math.Exp2(lambda) * g((nu-mu+lambda+1)/2) * g((mu+nu+lambda+1)/2) * g((mu-nu+lambda+1)/2))
}

// sonine writes B_n(t), n = 0, 1..., into b.
func sonine(b []float64, t float64) {
	below, here := math.Sin(t)/t, math.Sin(t)/(t*t)-math.Cos(t)/t // j_0, j_1
	over := t                                                     // t^l
	for n := range b {
		l := n + 1
		if t < 1+float64(l) {
			b[n] = discFactor(n) * sphericalSeries(l, t)
		} else {
			b[n] = discFactor(n) * here / over
		}
		below, here = here, float64(2*l+1)/t*here-below
		over *= t
	}
}

// sphericalSeries is j_l(t)/t^l by its power series, for t of the size of l or less.
func sphericalSeries(l int, t float64) float64 {
	term := 1.0
	for i := 1; i <= l; i++ {
		term /= float64(2*i + 1)
	}
	sum := term
	for m := 1; math.Abs(term) > 1e-17*math.Abs(sum); m++ {
		term *= -t * t / 2 / (float64(m) * float64(2*l+2*m+1))
		sum += term
	}
	return sum
}
