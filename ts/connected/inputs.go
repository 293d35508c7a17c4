package connected

import (
	"math"
	"slices"
)

// seen is a driver, the first n unknowns, behind the leads of a bench.
type seen struct {
	n    int
	with func(x []float64) response
}

// inputs is what the two inputs of a bench make of the ratio H of their voltages, as a factor g of it: a function of unknowns
// x, with the derivatives of ln g by them.
type inputs func(x []float64) response

// A driver seen through such inputs, with the resistor R of the bench, in each of the wirings: H' = g H.
//
//	resistor first   H = Z/(R + Z)   Z' = R H'/(1 - H')
//	driver first     H = R/(R + Z)   Z' = R (1/H' - 1)
//	probes           H = R/Z         Z' = R/H'
//
// The first two have the resistor before the unknowns of the inputs.
func (s seen) resistorFirst(by inputs) func(x []float64) response {
	return func(x []float64) response {
		driver, r, perX, factor := s.with(x), complex(resistor(x[s.n]), 0), resistorPer(x[s.n]), by(x[s.n+1:])
		return func(p point, d []complex128) complex128 {
			z, g := driver(p, d), factor(p, after(d, s.n+1))
			per := inverse(r + z)
			h := z * per * g
			left := inverse(1 - h)
			byH := r * left * left
			if d != nil {
				byZ := byH * g * r * per * per
				for i := range s.n {
					d[i] *= byZ
				}
				d[s.n] = (h*left - byH*h*per) * perX
				for i := s.n + 1; i < len(d); i++ {
					d[i] *= byH * h
				}
			}
			return r * h * left
		}
	}
}

func (s seen) driverFirst(by inputs) func(x []float64) response {
	return func(x []float64) response {
		driver, r, perX, factor := s.with(x), complex(resistor(x[s.n]), 0), resistorPer(x[s.n]), by(x[s.n+1:])
		return func(p point, d []complex128) complex128 {
			z, over := driver(p, d), inverse(factor(p, after(d, s.n+1)))
			if d != nil {
				for i := range s.n {
					d[i] *= over
				}
				d[s.n] = (over - 1) * perX
				for i := s.n + 1; i < len(d); i++ {
					d[i] *= -(r + z) * over
				}
			}
			return (r+z)*over - r
		}
	}
}

func (s seen) probes(by inputs) func(x []float64) response {
	return func(x []float64) response {
		driver, factor := s.with(x), by(x[s.n:])
		return func(p point, d []complex128) complex128 {
			over := inverse(factor(p, after(d, s.n)))
			z := driver(p, d) * over
			if d != nil {
				for i := range s.n {
					d[i] *= over
				}
				for i := s.n; i < len(d); i++ {
					d[i] *= -z
				}
			}
			return z
		}
	}
}

// after is the part of the derivatives from i on; nil where there are none.
func after(d []complex128, i int) []complex128 {
	if d == nil {
		return nil
	}
	return d[i:]
}

// The resistor of a bench (ohm), on a scale without bounds. Far beyond them the circuits are
// others: as R rises the first two become the third, and as R and T fall together the turn goes with Z alone.
func resistor(x float64) float64 {
	return leastResistor * math.Pow(mostResistor/leastResistor, 1/(1+math.Exp(-x)))
}

// resistorPer is the derivative of resistor.
func resistorPer(x float64) complex128 {
	share := 1 / (1 + math.Exp(-x))
	return complex(resistor(x)*math.Log(mostResistor/leastResistor)*share*(1-share), 0)
}

// aCreepingDriver is aDriver whose suspension is softer the slower it is moved: its compliance is that at the resonance f1 times
//
//	1 - b ln(jf/f1)                                                    theory (1.3)
//
// b comes after the unknowns of the driver.
func aCreepingDriver(x []float64) response {
	coil := aDriver(append(slices.Clone(x[:xR]), math.Inf(-1)))
	f1, q, r, b := math.Exp(x[xF]), math.Exp(x[xQ]), math.Exp(x[xR]), complex(x[xMore], 0)
	return func(p point, d []complex128) complex128 {
		z := coil(p, d)
		u := complex(p.f/f1, 0)
		ln := complex(math.Log(p.f/f1), math.Pi/2)
		per := inverse(u * (1 - b*ln))
		jq := complex(0, q)
		y := inverse(1 + jq*(u-per))
		motion := complex(r, 0) * y
		if d != nil {
			zy := -motion * y
			d[xF] = zy * jq * (b*u*per*per - u - per)
			d[xQ] = zy * jq * (u - per)
			d[xR] = motion
			d[xMore] = -zy * jq * u * ln * per * per
		}
		return z + motion
	}
}

// lag is the turn exp(-jwT) of an input that lags by T, which is in units of 20 us.
func lag(x []float64) response {
	return func(p point, d []complex128) complex128 {
		sin, cos := math.Sincos(-2 * math.Pi * p.f * x[0] * lateUnit)
		if d != nil {
			d[0] = -p.jw() * lateUnit
		}
		return complex(cos, sin)
	}
}

const lateUnit = 20e-6 // s, about one sample

// coupling is the ratio of two first-order high passes: with the corners fn of the input in the numerator of H and fd of that in the
// denominator (Hz),
//
//	g = (jf + fd)/(jf + fn),   fn = fc exp(a/2), fd = fc exp(-a/2)       theory (6.21)
//
// of the unknowns ln fc and a. Classical.
func coupling(x []float64) response {
	fn, fd := corners(x)
	return func(p point, d []complex128) complex128 {
		n, m := inverse(complex(fn, p.f)), inverse(complex(fd, p.f))
		if d != nil {
			byN, byD := complex(fn, 0)*n, complex(fd, 0)*m
			d[0], d[1] = byD-byN, -(byD+byN)/2
		}
		return complex(fd, p.f) * n
	}
}

// corners are those of numerator and denominator (Hz).
func corners(x []float64) (fn, fd float64) { return math.Exp(x[0] + x[1]/2), math.Exp(x[0] - x[1]/2) }
