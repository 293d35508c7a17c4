package estimate

import (
	"math"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/param"
)

// ceiling returns the logarithm of the highest Re (ohm) that the sweeps allow, and its relative standard uncertainty; infinite
// where no sweep tells. A driver is passive: the real part of its impedance is Re and what coil and motion add, neither of
// which is negative. So Re lies below the real part at every frequency, whatever laws coil and suspension follow. A
// magnitude is no less than its real part.
//
// Points above the resonance play no part: there channels that are a little out of step turn reactance into resistance. Nor do
// sweeps through inputs that were not compared: the difference of their coupling does the same below the resonance, by more
// than the bound holds. The noise is a factor on that of the weights. theory (4.16).
func (in input) ceiling(noise float64) (lnRe, u float64) {
	lnRe = math.Inf(1)
	for k := range in.obs {
		if slices.ContainsFunc(in.sweeps[k].Impedance.Systematic, func(e measured.Systematic) bool { return e.Fitted }) {
			continue
		}
		o := &in.obs[k]
		peak := measured.OutlineOf(in.sweeps[k].Impedance).Fs
		for i := 0; i+passivePoints <= len(o.z) && in.sweeps[k].Impedance.Freq[i+passivePoints-1] < peak; i++ {
			var mean, square, least float64
			for _, v := range o.z[i : i+passivePoints] {
				mean += real(v) / passivePoints
			}
			for j, v := range o.z[i : i+passivePoints] {
				square += param.Sq(real(v) - mean)
				least = max(least, noise*in.scale[k]/o.weight[i+j])
			}
			std := max(least, math.Sqrt(square/(passivePoints-1))) / math.Sqrt(passivePoints)
			if top := math.Log(mean + passiveSure*std); mean > 0 && top < lnRe {
				lnRe, u = top, std/mean
			}
		}
	}
	return lnRe, u
}

// bounded returns the members once it is known that Re lies below the ceiling: those in which it lay far above lose weight.
func (in input) bounded(members []member) []member {
	all := slices.Clone(members)
	noise := math.Inf(1)
	for _, m := range all {
		noise = min(noise, m.misfit.noise)
	}
	top, u := in.ceiling(noise)
	if math.IsInf(top, 1) {
		return all
	}
	logs := make([]float64, len(all))
	for i, m := range all {
		all[i].statement, logs[i] = m.below(top, u)
	}
	likeliest := slices.Max(logs)
	for i, l := range logs {
		all[i].weight *= math.Exp(l - likeliest)
		all[i].doubt *= math.Exp(l - likeliest)
	}
	return all
}

// below returns what is said once it is known that the logarithm of Re lies below top, which itself has the standard
// uncertainty u, and the logarithm of the probability of that. The distribution that is left is taken for a normal one with
// its mean and its variance, as after an observation that brings the same two. Moments of the truncated normal
// distribution: textbook. theory (4.16).
func (m statement) below(top, u float64) (after statement, logProb float64) {
	at := slices.Index(m.ids, param.Re)
	// An error of the bench moves Re and the real part alike.
	free, bench := m, []param.Component(nil)
	free.effects = nil
	for _, e := range m.effects {
		if e.Part == param.BenchPart {
			bench = append(bench, e)
		} else {
			free.effects = append(free.effects, e)
		}
	}
	own := param.Sq(free.std(at))
	v := own + u*u
	d := (top - m.values[at].v) / math.Sqrt(v)
	p := math.Erfc(-max(d, -decided)/math.Sqrt2) / 2
	if math.Abs(d) > decided {
		return m, math.Log(p)
	}
	hazard := math.Exp(-d*d/2) / math.Sqrt(2*math.Pi) / p
	share := hazard * (hazard + d) // of the variance v that goes
	after, _, _ = free.read(m.values[at].v-hazard*math.Sqrt(v)/share, math.Sqrt(v/share-own), lowestRealPart)
	after.effects = append(after.effects, bench...)
	return after, math.Log(p)
}

// lowestRealPart is what the bound leaves open: a statement of this sweep, as those of its laws are.
var lowestRealPart = param.Component{Source: "lowest real part of the impedance", Part: param.ModelPart, Own: true}
