package estimate

import (
	"math"
	"slices"

	"conewright/ts/param"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// member is one form in the average, trusted or doubted, with one creep law.
type member struct {
	*solution
	weight     float64 // in the values
	doubt      float64 // weight in the uncertainty
	misfit     misfit
	derived    *derived
	noise      *mat.SymDense     // covariance of derived.values from the sweeps
	effects    []param.Component // of the other sources
	correlated float64           // see solution.correlation
	// meterOff is how many standard deviations the meter reading of Re lies above
	// what the sweeps say; 0 without a reading.
	meterOff float64
}

// wideDoubt multiplies the uncertainty of a fit whose laws are in doubt. The
// sizes of the free pieces are those of what can be seen of a wrong law; what
// cannot be seen is larger. An empirical factor: it was chosen on simulated
// drivers that follow no form of the ladder (docs/validation.md,
// docs/decisions/0013).
const wideDoubt = 1.35

// spread splits the covariance of a solution into the part of each prior and
// the rest, which is the noise of the sweeps, and carries both over to the
// derived values. The split is exact: with C = inv(J'J) the effect of an error
// of one standard deviation in the row of a prior on the unknown i is column
// index of C over the standard deviation of the prior, theory (4.3).
func (m *member) spread(in *input) error {
	n := m.prob.lay.n
	c, err := m.result.CovarianceTo(nil)
	if err != nil {
		return err
	}
	k := len(m.derived.values)
	g := mat.NewDense(k, n, nil)
	for i, v := range m.derived.values {
		g.SetRow(i, v.g)
	}
	var gc, full mat.Dense
	gc.Mul(g, mat.NewDense(n, n, c))
	full.Mul(&gc, g.T())
	m.noise = mat.NewSymDense(k, nil)
	for i := range k {
		for j := i; j < k; j++ {
			m.noise.SetSym(i, j, full.At(i, j))
		}
	}
	m.effects = nil
	for _, pr := range m.prob.lay.priors {
		e := make([]float64, k)
		for i := range e {
			e[i] = gc.At(i, pr.index) / pr.std
		}
		m.noise.SymRankOne(m.noise, -1, mat.NewVecDense(k, e))
		if pr.part == param.ModelPart && m.misfit.any() {
			floats.Scale(wideDoubt, e)
		}
		m.effects = append(m.effects, param.Component{Source: pr.source, Part: pr.part, Own: pr.own, Effect: e})
	}
	if m.misfit.any() {
		m.noise.ScaleSym(param.Sq(wideDoubt), m.noise)
	}
	if m.derived.timing != nil {
		m.effects = append(m.effects, param.Component{Source: param.CoilOrTiming, Part: param.ModelPart, Effect: m.derived.timing})
	}
	m.effects = append(m.effects, in.benchEffects(m, &gc)...)
	for i := range k { // rounding may leave -1e-20 where a prior alone decides
		m.noise.SetSym(i, i, max(0, m.noise.At(i, i)))
	}
	return nil
}

// benchEffects carries the systematic errors of the sweeps over to the derived
// values: an error that adds E to the measured impedance moves the unknowns by
// C J'W E. They are carried over and not fitted, although the curve could tell
// some of them: measured errors scale with the measured impedance and its noise,
// and a fit that may scale the data makes the noise smaller by scaling it down.
// theory (4.8), docs/decisions/0015. gc is the gradient of the derived values
// times C.
func (in *input) benchEffects(m *member, gc *mat.Dense) []param.Component {
	sources := in.benchSources()
	if len(sources) == 0 {
		return nil
	}
	p := m.prob
	rows, n := p.Dims()
	r, jac := make([]float64, rows), make([]float64, rows*n)
	p.Eval(r, jac, m.x)
	all := make([]param.Component, len(sources))
	for i, source := range sources {
		clear(r)
		for k, s := range in.sweeps {
			for _, e := range s.Impedance.Systematic {
				if e.Source == source {
					p.weigh(r, &p.obs[k], e.Effect)
				}
			}
		}
		jr := mat.NewVecDense(n, nil)
		for j := range n {
			var sum float64
			for row, v := range r {
				sum += jac[j*rows+row] * v
			}
			jr.SetVec(j, sum)
		}
		e := mat.NewVecDense(len(m.derived.values), nil)
		e.MulVec(gc, jr)
		all[i] = param.Component{Source: source, Part: param.BenchPart, Effect: e.RawVector().Data}
	}
	return all
}

// weigh writes a change of the impedance of one sweep, in ohm, to the rows of
// its residuals.
func (p *problem) weigh(r []float64, o *observation, change []complex128) {
	for i, e := range change {
		w := o.weight[i]
		if o.magnitudeOnly {
			r[o.row+i] = real(e) * w // Z is real there
			continue
		}
		r[o.row+i] = real(e) * w
		r[o.row+len(change)+i] = imag(e) * w
	}
}

// label names what sets the member apart from the others in a budget.
func (m *member) label() string {
	s := "coil model " + m.prob.form.String()
	if m.misfit.any() {
		s += ", in doubt"
	}
	return s
}

// average joins the members. The values follow their weights, the covariance
// their doubts: the mean of the covariances, and one component a member for what
// sets it apart, theory (4.6). A source that only some members have counts with
// the doubt of those.
func average(members []*member) param.Parameters {
	first := members[0].derived
	k := len(first.ids)
	p := param.Parameters{IDs: first.ids, Scaled: make([]float64, k), Origin: first.origin, Noise: mat.NewSymDense(k, nil)}
	shared := map[string]float64{} // doubt of the members that have a source
	for _, m := range members {
		for i, v := range m.derived.values {
			p.Scaled[i] += m.weight * v.v
		}
		var scaled mat.SymDense
		scaled.ScaleSym(m.doubt, m.noise)
		p.Noise.AddSym(p.Noise, &scaled)
		counted := map[string]bool{}
		for _, e := range m.effects {
			i := slices.IndexFunc(p.Components, func(c param.Component) bool { return c.Source == e.Source })
			if i < 0 {
				i = len(p.Components)
				p.Components = append(p.Components, param.Component{Source: e.Source, Part: e.Part, Own: e.Own, Effect: make([]float64, k)})
			}
			floats.AddScaled(p.Components[i].Effect, m.doubt, e.Effect)
			if !counted[e.Source] {
				counted[e.Source] = true
				shared[e.Source] += m.doubt
			}
		}
	}
	for _, c := range p.Components {
		if d := shared[c.Source]; d > 0 {
			floats.Scale(1/math.Sqrt(d), c.Effect)
		}
	}
	// Qts is the one value that is not linear in the others.
	qms, qes, qts := slices.Index(first.ids, param.Qms), slices.Index(first.ids, param.Qes), slices.Index(first.ids, param.Qts)
	p.Scaled[qts] = -math.Log(math.Exp(-p.Scaled[qms]) + math.Exp(-p.Scaled[qes]))
	if len(members) > 1 {
		for _, m := range members {
			e := make([]float64, k)
			for i, v := range m.derived.values {
				e[i] = math.Sqrt(m.doubt) * (v.v - p.Scaled[i])
			}
			p.Components = append(p.Components, param.Component{Source: m.label(), Part: param.ModelPart,
				Own: m.misfit.any() || m.prob.form.power, Effect: e})
		}
	}
	return p
}
