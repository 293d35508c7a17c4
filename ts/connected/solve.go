package connected

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/internal/lsq"
	"conewright/ts/measured"

	"gonum.org/v1/gonum/floats"
)

// The points that circuits are fitted to: at most so many an octave, up to so many Hz, where
// one simple law of the coil still follows within a few percent.
const (
	perOctave = 16
	highest   = 2000.0
)

// thin is a sweep with at most so many points an octave from lo to hi Hz.
func thin(z measured.Impedance, lo, hi, perOctave float64) measured.Impedance {
	out := measured.Impedance{MagnitudeOnly: z.MagnitudeOnly}
	next, apart := lo, math.Exp2(1/perOctave)*(1-1e-9)
	for i, f := range z.Freq {
		if f >= next && f <= hi {
			out.Freq, out.Z = append(out.Freq, f), append(out.Z, z.Z[i])
			next = f * apart
		}
	}
	return out
}

// solved is a circuit with its unknowns, and the rms of what it leaves of ln Z.
type solved struct {
	circuit
	x   []float64
	rms float64
}

// misfit is the least-squares problem of a circuit with n unknowns: ln of measured over computed impedance.
type misfit struct {
	curve
	circuit
	n int
	d []complex128 // memory for the derivatives at one point
}

// curve is what circuits are fitted to.
type curve struct {
	points        []point
	log           []complex128 // of Z (ohm)
	magnitudeOnly bool
}

func curveOf(z measured.Impedance) curve {
	c := curve{make([]point, z.Len()), make([]complex128, z.Len()), z.MagnitudeOnly}
	for i, f := range z.Freq {
		c.points[i], c.log[i] = pointAt(f), cmplx.Log(z.Z[i])
	}
	return c
}

func (c circuit) of(on curve, n int) misfit { return misfit{on, c, n, make([]complex128, n)} }

func (p misfit) Dims() (m, n int) {
	if p.magnitudeOnly {
		return len(p.points), p.n
	}
	return 2 * len(p.points), p.n
}

// Eval implements lsq.Problem.
func (p misfit) Eval(r, jac, x []float64) {
	z := p.with(x)
	d := p.d
	if jac == nil {
		d = nil
	}
	m := len(r)
	for i, at := range p.points {
		v := z(at, d)
		per := inverse(v)
		size := math.Log(real(v)*real(v)+imag(v)*imag(v)) / 2
		if p.magnitudeOnly {
			r[i] = real(p.log[i]) - size
			for j, dv := range d {
				jac[j*m+i] = -real(dv * per)
			}
			continue
		}
		r[2*i] = real(p.log[i]) - size
		r[2*i+1] = imag(p.log[i]) - math.Atan2(imag(v), real(v))
		if math.Abs(r[2*i+1]) > math.Pi {
			r[2*i+1] = math.Remainder(r[2*i+1], 2*math.Pi)
		}
		for j, dv := range d {
			by := dv * per
			jac[j*m+2*i], jac[j*m+2*i+1] = -real(by), -imag(by)
		}
	}
}

// hopeless is the rms of ln Z from which on no fit comes to anything.
const hopeless = 0.5

// fit fits a circuit from the likeliest of its starts, each behind one of the starts of a
// driver, and returns the best; false if none is found. It is not taken to its end where it stands above an rms of worth after the first
// evaluations.
func (c circuit) fit(z measured.Impedance, worth float64, drivers ...[]float64) (best solved, ok bool) {
	const (
		tries       = 2
		first, rest = 12, 40 // evaluations for each of them, and then for the best
	)
	type start struct {
		x   []float64
		sum float64
	}
	var starts []start
	var left []float64
	on := curveOf(z)
	extra := c.extra
	if extra == nil {
		extra = [][]float64{nil}
	}
	for _, driver := range drivers {
		for _, more := range extra {
			x := append(append([]float64(nil), driver...), more...)
			p := c.of(on, len(x))
			m, _ := p.Dims()
			left = slices.Grow(left[:0], m)[:m]
			p.Eval(left, nil, x)
			if sum := floats.Dot(left, left); sum < math.Inf(1) {
				starts = append(starts, start{x, sum})
			}
		}
	}
	slices.SortStableFunc(starts, func(a, b start) int { return cmp.Compare(a.sum, b.sum) })
	var solver lsq.Solver
	var r lsq.Result
	solve := func(x []float64, evaluations int) {
		p := c.of(on, len(x))
		if err := solver.Solve(&r, p, x, lsq.Settings{MaxEvaluations: evaluations, OffsetTol: 1e-2}); err != nil {
			return
		}
		m, _ := p.Dims()
		if found := (solved{c, append([]float64(nil), r.X...), math.Sqrt(r.SumSquares / float64(m))}); !ok || found.rms < best.rms {
			best, ok = found, true
		}
	}
	for _, s := range starts[:min(tries, len(starts))] {
		solve(s.x, first)
	}
	if ok && best.rms < worth {
		solve(best.x, rest)
	}
	return best, ok
}
