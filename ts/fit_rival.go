package ts

import "math"

const (
	// rivalOdds are the odds against a creep that follows a power of frequency, in
	// what is reported: the logarithmic law is the usual one and is kept unless the
	// sweeps speak clearly.
	rivalOdds = 1000
	// rivalDoubt is the same in the uncertainty.
	rivalDoubt = 5
)

// rival holds a member with logarithmic creep against the other creep law, a
// stiffness in proportion to a power of frequency. The two hardly differ around
// the resonance, but an octave or two below it they ask for other losses, and
// so for another Re and Qes, by several times the noise while the residuals
// cannot tell. The value moves to the rival only when the sweeps speak for it; in
// the uncertainty it counts for more. theory (4.7), docs/decisions/0014.
func (in *input) rival(m *member) {
	f := m.prob.form
	f.power = true
	p := in.problem(f, true, m.misfit.noise)
	s := solve(p, in.warmStart(p, m.solution), finalTol)
	if !s.standsAlone() {
		return
	}
	other := in.derive(s, in.reach())
	ratio := math.Exp((m.result.SumSquares - s.result.SumSquares) / 2) // likelihood, rival to member
	doubt := 1 - 1/(1+ratio/rivalDoubt)
	moved := 1 - 1/(1+ratio/rivalOdds)
	std := math.Sqrt(doubt*sq(1-moved) + (1-doubt)*sq(moved))
	e := make([]float64, len(other.values))
	for i, v := range other.values {
		d := v.v - m.derived.values[i].v
		m.derived.values[i].v += moved * d
		e[i] = std * d
	}
	m.effects = append(m.effects, Component{Source: "creep law", Part: ModelPart, Own: true, Effect: e})
}
