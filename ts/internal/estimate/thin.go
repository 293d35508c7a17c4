package estimate

import (
	"math"
	"slices"

	"conewright/ts/measured"
)

// The way to the minimum is found on some of the points, spaced by at least
// these parts of an octave: near the peak, where the curve bends most, and
// elsewhere. Nothing of the result depends on them: every form that may count
// is then fitted to all points.
const (
	thinNear      = 1.0 / 24
	thinElsewhere = 1.0 / 6
	thinReach     = 1.3 // how far from the peak "near" reaches, a factor on frequency
	// thinGain is the least saving of points that is worth a second fit.
	thinGain = 1.5
	// thinDoubt is the difference of the logarithms of evidence, on the points
	// kept, from which a form is ruled out: odds of 1 to 1e13. All points
	// together would speak the clearer.
	thinDoubt = 30
	thinTol   = 1e-2 // relative offset: the points left out matter more
)

// thinned returns the same input with fewer points, or in itself when there are
// few already.
func (in *input) thinned() *input {
	sweeps := make([]measured.Sweep, len(in.sweeps))
	before, after := 0, 0
	var trust [][]float64
	for k, s := range in.sweeps {
		z := &s.Impedance
		peak := in.outline.Fs
		if k != in.ref {
			peak = measured.OutlineOf(*z).Fs
		}
		keep := thinPoints(z.Freq, peak)
		if in.trust != nil {
			trust = append(trust, pick(in.trust[k], keep))
		}
		before += z.Len()
		after += len(keep)
		thin := measured.Impedance{MagnitudeOnly: z.MagnitudeOnly, Freq: pick(z.Freq, keep), Z: pick(z.Z, keep)}
		if z.Sigma != nil {
			thin.Sigma = pick(z.Sigma, keep)
		}
		sweeps[k] = measured.Sweep{Impedance: thin, Load: s.Load}
	}
	if float64(before) < thinGain*float64(after) {
		return in
	}
	t := newInput(sweeps, in.cond)
	t.outline, t.tol, t.work, t.trust = in.outline, thinTol, in.work, trust
	t.coilFor = t.outline.CoilPart(t.sweeps[t.ref].Impedance)
	return t
}

// thinPoints returns the indices of the points to keep, first and last among
// them, of a sweep with its peak at fs (Hz).
func thinPoints(freq []float64, fs float64) []int {
	// A sweep with just these spacings keeps all its points.
	const slack = 1 - 1e-6
	near, elsewhere := slack*math.Exp2(thinNear), slack*math.Exp2(thinElsewhere)
	keep := make([]int, 0, len(freq))
	next := 0.0
	for i, f := range freq {
		if f < next && i < len(freq)-1 {
			continue
		}
		keep = append(keep, i)
		if f > fs/thinReach && f < fs*thinReach {
			next = f * near
		} else {
			next = f * elsewhere
		}
	}
	return keep
}

func pick[T any](v []T, indices []int) []T {
	out := make([]T, len(indices))
	for k, i := range indices {
		out[k] = v[i]
	}
	return out
}

// explore finds the minimum of every form: of all forms on the thinned input,
// then on all points for those that stand a chance. The others are ruled out.
func (in *input) explore() []*solution {
	thin := in.thinned()
	ladder := thin.ladder()
	if thin == in || len(ladder) == 0 {
		return ladder
	}
	thin.rescale(ladder)
	evidence := make([]float64, len(ladder))
	for i, s := range ladder {
		evidence[i], _ = thin.evidence(s)
	}
	top := slices.Max(evidence)
	causal := math.Inf(-1) // the same among the forms that may be doubted
	for i, s := range ladder {
		if s.prob.form.causal() {
			causal = max(causal, evidence[i])
		}
	}
	all := ladder[:0]
	standing := false
	for i, s := range ladder {
		p := in.problem(s.prob.form, false, 1)
		// A rising loss is a refinement, wanted only where it is the best.
		refined := s.prob.form.loss && evidence[i] < top
		if refined || evidence[i] < top-thinDoubt && (evidence[i] < causal-thinDoubt || !s.prob.form.causal()) {
			all = append(all, ruledOut(p, s.x))
		} else if full := solve(p, s.x, in.tol); full.standsAlone() {
			all = append(all, full)
			standing = true
		}
	}
	if !standing {
		return in.ladder()
	}
	return all
}

// ruledOut returns a solution that is known to be too far from the sweeps to be
// worth a fit.
func ruledOut(p *problem, x []float64) *solution {
	r := p.work.columns(p.nrows)
	p.Eval(r, nil, x)
	s := &solution{prob: p, x: x, ruledOut: true}
	for _, v := range r[:p.sweepRows()] {
		s.chi2 += v * v
	}
	return s
}
