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
	z     func(x []float64, f float64) complex128
}

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

// driverZ is the impedance of a driver in ohm at f Hz,
//
//	Z = Re + K (jf/1 kHz)^n + R/(1 + jQ(f/f1 - f1/f)),  0.3 < n < 1       theory (1.2), (1.6)
func driverZ(x []float64, f float64) complex128 {
	return coilZ(x, f) + resonance(x[xF:], f)
}

func coilZ(x []float64, f float64) complex128 {
	n := 0.3 + 0.7/(1+math.Exp(-x[xExponent]))
	size := math.Exp(x[xCoil] + n*math.Log(f/1000))
	return complex(math.Exp(x[xRe]), 0) + cmplx.Rect(size, n*math.Pi/2)
}

// resonance is that of a parallel circuit by ln f, ln Q, ln R.
func resonance(x []float64, f float64) complex128 {
	r := f / math.Exp(x[0])
	return complex(math.Exp(x[2]), 0) / complex(1, math.Exp(x[1])*(r-1/r))
}

// twoResonancesZ has a second resonance in series with the first. A box with a port, a mass
// on a spring and two drivers in series are all of this form (Foster's theorem, from memory).
func twoResonancesZ(x []float64, f float64) complex128 {
	return driverZ(x, f) + resonance(x[xMore:], f)
}

// capacitorZ has a capacitor in series, ln C (F).
func capacitorZ(x []float64, f float64) complex128 {
	return driverZ(x, f) + 1/complex(0, 2*math.Pi*f*math.Exp(x[xMore]))
}

// A time T (s) by which one input lags, with the resistor R of the bench, in each of
// the wirings: H' = H exp(-jwT).
func lateResistorFirstZ(x []float64, f float64) complex128 {
	z, r := driverZ(x, f), complex(resistor(x[xMore]), 0)
	h := z / (r + z) * lag(x, f)
	return r * h / (1 - h)
}

func lateDriverFirstZ(x []float64, f float64) complex128 {
	z, r := driverZ(x, f), complex(resistor(x[xMore]), 0)
	h := r / (r + z) * lag(x, f)
	return r * (1/h - 1)
}

func lateProbesZ(x []float64, f float64) complex128 {
	return driverZ(x, f) / lag(x, f)
}

// resistor is that of a bench (ohm), on a scale without bounds. Far beyond them the circuits are
// others: as R rises the first two become the third, and as R and T fall together the turn goes with Z alone.
func resistor(x float64) float64 {
	return leastResistor * math.Pow(mostResistor/leastResistor, 1/(1+math.Exp(-x)))
}

// lag is the turn of an input that lags by the last unknown, which is in units of 20 us.
func lag(x []float64, f float64) complex128 {
	return cmplx.Rect(1, -2*math.Pi*f*x[len(x)-1]*lateUnit)
}

const lateUnit = 20e-6 // s, about one sample

// smoothedZ is a driver whose magnitude and phase were averaged over 2^w octaves, w the
// last unknown. The average is that of five points with the weights of Gauss and Legendre
// (handbook of mathematical functions, table 25.4, from memory).
func smoothedZ(x []float64, f float64) complex128 {
	width := math.Exp2(x[xMore])
	var size, angle float64
	first := cmplx.Phase(driverZ(x, f))
	for _, p := range [...]struct{ at, weight float64 }{
		{0, 0.5688888888888889}, {-0.5384693101056831, 0.4786286704993665}, {0.5384693101056831, 0.4786286704993665},
		{-0.9061798459386640, 0.2369268850561891}, {0.9061798459386640, 0.2369268850561891}} {
		z := driverZ(x, f*math.Exp2(width*p.at/2))
		size += cmplx.Abs(z) * p.weight / 2
		angle += math.Remainder(cmplx.Phase(z)-first, 2*math.Pi) * p.weight / 2
	}
	return cmplx.Rect(size, first+angle)
}
