// Package handmade has drivers and parameter sets made by hand, for tests and
// examples that need a result without a fit.
package handmade

import (
	"math"

	"conewright/ts/driver"
)

var (
	// Woofer is the base driver of the simulations: an invented eight-inch woofer of common
	// proportions.
	Woofer = driver.Driver{Re: 5.6, BL: 8, Mms: 30e-3, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{K: 0.012, N: 0.7}}
	// CourseWoofer is the 12-inch woofer of a university course on electroacoustics
	// (lecture 7, problem 2): 88.2 g, 0.55 mm/N, 22.85 Hz on the baffle.
	CourseWoofer = driver.Driver{Re: 5.46, BL: 11.6, Mms: 0.0882, Cms: 0.55e-3, Rms: 3.25}
	// StiffWoofer is the driver of a French preparatory-class project on loudspeaker
	// modelling (section 01.5): a high peak.
	StiffWoofer = driver.Driver{Re: 5, BL: 24, Mms: 0.15, Cms: 0.11e-3, Rms: 6, Coil: driver.PlainCoil{L: 1.5e-3}}
	// LowQ is invented, with a low, wide peak.
	LowQ = driver.Driver{Re: 6, BL: 8, Mms: 0.04, Cms: 0.5e-3, Rms: 6, Coil: driver.LossyCoil{K: 0.03, N: 0.65}}
)

// WithCoil returns d with another coil.
func WithCoil(d driver.Driver, c driver.Coil) driver.Driver { d.Coil = c; return d }

// CourseWithCoil is the woofer of the course with the coil of the course.
func CourseWithCoil() driver.Driver {
	return WithCoil(CourseWoofer, driver.LossyCoil{K: 0.0106, N: 0.76})
}

// Changed returns the base driver changed by f.
func Changed(f func(*driver.Driver)) driver.Driver {
	d := Woofer
	f(&d)
	return d
}

// ExactCrossing finds by bisection where |Z| is rho times Re: above the resonance for
// side +1, below it for -1, in Hz.
func ExactCrossing(d driver.Driver, rho, side float64) float64 {
	in, out := d.Fs(), d.Fs()*math.Pow(50, side)
	for range 200 {
		mid := math.Sqrt(in * out)
		z := d.Impedance(mid)
		if math.Hypot(real(z), imag(z)) > rho*d.Re {
			in = mid
		} else {
			out = mid
		}
	}
	return in
}
