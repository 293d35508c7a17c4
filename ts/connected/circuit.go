package connected

import (
	"math"
	"math/cmplx"
)

// circuit is something that may hang on the leads: its impedance as a function of unknowns,
// which are logarithms but for exponents and times.
type circuit struct {
	kind Kind
	// extra are the unknowns besides those of a driver, where they start.
	extra [][]float64
	with  func(x []float64) response
}

// response is the impedance (ohm) of a circuit at a frequency. Unless d is nil it also sets the derivatives by the unknowns.
type response func(p point, d []complex128) complex128

// point is a frequency in Hz, and the logarithm of that in kHz.
type point struct{ f, lnKilohertz float64 }

func pointAt(f float64) point { return point{f, math.Log(f / 1000)} }

// times moves a point by a factor of frequency and its logarithm.
func (p point) times(factor, ln float64) point { return point{p.f * factor, p.lnKilohertz + ln} }

// jw is the angular frequency times j.
func (p point) jw() complex128 { return complex(0, 2*math.Pi*p.f) }

// The unknowns of a driver, the first in all circuits: ln Re (ohm), ln of the size of the
// coil's impedance at 1 kHz (ohm), its exponent on a scale without bounds, and the resonance
// by ln f (Hz), ln Q and ln R (ohm).
const (
	xRe = iota
	xCoil
	xExponent
	xF
	xQ
	xR
	xMore // where those of a circuit begin
)

// inverse returns 1/z, much faster than a complex division, which guards against overflow.
func inverse(z complex128) complex128 {
	s := 1 / (real(z)*real(z) + imag(z)*imag(z))
	return complex(real(z)*s, -imag(z)*s)
}

// aDriver has the impedance in ohm at f Hz
//
//	Z = Re + K (jf/1 kHz)^n + R/(1 + jQ(f/f1 - f1/f)),  0.3 < n < 1       theory (1.2), (1.6)
func aDriver(x []float64) response {
	re, share := math.Exp(x[xRe]), 1/(1+math.Exp(-x[xExponent]))
	n := 0.3 + 0.7*share
	perExponent := 0.7 * share * (1 - share)
	sin, cos := math.Sincos(n * math.Pi / 2)
	motion := resonance(x, xF)
	return func(p point, d []complex128) complex128 {
		size := math.Exp(x[xCoil] + n*p.lnKilohertz)
		coil := complex(size*cos, size*sin)
		if d != nil {
			d[xRe], d[xCoil] = complex(re, 0), coil
			d[xExponent] = coil * complex(perExponent*p.lnKilohertz, perExponent*math.Pi/2)
		}
		return complex(re, 0) + coil + motion(p, d)
	}
}

// resonance is that of a parallel circuit by ln f, ln Q, ln R, which stand at i.
func resonance(x []float64, i int) response {
	f1, q, r := math.Exp(x[i]), math.Exp(x[i+1]), math.Exp(x[i+2])
	return func(p point, d []complex128) complex128 {
		u := p.f / f1
		v := 1 / u
		off := q * (u - v)
		per := 1 / (1 + off*off)
		y := complex(per, -off*per) // 1/(1 + j off)
		z := complex(r*real(y), r*imag(y))
		if d != nil {
			zy := z * y
			d[i] = complex(0, q*(u+v)) * zy
			d[i+1] = complex(0, -off) * zy
			d[i+2] = z
		}
		return z
	}
}

// aSecondResonance is in series with the first. A box with a port, a mass
// on a spring and two drivers in series are all of this form (Foster's theorem, from memory).
func aSecondResonance(x []float64) response {
	driver, second := aDriver(x), resonance(x, xMore)
	return func(p point, d []complex128) complex128 { return driver(p, d) + second(p, d) }
}

// aCapacitor in series, ln C (F).
func aCapacitor(x []float64) response {
	driver, c := aDriver(x), complex(math.Exp(x[xMore]), 0)
	return func(p point, d []complex128) complex128 {
		z := inverse(p.jw() * c)
		if d != nil {
			d[xMore] = -z
		}
		return driver(p, d) + z
	}
}

// aSmoothed is a driver whose magnitude and phase were averaged over 2^w octaves, w the
// last unknown. The average is that of five points with the weights of Gauss and Legendre
// (handbook of mathematical functions, table 25.4, from memory).
func aSmoothed(x []float64) response {
	driver := aDriver(x)
	width := math.Exp2(x[xMore]) * math.Ln2 // of ln f
	nodes := [...]struct{ at, weight float64 }{
		{0, 0.5688888888888889}, {-0.5384693101056831, 0.4786286704993665}, {0.5384693101056831, 0.4786286704993665},
		{-0.9061798459386640, 0.2369268850561891}, {0.9061798459386640, 0.2369268850561891}}
	var factors [len(nodes)]float64
	for k, n := range nodes {
		factors[k] = math.Exp(width * n.at / 2)
	}
	var byF [xMore]complex128
	var sum [xMore + 1]complex128 // derivatives of the size, and j times those of the angle
	return func(p point, d []complex128) complex128 {
		var size, angle float64
		var middle complex128
		clear(sum[:])
		for k, n := range nodes {
			var z complex128
			at := p.times(factors[k], width*n.at/2)
			if d == nil {
				z = driver(at, nil)
			} else {
				z = driver(at, byF[:])
			}
			a := cmplx.Abs(z)
			if k == 0 {
				middle = z
			}
			size += a * n.weight / 2
			angle += cmplx.Phase(z*cmplx.Conj(middle)) * n.weight / 2
			if d == nil {
				continue
			}
			perZ := inverse(z)
			add := func(i int, dz complex128) {
				per := dz * perZ // of ln z
				sum[i] += complex(a*real(per), imag(per)) * complex(n.weight/2, 0)
			}
			for i, dz := range byF {
				add(i, dz)
			}
			// d/d ln f: of the coil n times itself, of the resonance the opposite of that by ln f1.
			slope := byF[xCoil]*complex(0.3+0.7/(1+math.Exp(-x[xExponent])), 0) - byF[xF]
			add(xMore, slope*complex(width*n.at/2*math.Ln2, 0))
		}
		z := cmplx.Rect(size, cmplx.Phase(middle)+angle)
		if d != nil {
			for i, s := range sum {
				d[i] = z * complex(real(s)/size, imag(s))
			}
		}
		return z
	}
}
