package main

import (
	"math"
	"math/rand/v2"
	"slices"

	"conewright/sweeps/virtual"
	"conewright/ts/internal/truth"

	"gonum.org/v1/gonum/mat"
)

const suspensionPoles = 8

// inTime returns the driver in the time domain, healthy. Of the way its suspension softens with the excursion, slipping is
// the part (0 to 1) that is hysteresis; the rest leaves no harmonics and is left out.
func inTime(d truth.Driver, rng *rand.Rand, slipping float64) virtual.Driver {
	v := d.Values()
	ws := 2 * math.Pi * v.Fs
	out := virtual.Driver{Re: d.Re, BL: d.BL, Mms: v.Mms, Rms: d.Rv}
	out.L, out.Eddy = eddies(d)
	k, creep, loss := springs(d.Suspension)
	out.K, out.Creep, out.Rms = k, creep, out.Rms+loss
	for _, r := range d.Resonators {
		out.Mms -= r.M
		out.Resonators = append(out.Resonators, virtual.Resonator{M: r.M, K: r.K, R: r.R, FrameK: r.FrameK, FrameR: r.FrameR})
	}
	// Springs that give way at a tenth to ten times the knee, as many as make the stiffness fall like truth.Softening.
	share := d.Softens.Share * slipping
	stiffness := real(d.Suspension.Stiffness(ws))
	for _, u := range []float64{0.1, 0.32, 1, 3.2, 10} {
		part := share * stiffness * 1.15 * u / ((1 + u) * (1 + u)) * math.Ln10 / 2
		out.Slip = append(out.Slip, virtual.Slipping{K: part, F: part * u * d.Softens.Knee})
		out.K -= part
	}
	out.K2 = d.Softens.Harden * 4 / 3
	// Usual unevenness of woofers (common practice): a few percent at 1 mm.
	out.K1 = 15 * rng.NormFloat64()
	out.BL1 = 10 * rng.NormFloat64()
	out.BL2 = -math.Exp(rng.NormFloat64()*0.7) * 1e4
	out.L1 = -math.Abs(25 * rng.NormFloat64())
	return out
}

// lossier returns the driver with losses of its suspension that are the part more larger, as after gluing on a lossy surround:
// what is viscous, what relaxes, and what slides.
func lossier(d virtual.Driver, more float64) virtual.Driver {
	d.Rms *= 1 + more
	d.Creep, d.Slip = slices.Clone(d.Creep), slices.Clone(d.Slip)
	for i := range d.Creep {
		d.Creep[i].K *= 1 + more
	}
	for i := range d.Slip {
		d.Slip[i].K *= 1 + more
		d.Slip[i].F *= 1 + more
	}
	return d
}

// eddies is the coil in two parts: an inductance in series with one that has a resistance beside it, which lie on the
// coil of d at 1 kHz and share its losses. Coils are not what is judged here.
func eddies(d truth.Driver) (l float64, eddy []virtual.Eddy) {
	const w = 2 * math.Pi * 1000
	z := d.Coil.Impedance(w, d.Re)
	// j w L R/(R + j w L) with w L = R has the resistance R/2 and the reactance R/2.
	r := 2 * real(z)
	return max(imag(z)-real(z), 0.2*imag(z)) / w, []virtual.Eddy{{R: r, L: r / w}}
}

// springs is the suspension as a spring (N/m), springs with dampers, and a damper (kg/s).
func springs(s truth.Suspension) (k float64, creep []virtual.Relaxing, loss float64) {
	f := truth.Grid(1, 600, 8)
	a := newColumns(len(f), suspensionPoles+2)
	tau := make([]float64, suspensionPoles)
	for j := range tau {
		tau[j] = 1 * math.Pow(1e-4, float64(j)/(suspensionPoles-1))
	}
	for i, f := range f {
		w := 2 * math.Pi * f
		z := s.Stiffness(w)
		size := complex(1/math.Hypot(real(z), imag(z)), 0)
		a.set(i, 0, size)
		a.set(i, 1, complex(0, w)*size)
		for j, t := range tau {
			a.set(i, 2+j, complex(0, w*t)/complex(1, w*t)*size)
		}
		a.want(i, z*size)
	}
	x := a.positive()
	for j, v := range x[2:] {
		if v > 1e-6*x[0] {
			creep = append(creep, virtual.Relaxing{K: v, Tau: tau[j]})
		}
	}
	return x[0], creep, x[1]
}

// columns is a complex linear problem, real and imaginary parts below one another.
type columns struct {
	a *mat.Dense
	b *mat.VecDense
	n int
}

func newColumns(n, unknowns int) columns {
	return columns{mat.NewDense(2*n, unknowns, nil), mat.NewVecDense(2*n, nil), n}
}

func (c columns) set(i, j int, z complex128) {
	c.a.Set(i, j, real(z))
	c.a.Set(c.n+i, j, imag(z))
}

func (c columns) want(i int, z complex128) {
	c.b.SetVec(i, real(z))
	c.b.SetVec(c.n+i, imag(z))
}

// positive returns the unknowns of least squares that are not below zero, one after the other until none moves.
func (c columns) positive() []float64 {
	var q mat.Dense
	var g mat.VecDense
	q.Mul(c.a.T(), c.a)
	g.MulVec(c.a.T(), c.b)
	n := g.Len()
	x := make([]float64, n)
	for range 200000 {
		moved := 0.0
		for j := range x {
			r := g.AtVec(j)
			for k := range x {
				r -= q.At(j, k) * x[k]
			}
			next := max(0, x[j]+r/q.At(j, j))
			moved = max(moved, math.Abs(next-x[j])*math.Sqrt(q.At(j, j)))
			x[j] = next
		}
		if moved < 1e-9 {
			break
		}
	}
	return x
}
