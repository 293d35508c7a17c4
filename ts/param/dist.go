package param

import (
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/study"
)

// Dist returns the distribution of the error of the value i over its standard
// uncertainty: normal, or Student's t with the degrees of freedom that its parts have
// together.
//
// Parts that were measured are combined by the formula of Welch and Satterthwaite, theory (8.12);
// all components of one estimate of scatter are one part. What is assumed about a bench
// is one doubt, however many kinds of repeats it is about: a bench that scatters
// more than usual does so in all of them.
func (p Parameters) Dist(i int) stat.Dist {
	return p.distOf(func(effect []float64) float64 { return effect[i] }, func() float64 { return p.Noise.At(i, i) })
}

// DistAlong is [Parameters.Dist] of the sum of w times the values, w in the order of IDs.
func (p Parameters) DistAlong(w []float64) stat.Dist {
	return p.distOf(func(effect []float64) (sum float64) {
		for i, x := range w {
			sum += x * effect[i]
		}
		return sum
	}, func() (v float64) {
		for i, x := range w {
			for j, y := range w {
				v += x * y * p.Noise.At(i, j)
			}
		}
		return v
	})
}

// distOf is Dist of the combination whose share of an effect is along, and of the noise noise.
func (p Parameters) distOf(along func(effect []float64) float64, noise func() float64) stat.Dist {
	if !p.scatters() {
		return stat.Of(p.Coverage)
	}
	type estimate struct {
		name     string
		variance float64
		dof      float64
		assumed  bool
	}
	var all []estimate
	exact := 0.0
	for _, c := range p.Components {
		v := Sq(along(c.Effect))
		if c.Dof == 0 {
			exact += v
			continue
		}
		k := 0
		for k < len(all) && (all[k].name != c.Scatter || all[k].dof != c.Dof) {
			k++
		}
		if k == len(all) {
			all = append(all, estimate{c.Scatter, 0, c.Dof, c.Assumed})
		}
		all[k].variance += v
	}
	terms := []study.Term{{Std: math.Sqrt(exact), Dof: math.Inf(1)}}
	if p.Noise != nil {
		terms = append(terms, study.Term{Std: math.Sqrt(max(0, noise())), Dof: stat.Of(p.Coverage).Dof})
	}
	var assumed []study.Term
	for _, e := range all {
		t := study.Term{Std: math.Sqrt(e.variance), Dof: e.dof}
		if e.assumed {
			assumed = append(assumed, t)
		} else {
			terms = append(terms, t)
		}
	}
	one := study.CombineJudged(assumed...)
	return stat.Dist{Dof: study.Combine(append(terms, study.Term{Std: one.Std(), Dof: one.Dof})...).Dof}
}

// scatters says whether a component rests on few degrees of freedom.
func (p Parameters) scatters() bool {
	for _, c := range p.Components {
		if c.Dof > 0 {
			return true
		}
	}
	return false
}

// coverage returns the factor from the error bar of the value i to the half-width of its
// 95 % interval.
func (p Parameters) coverage(i int) float64 {
	if !p.scatters() {
		return p.Coverage
	}
	return p.Dist(i).Quantile(1 - stat.Tail)
}

// Assumed says whether the uncertainty of the value i rests for a part worth mentioning, a tenth of its
// variance, on an assumption about how the bench repeats.
func (p Parameters) Assumed(i int) bool {
	var assumed float64
	for _, c := range p.Components {
		if c.Assumed {
			assumed += Sq(c.Effect[i])
		}
	}
	return assumed > 0.1*Sq(p.ScaledStd(i))
}

// Alone returns p without what lies between repeats: the uncertainty of the sweeps
// as they were taken.
func (p Parameters) Alone() Parameters {
	var rest []Component
	for _, c := range p.Components {
		if c.Scatter == "" {
			rest = append(rest, c)
		}
	}
	p.Components = rest
	return p
}
