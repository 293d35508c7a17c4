package repeat

import (
	"math"

	"conewright/ts/param"
)

// The parts that the scatter of a kind is told apart into, each with what goes along with it:
// first what shows in Re, then what else shows in Fs, then the rest of Qms.
const (
	heat       = "heat"
	Suspension = "suspension" // ends the source of a component
	losses     = "losses"
)

var parts = [3]string{heat, Suspension, losses}

// order are the Quantities by the parts: Re, Fs, Qms.
var order = [3]int{2, 0, 1}

// factor returns the covariance as the lower triangle L of LL', in the order of parts; also where the
// scatter of some is nothing.
//
// Source: Cholesky's factorisation, textbook.
func (s Scatter) factor() (l [3][3]float64) {
	v := s.Covariance()
	for i := range 3 {
		for j := range i + 1 {
			x := v.At(order[i], order[j])
			for k := range j {
				x -= l[i][k] * l[j][k]
			}
			switch {
			case i == j:
				l[i][i] = math.Sqrt(max(0, x))
			case l[j][j] > 0:
				l[i][j] = x / l[j][j]
			}
		}
	}
	return l
}

// Chain returns the scatter as a chain of independent steps in what a fit has as unknowns, the changes of
// ln Re (heat), ln stiffness (drift) and the logarithm of all losses (friction):
//
//	heat = e0,   drift = slope[0] heat + e1,   friction = slope[1] heat + slope[2] drift + e2
//
// and the standard deviations of e. With the mass as it is,
//
//	ln K = 2 ln Fs,   ln R = ln Fs - ln Qms
//
// theory (1.3).
func (s Scatter) Chain() (std, slope [3]float64) {
	l := s.factor()
	// rows of the three unknowns over the independent parts
	heat, drift, friction := l[0], [3]float64{2 * l[1][0], 2 * l[1][1], 0}, [3]float64{}
	for i := range 3 {
		friction[i] = l[1][i] - l[2][i]
	}
	std = [3]float64{heat[0], drift[1], math.Abs(friction[2])}
	over := func(a, b float64) float64 {
		if b == 0 {
			return 0
		}
		return a / b
	}
	slope[0] = over(drift[0], heat[0])
	slope[2] = over(friction[1], drift[1])
	slope[1] = over(friction[0]-slope[2]*drift[0], heat[0])
	return std, slope
}

// slopes returns how the logarithm of a quantity follows the logarithms of Re, Fs and Qms with the mass, BL and
// the area as they are, theory (1.3), (1.4). qtsByQes is d ln Qts/d ln Qes.
func slopes(id param.ID, qtsByQes float64) [3]float64 {
	switch id {
	case param.Re:
		return [3]float64{1, 0, 0}
	case param.Fs:
		return [3]float64{0, 1, 0}
	case param.Qms:
		return [3]float64{0, 0, 1}
	case param.Qes:
		return [3]float64{1, 1, 0}
	case param.Qts:
		return [3]float64{qtsByQes, qtsByQes, 1 - qtsByQes}
	case param.Cms, param.Vas, param.Lces:
		return [3]float64{0, -2, 0}
	case param.Rms:
		return [3]float64{0, 1, -1}
	case param.Res:
		return [3]float64{0, -1, 1}
	case param.Eta0: // Fs^3 Vas/Qes
		return [3]float64{-1, 0, 0}
	}
	return [3]float64{}
}

// Include returns p with the scatter of the kinds from one on: a single sweep has all from [Again] on, and
// the mean of sweeps of one kind, whose fit holds the scatter up to that kind, those after it.
func (b Bench) Include(p param.Parameters, from Kind) param.Parameters {
	qts := 0.0
	if e, m := p.Index(param.Qes), p.Index(param.Qms); e >= 0 && m >= 0 {
		qts = 1 / (1 + math.Exp(p.Scaled[e]-p.Scaled[m]))
	}
	all := p.Components[:len(p.Components):len(p.Components)]
	for _, k := range Kinds[from:] {
		s := b[k]
		if !s.Known() {
			continue
		}
		l := s.factor()
		for j, part := range parts {
			effect := make([]float64, len(p.IDs))
			for i, id := range p.IDs {
				for row, g := range slopes(id, qts) {
					effect[i] += g * l[row][j]
				}
			}
			all = append(all, param.Component{Source: k.String() + ", " + part, Part: param.RepeatPart, Own: true, Effect: effect,
				Scatter: k.String(), Dof: s.Freedom(), Assumed: s.Assumed})
		}
	}
	p.Components = all
	return p
}

// Freedom returns the degrees of freedom as a component has them: 0 stands for what is known exactly.
func (s Scatter) Freedom() float64 {
	if s.Dof > mostDof {
		return 0
	}
	return s.Dof
}

// mostDof are degrees of freedom beyond which nothing is gained.
const mostDof = 1e6

// OneSession returns p for a comparison with another set that was measured in the same session by the
// same operator: what belongs to these is in both, and cancels. Of another driver this is true of the room and the
// contacts alone, not of how its own suspension feels that day.
func OneSession(p param.Parameters, sameDriver bool) param.Parameters {
	all := make([]param.Component, len(p.Components))
	for i, c := range p.Components {
		if c.Scatter == Session.String() || c.Scatter == Operator.String() {
			shared := c.Source == c.Scatter+", "+heat || sameDriver && (c.Source == c.Scatter+", "+Suspension || c.Source == c.Scatter+", "+losses)
			c.Own = c.Own && !shared
		}
		all[i] = c
	}
	p.Components = all
	return p
}

// Left returns the variance by repeats that p would have in the value i after that many more
// sweeps of one kind: the scatter up to this kind is averaged, that of the kinds after it is not.
func Left(p param.Parameters, i int, kind Kind, more int) (variance float64) {
	for _, c := range p.Components {
		if c.Scatter == "" {
			continue
		}
		v := c.Effect[i] * c.Effect[i]
		switch n := float64(runsOf(p, c)); {
		case kind.holds(c.Scatter) && (n == 1 || c.Scatter == kind.String()):
			v *= n / (n + float64(more))
		case kind.holds(c.Scatter):
			v /= 1 + float64(more)
		}
		variance += v
	}
	return variance
}

// holds says whether the kind of that name lies between two sweeps that differ by k.
func (k Kind) holds(name string) bool {
	for _, inner := range Kinds[:k+1] {
		if inner.String() == name {
			return true
		}
	}
	return false
}

// runsOf returns of how many sweeps p is the mean, as far as the scatter of c is concerned: each
// has the parts for itself where the fit has found them.
func runsOf(p param.Parameters, c param.Component) int {
	n := 0
	for _, other := range p.Components {
		if other.Scatter != c.Scatter {
			continue
		}
		for _, part := range parts {
			if other.Source == c.Scatter+", "+part {
				return 1
			}
		}
		n++
	}
	return max(1, n/len(parts))
}
