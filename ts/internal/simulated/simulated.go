// Package simulated makes impedances of drivers that exist only as numbers, for
// tests.
package simulated

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"conewright/ts/driver"
	"conewright/ts/measured"
)

// LogFreq returns frequencies from lo Hz up, perOctave to the octave.
func LogFreq(lo, hi, perOctave float64) []float64 {
	var f []float64
	for k := 0.0; ; k++ {
		v := lo * math.Exp2(k/perOctave)
		if v > hi {
			return f
		}
		f = append(f, v)
	}
}

// Simulate returns the impedance of a driver with the relative noise given on
// real and imaginary part; noise 0 leaves Sigma nil.
func Simulate(d driver.Driver, freq []float64, dM, dK, noise float64, rng *rand.Rand) measured.Impedance {
	z := make([]complex128, len(freq))
	var sigma []float64
	if noise > 0 {
		sigma = make([]float64, len(freq))
	}
	for i, f := range freq {
		z[i] = d.LoadedImpedance(f, dM, dK)
		if noise > 0 {
			sigma[i] = noise * cmplx.Abs(z[i])
			z[i] += complex(sigma[i]*rng.NormFloat64(), sigma[i]*rng.NormFloat64())
		}
	}
	out, err := measured.NewImpedance(freq, z, sigma)
	if err != nil {
		panic(err)
	}
	return out
}

// Grid returns a sweep of d from lo to hi (Hz) with the given points per octave.
func Grid(d driver.Driver, lo, hi float64, perOctave int) measured.Impedance {
	var z measured.Impedance
	for k := 0; ; k++ {
		f := lo * math.Exp2(float64(k)/float64(perOctave))
		if f > hi*(1+1e-12) {
			return z
		}
		z.Freq = append(z.Freq, f)
		z.Z = append(z.Z, d.Impedance(f))
	}
}
