package estimate

import (
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/param"
)

// skew returns [Parameters.Skew]. The truth is that of one of the members, which
// one is not known: the distribution of a value is the mixture
//
//	P(below x) = sum over members of doubt F((x - value)/u)    theory (4.13)
//
// and its interval ends where 2.5 % lie below and 2.5 % above. Of two members far
// apart it holds 95 % each; so many standard deviations around the value would hold
// all of the one and perhaps nothing of the other. nil where one member says all.
func skew(p param.Parameters, members []*member) [][2]float64 {
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
			mix[j] = branch{m.doubt, (m.derived.values[i].v - p.Scaled[i]) / total, m.std(i) / total}
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

// std returns the standard uncertainty of the value i in one member.
func (m *member) std(i int) float64 {
	v := m.noise.At(i, i)
	for _, e := range m.effects {
		v += param.Sq(e.Effect[i])
	}
	return math.Sqrt(v)
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
