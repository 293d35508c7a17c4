package main

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// truth is a simulated driver: what the fit should find, and the impedance it
// shows. The impedance need not be that of a ts.Driver.
type truth struct {
	re, fs, qms, qes, mms float64 // ohm, Hz, 1, 1, kg
	creep                 float64
	coil                  driver.Coil
	// law is the dynamic stiffness relative to its real part at resonance, over
	// x = f/fs; its value at 1 has the real part 1. Nil: logarithmic creep.
	law func(x float64) complex128
	// extra is added to the impedance, ohm at f in Hz. Nil: nothing.
	extra func(f float64) complex128
	noise float64 // relative, of real and imaginary part
	freq  []float64
}

// value returns the true value of a parameter.
func (t truth) value(id param.ID) float64 {
	ws := 2 * math.Pi * t.fs
	switch id {
	case param.Re:
		return t.re
	case param.Fs:
		return t.fs
	case param.Qms:
		return t.qms
	case param.Qes:
		return t.qes
	case param.Qts:
		return t.qms * t.qes / (t.qms + t.qes)
	case param.Mms:
		return t.mms
	case param.Cms:
		return 1 / (ws * ws * t.mms)
	case param.L1k:
		const w = 2 * math.Pi * 1000
		return imag(t.coil.Impedance(w)) / w
	case param.BL:
		return math.Sqrt(ws * t.mms * t.re / t.qes)
	}
	panic("validate: no true value of " + id.String())
}

// stiffness returns the dynamic stiffness at x = f/fs relative to its real part
// at resonance.
func (t truth) stiffness(x float64) complex128 {
	if t.law != nil {
		return t.law(x)
	}
	q := math.Pi / (2 * math.Ln10) * t.creep
	return complex(1+q*q, 0) / complex(1-t.creep*math.Log10(x), -q)
}

// impedance returns the impedance in ohm at f (Hz) with the mass dM (kg) on the
// cone, the stiffness multiplied by drift and Re by heat. It is written from the
// mechanical side, D = Zm/Rms, and shares no code with the fit.
func (t truth) impedance(f, dM, drift, heat float64) complex128 {
	x := f / t.fs
	k := t.stiffness(x)
	loss := imag(t.stiffness(1)) // of the suspension at resonance, times Qms is its share of Rms
	d := complex(1-t.qms*loss, t.qms*x*(1+dM/t.mms)) + k*complex(drift*t.qms/x, 0)*complex(0, -1)
	z := complex(t.re*heat, 0) + complex(t.re*t.qms/t.qes, 0)/d
	if t.coil != nil {
		z += t.coil.Impedance(2 * math.Pi * f)
	}
	if t.extra != nil {
		z += t.extra(f)
	}
	return z
}

// sweep returns a simulated measurement of the truth.
func (t truth) sweep(rng *rand.Rand, dM, drift, heat float64) measured.Impedance {
	z := make([]complex128, len(t.freq))
	sigma := make([]float64, len(t.freq))
	for i, f := range t.freq {
		z[i] = t.impedance(f, dM, drift, heat)
		sigma[i] = t.noise * cmplx.Abs(z[i])
		z[i] += complex(sigma[i]*rng.NormFloat64(), sigma[i]*rng.NormFloat64())
	}
	out, err := measured.NewImpedance(t.freq, z, sigma)
	if err != nil {
		panic(err)
	}
	return out
}

// ladderDriver draws the driver i of a population in which every form of the
// ladder is as often as the others: six coils, without and with creep.
func ladderDriver(i int, rng *rand.Rand) truth {
	t := randomDriver(rng)
	if i%2 == 0 {
		t.creep = 0
	}
	t.coil = coilLaws[i/2%len(coilLaws)].draw(rng, logBetween(rng, 0.3, 2)*t.re)
	return t
}

func between(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

func logBetween(rng *rand.Rand, lo, hi float64) float64 {
	return math.Exp(between(rng, math.Log(lo), math.Log(hi)))
}

func logGrid(lo, hi, perOctave float64) []float64 {
	var f []float64
	for k := 0.0; ; k++ {
		v := lo * math.Exp2(k/perOctave)
		if v > hi {
			return f
		}
		f = append(f, v)
	}
}

// randomDriver draws a woofer: the ranges are those of published data sheets
// of units from 10 to 46 cm, widened. The coil law is left out.
func randomDriver(rng *rand.Rand) truth {
	t := truth{
		re: between(rng, 3, 7.5), fs: logBetween(rng, 20, 90), qms: logBetween(rng, 2, 10), qes: logBetween(rng, 0.25, 1.1),
		mms: logBetween(rng, 0.008, 0.12), noise: logBetween(rng, 5e-4, 5e-3),
	}
	// The suspension cannot lose more than the whole: kappa lambda Qms < 1.
	t.creep = between(rng, 0.02, min(0.2, 1.2/t.qms))
	t.freq = logGrid(max(4, t.fs/8), between(rng, 1500, 5000), between(rng, 16, 40))
	return t
}

// coilLaws draw a coil of one law of the ladder, sized so that its reactance at
// 1 kHz is between 0.3 and 2 times Re.
var coilLaws = []struct {
	name string
	draw func(rng *rand.Rand, x1k float64) driver.Coil
}{
	{"plain", func(rng *rand.Rand, x float64) driver.Coil { return driver.PlainCoil{L: x / w1k} }},
	{"lossy", func(rng *rand.Rand, x float64) driver.Coil {
		n := between(rng, 0.5, 0.85)
		return driver.LossyCoil{K: x / math.Sin(n*math.Pi/2) / math.Pow(w1k, n), N: n}
	}},
	{"two-part", func(rng *rand.Rand, x float64) driver.Coil {
		l := x / w1k
		l2 := l * between(rng, 0.5, 2)
		return driver.TwoPartCoil{L1: l * between(rng, 0.5, 0.8), L2: l2, R2: 2 * math.Pi * logBetween(rng, 200, 800) * l2}
	}},
	{"semi-inductance", func(rng *rand.Rand, x float64) driver.Coil {
		l := x / w1k
		le := l * between(rng, 1, 3)
		return driver.SemiCoil{Leb: l * between(rng, 0.2, 0.6), Le: le, Ke: le * math.Sqrt(2*math.Pi*logBetween(rng, 100, 600)), Rss: math.Inf(1)}
	}},
	{"semi-inductance ladder", func(rng *rand.Rand, x float64) driver.Coil {
		l := x / w1k
		le := l * between(rng, 1, 3)
		return driver.SemiCoil{Leb: l * between(rng, 0.2, 0.6), Le: le, Ke: le * math.Sqrt(2*math.Pi*logBetween(rng, 100, 600)), Rss: le * 2 * math.Pi * logBetween(rng, 300, 1500)}
	}},
	{"power", func(rng *rand.Rand, x float64) driver.Coil {
		xr, xi := between(rng, 0.6, 0.9), between(rng, 0.55, 0.8)
		return driver.PowerCoil{Kr: x * between(rng, 0.3, 0.7) / math.Pow(w1k, xr), Xr: xr, Ki: x / math.Pow(w1k, xi), Xi: xi}
	}},
}

const w1k = 2 * math.Pi * 1000
