package estimate

import "math"

const (
	// rivalOdds are the odds against a creep that follows a power of frequency, in
	// what is reported: the logarithmic law is the usual one and is kept unless the
	// sweeps speak clearly.
	rivalOdds = 1000
	// rivalDoubt is the same in the uncertainty.
	rivalDoubt = 1
	// rivalTol is how near its minimum the rival is followed, in standard errors.
	rivalTol = 1e-2
)

// rival returns a member with logarithmic creep once more with the other creep
// law, a stiffness in proportion to a power of frequency, and divides its weight
// and its doubt between the two; nil where the other law has no minimum or does
// not count. The two hardly differ around the resonance, but an octave or two below
// it they ask for other losses, and so for another Re and Qes, by several times the
// noise while the residuals cannot tell. The value moves to the rival only when the
// sweeps speak for it; in the uncertainty it counts for more. theory (4.7),
// docs/decisions/0014.
func (in *input) rival(m *member) *member {
	f := m.prob.form
	f.power = true
	p := in.problem(f, true, m.misfit.noise)
	s := solve(p, in.warmStart(p, m.solution), rivalTol)
	if !s.standsAlone() {
		return nil
	}
	ratio := math.Exp((m.result.SumSquares - s.result.SumSquares) / 2) // likelihood, rival to member
	believed := 1 - 1/(1+ratio/rivalOdds)
	doubt := doubtOf(believed, 1-1/(1+ratio/rivalDoubt))
	if doubt < minWeight {
		return nil
	}
	r := &member{solution: s, misfit: m.misfit, correlated: m.correlated, derived: in.derive(s, in.reach())}
	if r.spread(in) != nil {
		return nil
	}
	r.weight, r.doubt = m.weight*believed, m.doubt*doubt
	m.weight, m.doubt = m.weight*(1-believed), m.doubt*(1-doubt)
	return r
}
