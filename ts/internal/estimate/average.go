package estimate

import (
	"math"
	"slices"

	"conewright/ts/internal/stat"
	"conewright/ts/param"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// label names what sets the member apart from the others in a budget.
func (m member) label() string {
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
func average(members []member) param.Parameters {
	first := members[0].derived
	k := len(first.ids)
	p := param.Parameters{IDs: first.ids, Scaled: make([]float64, k), Origin: first.origin, Noise: mat.NewSymDense(k, nil)}
	shared := map[string]float64{} // doubt of the members that have a source
	for _, m := range members {
		for i, v := range m.values {
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
				mean := e
				mean.Effect = make([]float64, k)
				p.Components = append(p.Components, mean)
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
			for i, v := range m.values {
				e[i] = math.Sqrt(m.doubt) * (v.v - p.Scaled[i])
			}
			p.Components = append(p.Components, param.Component{Source: m.label(), Part: param.ModelPart,
				Own: m.misfit.any() || m.prob.form.power, Effect: e})
		}
	}
	return p
}

// skew returns [Parameters.Skew]. The truth is that of one of the members, which
// one is not known: the distribution of a value is the mixture
//
//	P(below x) = sum over members of doubt F((x - value)/u)    theory (4.13)
//
// and its interval ends where 2.5 % lie below and 2.5 % above. Of two members far
// apart it holds 95 % each; so many standard deviations around the value would hold
// all of the one and perhaps nothing of the other. nil where one member says all.
func skew(p param.Parameters, members []member) [][2]float64 {
	if len(members) < 2 {
		return nil
	}
	all := make([][2]float64, len(p.IDs))
	mix := make([]branch, len(members))
	for i := range p.IDs {
		total := p.ScaledStd(i)
		if total == 0 {
			continue
		}
		for j, m := range members {
			mix[j] = branch{m.doubt, (m.values[i].v - p.Scaled[i]) / total, m.std(i) / total}
		}
		up := max(0, upperEnd(mix))
		for j := range mix {
			mix[j].offset = -mix[j].offset
		}
		down := max(0, upperEnd(mix))
		all[i] = [2]float64{param.Sq(total) * (param.Sq(down/stat.Normal) - 1), param.Sq(total) * (param.Sq(up/stat.Normal) - 1)}
	}
	return all
}

// branch is one normal distribution of a mixture.
type branch struct{ weight, offset, std float64 }

// upperEnd returns the x above which a mixture has the probability tail, to 1e-4.
func upperEnd(mix []branch) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, b := range mix {
		if b.weight > 0 {
			low, high = min(low, b.offset+stat.Normal*b.std), max(high, b.offset+stat.Normal*b.std)
		}
	}
	x := high
	for high-low > 1e-4 {
		// Newton's step on the logarithm of the tail, which is nearly straight.
		var p, density float64
		for _, b := range mix {
			if b.std == 0 {
				if x < b.offset {
					p += b.weight
				}
				continue
			}
			t := (x - b.offset) / b.std
			p += b.weight * math.Erfc(t/math.Sqrt2) / 2
			density += b.weight * math.Exp(-t*t/2) / (b.std * math.Sqrt(2*math.Pi))
		}
		if p > stat.Tail {
			low = x
		} else {
			high = x
		}
		next := x + math.Log(p/stat.Tail)*p/density
		if math.Abs(next-x) < 5e-5 {
			break
		}
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		x = next
	}
	return x
}
