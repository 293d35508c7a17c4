package part

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/internal/lsq"
	"conewright/ts/measured"
	"conewright/ts/network"
)

// Law is an impedance by which a part is carried on beyond and between its points.
type Law struct {
	Name string  // "series", "dielectric", "eddy-1", "eddy-2"
	Off  float64 // how far it is from the points, relative: the median
	z    func(w float64, x []float64) complex128
	x    []float64
}

// Impedance returns the impedance in ohm at f (Hz).
func (l Law) Impedance(f float64) complex128 { return l.z(2*math.Pi*f, l.x) }

// candidate is a law with where its search begins; all unknowns are logarithms.
type candidate struct {
	name  string
	z     func(w float64, x []float64) complex128
	start []float64
}

// reference is the angular frequency at which a dielectric has its capacitance.
const reference = 2 * math.Pi * 1e3

func ohm(x float64) complex128 { return complex(math.Exp(x), 0) }

func henry(w, x float64) complex128 { return complex(0, w*math.Exp(x)) }

// series is a capacitor, or another reactance, with a resistance and an inductance in series.
func series(w float64, x []float64) complex128 {
	return ohm(x[0]) + henry(w, x[1]) + 1/complex(0, w*math.Exp(x[2]))
}

// dielectric is a capacitor whose dielectric has the same loss factor d at all frequencies, with a resistance and an
// inductance in series, theory (12.7):
//
//	Z = R + j w L + 1/(w0 C0) (j w/w0)^(-n),   n = 1 - (2/pi) atan d
//
// Source: universal response of dielectrics, Curie and von Schweidler, by way of Pandey, J. Power Sources 532, 2022
// (abstract read).
func dielectric(w float64, x []float64) complex128 {
	n := 1 - 2/math.Pi*math.Atan(math.Exp(x[3]))
	size := math.Pow(w/reference, -n) / (reference * math.Exp(x[2]))
	return ohm(x[0]) + henry(w, x[1]) + cmplx.Rect(size, -n*math.Pi/2)
}

// eddy is a coil: resistance and inductance, and after them pairs of an inductance with the resistance of the currents that
// it induces beside it, theory (12.8):
//
//	Z = R + j w L + sum of j w Lk Rk/(Rk + j w Lk)
//
// Source: equivalent circuit of a coil with eddy currents, from memory.
func eddy(w float64, x []float64) complex128 {
	z := ohm(x[0]) + henry(w, x[1])
	for k := 2; k+1 < len(x); k += 2 {
		l, r := henry(w, x[k]), ohm(x[k+1])
		z += l * r / (l + r)
	}
	return z
}

// candidates are the laws of a kind, the simplest first.
func candidates(z measured.Impedance, kind network.Kind) []candidate {
	n := z.Len()
	low, high := z.Z[0], z.Z[n-1]
	wLow, wHigh := 2*math.Pi*z.Freq[0], 2*math.Pi*z.Freq[n-1]
	positive := func(v, least float64) float64 { return math.Log(max(v, least)) }
	r := positive(middle(z), 1e-4)
	if kind == network.Capacitor {
		mid := z.Z[n/2]
		c := positive(-1/(2*math.Pi*z.Freq[n/2]*imag(mid)), 1e-12)
		start := []float64{positive(real(high), 1e-4), math.Log(20e-9), c}
		return []candidate{{"series", series, start}, {"dielectric", dielectric, append(start, math.Log(1e-3))}}
	}
	start := []float64{positive(real(low), 1e-4), positive(imag(high)/wHigh, 1e-9)}
	if kind == network.Resistor {
		start[0] = r
		return []candidate{{"eddy-0", eddy, start}}
	}
	// Currents that lower the inductance by the difference of its ends.
	fall := positive(imag(low)/wLow-imag(high)/wHigh, 0.01*math.Exp(start[1]))
	one := append(start, fall, positive(real(high), 1))
	return []candidate{{"eddy-0", eddy, start}, {"eddy-1", eddy, one},
		{"eddy-2", eddy, append(one[:len(one):len(one)], fall-math.Log(4), positive(real(high), 1)+math.Log(4))}}
}

// lawError is how far, relative to the impedance, a law is taken to be off where the noise is less: it keeps the many
// quiet points from deciding alone. Judgement.
const lawError = 2e-4

// misfit is the least-squares problem of a law.
type misfit struct {
	measured.Impedance
	candidate
}

func (p misfit) Dims() (m, n int) { return 2 * p.Len(), len(p.start) }

// Eval implements [lsq.Problem] with a Jacobian of differences.
func (p misfit) Eval(r, jac, x []float64) {
	p.residuals(r, x)
	if jac == nil {
		return
	}
	const step = 1e-6
	m := len(r)
	moved := append([]float64(nil), x...)
	for j := range x {
		moved[j] = x[j] + step
		p.residuals(jac[j*m:(j+1)*m], moved)
		moved[j] = x[j]
		for i, v := range r {
			jac[j*m+i] = (jac[j*m+i] - v) / step
		}
	}
}

func (p misfit) residuals(r, x []float64) {
	for i, f := range p.Freq {
		d := p.Z[i] - p.z(2*math.Pi*f, x)
		s := math.Hypot(lawError*cmplx.Abs(p.Z[i]), noise(p.Impedance, i))
		if p.Sigma == nil {
			s = lawError * cmplx.Abs(p.Z[i])
		}
		r[2*i], r[2*i+1] = real(d)/s, imag(d)/s
	}
}

// fitLaw fits the laws of a kind and returns the one that Akaike's criterion, chi2 + 2 k, prefers.
//
// Source: Akaike, IEEE Trans. Autom. Control 19, 1974 (from memory).
func fitLaw(z measured.Impedance, kind network.Kind) Law {
	var best Law
	var solver lsq.Solver
	least := math.Inf(1)
	for _, c := range candidates(z, kind) {
		var res lsq.Result
		if err := solver.Solve(&res, misfit{z, c}, c.start, lsq.Settings{MaxEvaluations: 300, OffsetTol: 1e-6}); err != nil {
			continue
		}
		if criterion := res.SumSquares + 2*float64(len(c.start)); criterion < least {
			least = criterion
			best = Law{Name: c.name, z: c.z, x: append([]float64(nil), res.X...)}
		}
	}
	if best.z == nil { // no search got anywhere: the start is all there is
		c := candidates(z, kind)[0]
		best = Law{Name: c.name, z: c.z, x: c.start}
	}
	off := make([]float64, z.Len())
	for i, f := range z.Freq {
		off[i] = cmplx.Abs(best.Impedance(f)-z.Z[i]) / cmplx.Abs(z.Z[i])
	}
	slices.Sort(off)
	best.Off = off[len(off)/2]
	return best
}
