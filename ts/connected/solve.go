package connected

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/internal/lsq"
	"conewright/ts/measured"
)

// The points that circuits are fitted to: at most so many an octave, up to so many Hz, where
// one simple law of the coil still follows within a few percent.
const (
	perOctave = 16
	highest   = 2000.0
)

// thin is a sweep with few points an octave from lo to hi Hz.
func thin(z measured.Impedance, lo, hi float64) measured.Impedance {
	out := measured.Impedance{MagnitudeOnly: z.MagnitudeOnly}
	next := lo
	for i, f := range z.Freq {
		if f >= next && f <= hi {
			out.Freq, out.Z = append(out.Freq, f), append(out.Z, z.Z[i])
			next = f * math.Exp2(1./perOctave) * (1 - 1e-9)
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

// misfit is the least-squares problem of a circuit: ln of measured over computed impedance.
type misfit struct {
	measured.Impedance
	circuit
	n int
}

func (p misfit) Dims() (m, n int) {
	if p.MagnitudeOnly {
		return p.Len(), p.n
	}
	return 2 * p.Len(), p.n
}

// Eval implements lsq.Problem with a Jacobian of differences.
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
		z := p.z(x, f)
		if p.MagnitudeOnly {
			r[i] = math.Log(real(p.Z[i]) / cmplx.Abs(z))
			continue
		}
		d := cmplx.Log(p.Z[i] / z)
		r[2*i], r[2*i+1] = real(d), imag(d)
	}
}

// fit fits a circuit from the likeliest of its starts, each behind one of the starts of a
// driver, and returns the best; false if none is found.
func (c circuit) fit(z measured.Impedance, drivers ...[]float64) (best solved, ok bool) {
	const (
		tries       = 2
		first, rest = 12, 40 // evaluations for each of them, and then for the best
		hopeless    = 0.5    // rms of ln Z after the first
	)
	type start struct {
		x   []float64
		sum float64
	}
	var starts []start
	extra := c.extra
	if extra == nil {
		extra = [][]float64{nil}
	}
	for _, driver := range drivers {
		for _, more := range extra {
			x := append(append([]float64(nil), driver...), more...)
			p := misfit{z, c, len(x)}
			m, _ := p.Dims()
			r := make([]float64, m)
			p.residuals(r, x)
			var sum float64
			for _, v := range r {
				sum += v * v
			}
			if sum < math.Inf(1) {
				starts = append(starts, start{x, sum})
			}
		}
	}
	slices.SortStableFunc(starts, func(a, b start) int { return cmp.Compare(a.sum, b.sum) })
	var solver lsq.Solver
	solve := func(x []float64, evaluations int) {
		p := misfit{z, c, len(x)}
		var r lsq.Result
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
	if ok && best.rms < hopeless {
		solve(best.x, rest)
	}
	return best, ok
}
