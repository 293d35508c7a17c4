package verdict

import (
	"math"

	"conewright/ts/driver"
	"conewright/ts/param"
	"conewright/ts/repeat"

	"gonum.org/v1/gonum/mat"
)

// design predicts what further sweeps of a driver would give, before they are
// taken, from the Fisher information of the whole set of sweeps, theory (5.14):
//
//	V = ( sum over points of J' J/sigma^2 + priors )^-1
//
// The unknowns are those of the fit: the driver and its coil (common to all
// sweeps) and, for every sweep but the first, its own heating, drift of the
// suspension and drift of the losses with the priors that the fit gives them.
// Because of these a repeat tells less about Fs than the root of the number of
// sweeps promises: the driver itself does not repeat.
type design struct {
	driver driver.Driver
	noise  float64 // relative standard deviation of real and imaginary part
}

// The common unknowns, all logarithms but the creep.
const (
	dRe = iota
	dBL
	dMms
	dCms
	dRms
	dK
	dN
	dCreep
	dCommon
)

// newDesign describes the driver of p; mass (kg) is the moving mass to assume
// where p does not know it. The noise is the one for which a free sweep of 24
// points an octave would give Fs the uncertainty from noise that it has in p.
func newDesign(p param.Parameters, mass float64) (design, bool) {
	d, ok := driverAssuming(p, mass)
	if !ok {
		return design{}, false
	}
	out := design{d, 0.002}
	if i := p.Index(param.Fs); p.Noise != nil && p.Noise.At(i, i) > 0 {
		one := design{d, 1}
		if v, ok := one.variances([]float64{0}, 1, 0)[param.Fs]; ok {
			out.noise = math.Sqrt(p.Noise.At(i, i) / v)
		}
	}
	return out, true
}

// driverAssuming builds a driver with the values of p and the given moving mass.
func driverAssuming(p param.Parameters, mass float64) (driver.Driver, bool) {
	var v [4]float64
	for i, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes} {
		e, ok := p.Get(id)
		if !ok {
			return driver.Driver{}, false
		}
		v[i] = e.Value
	}
	w := 2 * math.Pi * v[1]
	d := driver.Driver{Re: v[0], Mms: mass, Cms: 1 / (w * w * mass), Rms: w * mass / v[2], BL: math.Sqrt(w * mass * v[0] / v[3])}
	if c, ok := p.Get(param.Creep); ok {
		d.Creep = c.Value
	}
	d.Coil = driver.LossyCoil{K: 0.003 * v[0], N: 0.7} // 1.4 Re at 1 kHz: a usual woofer
	l, okL := p.Get(param.L1k)
	r, okR := p.Get(param.R1k)
	if okL && okR && r.Value > 0 {
		x := 2 * math.Pi * 1000 * l.Value
		n := 2 / math.Pi * math.Atan2(x, r.Value)
		d.Coil = driver.LossyCoil{K: math.Hypot(x, r.Value) / math.Pow(2*math.Pi*1000, n), N: n}
	}
	return d, true
}

// variances returns the variance of the logarithm of what the sweeps would give:
// one sweep for each of masses (kg added to the cone, 0: free), each with finer
// times 24 points an octave. massStd is the relative standard uncertainty of the
// masses, which are taken to be one and the same mass.
func (x design) variances(masses []float64, finer, massStd float64) map[param.ID]float64 {
	n := dCommon + 3*(len(masses)-1)
	info := mat.NewSymDense(n, nil)
	loaded := false
	for k, dM := range masses {
		loaded = loaded || dM > 0
		x.addSweep(info, k, dM, finer)
		if k > 0 {
			for i, std := range []float64{repeat.HeatStd, repeat.DriftStd, repeat.FrictionStd} {
				j := dCommon + 3*(k-1) + i
				info.SetSym(j, j, info.At(j, j)+1/(std*std))
			}
		}
	}
	if !loaded { // a free sweep leaves BL open, and nothing else depends on it
		info.SetSym(dBL, dBL, info.At(dBL, dBL)+1)
	}
	info.SetSym(dCreep, dCreep, info.At(dCreep, dCreep)+1) // never beyond +-1
	var chol mat.Cholesky
	var v mat.SymDense
	if !chol.Factorize(info) || chol.InverseTo(&v) != nil {
		return nil
	}
	slopes := map[param.ID]map[int]float64{
		param.Re: {dRe: 1}, param.Fs: {dMms: -0.5, dCms: -0.5}, param.Qms: {dMms: 0.5, dCms: -0.5, dRms: -1},
		param.Qes: {dRe: 1, dBL: -2, dMms: 0.5, dCms: -0.5},
	}
	share := 1 / (1 + x.driver.Qes()/x.driver.Qms()) // d ln Qts/d ln Qes
	slopes[param.Qts] = map[int]float64{dRe: share, dBL: -2 * share, dMms: 0.5, dCms: -0.5, dRms: share - 1}
	perMass := map[param.ID]float64{}
	if loaded {
		slopes[param.Mms], slopes[param.Cms], slopes[param.Rms], slopes[param.BL] = map[int]float64{dMms: 1}, map[int]float64{dCms: 1}, map[int]float64{dRms: 1}, map[int]float64{dBL: 1}
		perMass = map[param.ID]float64{param.Mms: 1, param.Cms: 1, param.Rms: 1, param.BL: 0.5}
	}
	out := map[param.ID]float64{}
	for id, g := range slopes {
		for i, a := range g {
			for j, b := range g {
				out[id] += a * b * v.At(i, j)
			}
		}
		out[id] += param.Sq(perMass[id] * massStd)
	}
	return out
}

// addSweep adds the information of sweep k with the mass dM (kg) on the cone.
func (x design) addSweep(info *mat.SymDense, k int, dM, finer float64) {
	coil := x.driver.Coil.(driver.LossyCoil)
	base := [dCommon]float64{x.driver.Re, x.driver.BL, x.driver.Mms, x.driver.Cms, x.driver.Rms, coil.K, coil.N, x.driver.Creep}
	at := func(f float64, i int, h float64) complex128 {
		y := base
		if i == dCreep {
			y[i] += h
		} else {
			y[i] *= math.Exp(h)
		}
		d := driver.Driver{Re: y[dRe], BL: y[dBL], Mms: y[dMms], Cms: y[dCms], Rms: y[dRms], Coil: driver.LossyCoil{K: y[dK], N: y[dN]}, Creep: y[dCreep]}
		return d.LoadedImpedance(f, dM, 0)
	}
	n := info.SymmetricDim()
	own := dCommon + 3*(k-1)
	from := x.driver.Fs() * math.Sqrt(x.driver.Mms/(x.driver.Mms+dM)) / 4
	for f := from; f <= 2000; f *= math.Exp2(1. / 24) {
		z := x.driver.LoadedImpedance(f, dM, 0)
		size := math.Hypot(real(z), imag(z)) * x.noise / math.Sqrt(finer)
		re, im := make([]float64, n), make([]float64, n)
		const h = 1e-5
		for i := range dCommon {
			g := (at(f, i, h) - at(f, i, -h)) / complex(2*h*size, 0)
			re[i], im[i] = real(g), imag(g)
		}
		if k > 0 {
			for i, j := range []int{dRe, dCms, dRms} { // signs do not matter: priors are even
				re[own+i], im[own+i] = re[j], im[j]
			}
		}
		info.SymRankOne(info, 1, mat.NewVecDense(n, re))
		info.SymRankOne(info, 1, mat.NewVecDense(n, im))
	}
}

// predictAddedMass returns the relative standard uncertainties that a further
// sweep with the added mass (kg, relative standard uncertainty u) would give
// together with the free one; mass (kg) is the moving mass that is expected.
func predictAddedMass(p param.Parameters, mass, added, u float64) map[param.ID]float64 {
	x, ok := newDesign(p, mass)
	if !ok {
		return nil
	}
	out := map[param.ID]float64{}
	for id, v := range x.variances([]float64{0, added}, 1, u) {
		out[id] = math.Sqrt(v)
	}
	if i := p.Index(param.Sd); i >= 0 && out[param.Cms] > 0 {
		out[param.Vas] = math.Hypot(out[param.Cms], 2*p.ScaledStd(i))
	}
	return out
}
