package ts

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// predictAddedMass returns the relative standard uncertainties of Mms, Cms, Rms,
// BL and Vas that a further sweep with the added mass (kg, relative standard
// uncertainty u) would give together with the free one. It is the inverse of
// the Fisher information of both sweeps for the driver that p describes, theory
// (5.14):
//
//	V = (sum over points of J' J / sigma^2)^-1
//
// on a grid of 24 points an octave, with the noise scaled so that the same sum
// over the free sweep alone gives the uncertainty that Fs now has. mass is the
// moving mass (kg) that is expected.
func predictAddedMass(p Parameters, mass, added, u float64) map[ParamID]float64 {
	d, ok := driverFor(p, mass)
	if !ok {
		return nil
	}
	free := information(d, 0, 0)
	both := mat.NewSymDense(free.SymmetricDim(), nil)
	both.AddSym(free, information(d, added, 0))

	noise := 0.002 // of |Z|, where nothing is known
	if i := p.Index(Fs); p.Noise != nil && p.Noise.At(i, i) > 0 {
		// Free alone does not determine BL: hold it, Fs does not depend on it.
		if v := invertWithout(free, 1); v != nil {
			noise = math.Sqrt(p.Noise.At(i, i) / (0.25 * (v.At(1, 1) + 2*v.At(1, 2) + v.At(2, 2))))
		}
	}
	v := invertWithout(both, -1)
	if v == nil {
		return nil
	}
	std := func(i int, perMass float64) float64 {
		return math.Sqrt(noise*noise*v.At(i, i) + perMass*perMass*u*u)
	}
	out := map[ParamID]float64{BL: std(1, 0.5), Mms: std(2, 1), Cms: std(3, 1), Rms: std(4, 1)}
	if i := p.Index(Sd); i >= 0 {
		out[Vas] = math.Hypot(out[Cms], 2*p.scaledStd(i))
	}
	return out
}

// driverFor builds a driver with the values of p and the given moving mass.
func driverFor(p Parameters, mass float64) (Driver, bool) {
	var v [4]float64
	for i, id := range []ParamID{Re, Fs, Qms, Qes} {
		e, ok := p.Get(id)
		if !ok {
			return Driver{}, false
		}
		v[i] = e.Value
	}
	w := 2 * math.Pi * v[1]
	d := Driver{Re: v[0], Mms: mass, Cms: 1 / (w * w * mass), Rms: w * mass / v[2], BL: math.Sqrt(w * mass * v[0] / v[3])}
	if c, ok := p.Get(Creep); ok {
		d.Creep = c.Value
	}
	d.Coil = LossyCoil{K: 0.003 * v[0], N: 0.7}
	if l, ok := p.Get(L1k); ok {
		if r, ok := p.Get(R1k); ok && r.Value > 0 {
			x := 2 * math.Pi * 1000 * l.Value
			n := 2 / math.Pi * math.Atan2(x, r.Value)
			d.Coil = LossyCoil{K: math.Hypot(x, r.Value) / math.Pow(2*math.Pi*1000, n), N: n}
		}
	}
	return d, true
}

// information returns the Fisher information of one sweep with relative noise 1
// about the logarithms of (Re, BL, Mms, Cms, Rms, K, n): 24 points an octave
// from a quarter of the loaded resonance to 2 kHz.
func information(d Driver, dM, dK float64) *mat.SymDense {
	coil := d.Coil.(LossyCoil)
	base := [7]float64{d.Re, d.BL, d.Mms, d.Cms, d.Rms, coil.K, coil.N}
	at := func(f float64, i int, h float64) complex128 {
		x := base
		x[i] *= math.Exp(h)
		e := Driver{Re: x[0], BL: x[1], Mms: x[2], Cms: x[3], Rms: x[4], Coil: LossyCoil{x[5], x[6]}, Creep: d.Creep}
		return e.LoadedImpedance(f, dM, dK)
	}
	info := mat.NewSymDense(len(base), nil)
	start := d.Fs() * math.Sqrt(d.Mms/(d.Mms+dM)) / 4
	row := make([]float64, len(base))
	for f := start; f <= 2000; f *= math.Exp2(1. / 24) {
		z := d.LoadedImpedance(f, dM, dK)
		size := math.Hypot(real(z), imag(z))
		var re, im [7]float64
		const h = 1e-5
		for i := range base {
			g := (at(f, i, h) - at(f, i, -h)) / complex(2*h*size, 0)
			re[i], im[i] = real(g), imag(g)
		}
		copy(row, re[:])
		info.SymRankOne(info, 1, mat.NewVecDense(len(row), row))
		copy(row, im[:])
		info.SymRankOne(info, 1, mat.NewVecDense(len(row), row))
	}
	return info
}

// invertWithout inverts the information with the unknown skip held (-1: none),
// and returns nil if what is left is not determined.
func invertWithout(info *mat.SymDense, skip int) *mat.SymDense {
	n := info.SymmetricDim()
	var keep []int
	for i := range n {
		if i != skip {
			keep = append(keep, i)
		}
	}
	m := mat.NewSymDense(len(keep), nil)
	for a, i := range keep {
		for b, j := range keep {
			if b >= a {
				m.SetSym(a, b, info.At(i, j))
			}
		}
	}
	var chol mat.Cholesky
	var out mat.SymDense
	if !chol.Factorize(m) || chol.InverseTo(&out) != nil {
		return nil
	}
	return &out
}
