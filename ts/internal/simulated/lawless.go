package simulated

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"conewright/ts/driver"
	"conewright/ts/measured"
)

// Lawless is a driver whose impedance follows no law: a coil of several kinds in series, a suspension that relaxes in two ways, a
// misfit of one part of an octave after the other, and half of the time a second resonance.
type Lawless struct {
	Re, Fs, Qms, Qes float64 // ohm, Hz
	stiffness        func(x float64) complex128
	coil             []driver.Coil
	bumps            []bump
	second           bump // height in ohm, width is its Q
	noise            float64
	smooth           float64 // octaves over which a program averages magnitude and phase
}

type bump struct {
	f, width float64 // Hz, octaves
	height   complex128
}

// DrawLawless draws a driver whose local misfit has the relative size rms (real and imaginary part each) above 3 Fs, and a
// third of it below.
func DrawLawless(rng *rand.Rand, rms float64) Lawless {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	logBetween := func(lo, hi float64) float64 { return math.Exp(between(math.Log(lo), math.Log(hi))) }
	d := Lawless{Re: between(3, 7.5), Fs: logBetween(20, 120), Qms: logBetween(2, 14), Qes: logBetween(0.25, 1.1), noise: logBetween(5e-4, 4e-3)}
	creep := between(0.02, min(0.2, 1.2/d.Qms))
	share, turn := rng.Float64(), logBetween(0.1, 3)
	law := func(x float64) complex128 {
		s := complex(0, x/turn)
		return cmplx.Pow(complex(0, x), complex(0.5*creep*share, 0)) + complex(creep*(1-share), 0)*s/(1+s)
	}
	unit := complex(1/real(law(1)), 0)
	d.stiffness = func(x float64) complex128 { return unit * law(x) }
	l := logBetween(0.3, 2) * d.Re / (2 * math.Pi * 1000)
	turnCoil := logBetween(50, 600)
	d.coil = []driver.Coil{
		driver.PlainCoil{L: 0.2 * l},
		driver.TwoPartCoil{L2: between(0, 0.8) * l, R2: 2 * math.Pi * logBetween(300, 5000) * l},
		driver.SemiCoil{Le: 1.5 * l, Ke: l * math.Sqrt(2*math.Pi*turnCoil), Rss: math.Inf(1)},
	}
	width := between(0.15, 0.6)
	for f := 1.5; f < 25000; f *= math.Exp2(width * between(0.7, 1.5)) {
		size := rms
		if f < 3*d.Fs {
			size /= 3
		}
		// Such bumps overlap: half of their height is the size of their sum.
		d.bumps = append(d.bumps, bump{f, width * between(0.6, 1.2), complex(size*rng.NormFloat64(), size*rng.NormFloat64()) * 0.9})
	}
	if rng.IntN(2) == 0 {
		d.second = bump{logBetween(300, 1000), between(4, 12), complex(d.Re*between(0.05, 0.3), 0)}
	}
	d.smooth = []float64{0, 0, 1. / 24, 1. / 12}[rng.IntN(4)]
	return d
}

// Second returns where the second resonance has its peak (Hz); 0 without one.
func (d Lawless) Second() float64 { return d.second.f }

// Impedance returns the impedance (ohm) at f in Hz.
func (d Lawless) Impedance(f float64) complex128 {
	x := f / d.Fs
	loss := imag(d.stiffness(1))
	m := complex(1-d.Qms*loss, d.Qms*x) + d.stiffness(x)*complex(0, -d.Qms/x)
	z := complex(d.Re, 0) + complex(d.Re*d.Qms/d.Qes, 0)/m
	for _, c := range d.coil {
		z += c.Impedance(2 * math.Pi * f)
	}
	if s := d.second; s.f > 0 {
		z += s.height / complex(1, s.width*(f/s.f-s.f/f))
	}
	factor := complex(1, 0)
	for _, b := range d.bumps {
		u := math.Log2(f/b.f) / b.width
		factor += b.height * complex(math.Exp(-u*u), 0)
	}
	return z * factor
}

// Sweep is a sweep as a program exports it: 24 points an octave, at the low end no closer than the lines of a
// spectrum, 1.2 Hz apart, without its noise.
func (d Lawless) Sweep(rng *rand.Rand) measured.Impedance {
	var z measured.Impedance
	for f := 1.5; f < 20000; f = max(f*math.Exp2(1.0/24), f+1.2) {
		v := d.smoothed(f)
		z.Freq = append(z.Freq, f)
		z.Z = append(z.Z, v+complex(d.noise*cmplx.Abs(v)*rng.NormFloat64(), d.noise*cmplx.Abs(v)*rng.NormFloat64()))
	}
	return z
}

// smoothed returns the impedance with magnitude and phase averaged over the neighbourhood.
func (d Lawless) smoothed(f float64) complex128 {
	const half = 5
	middle := d.Impedance(f)
	var size, turn float64
	for i := -half; i <= half; i++ {
		v := d.Impedance(f * math.Exp2(d.smooth/2*float64(i)/half))
		size += cmplx.Abs(v) / (2*half + 1)
		turn += cmplx.Phase(v/middle) / (2*half + 1)
	}
	return cmplx.Rect(size, cmplx.Phase(middle)+turn)
}
