package estimate

import (
	"cmp"
	"math"
	"slices"

	"conewright/ts/internal/lsq"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// member is one form in the average, trusted or doubted, with one creep law.
type member struct {
	*solution
	statement
	misfit     misfit
	correlated float64 // see solution.correlation
	shared     float64 // by how much what sweeps have in common widens the variance, see shared.go
	weight     float64 // in the values
	doubt      float64 // weight in the uncertainty
	// meterOff is how many standard deviations the meter reading of Re lies above
	// what the sweeps say; 0 without a reading, or with one that contradicts them.
	meterOff float64
}

// doubtOf returns the weight in the uncertainty of something that has the weight
// believed in the values, and the weight doubted by the odds of the uncertainty.
func doubtOf(believed, doubted float64) float64 {
	return max(believed, min(doubted, 1-leastTrust))
}

// withRival returns a member with logarithmic creep and the same with the other creep
// law, a stiffness in proportion to a power of frequency, and divides weight
// and doubt between the two; the member alone where the other law has no minimum or does
// not count. The two hardly differ around the resonance, but an octave or two below
// it they ask for other losses, and so for another Re and Qes, by several times the
// noise while the residuals cannot tell. The value moves to the rival only when the
// sweeps are clearly for it; in the uncertainty it counts for more. theory (4.7),
// docs/decisions/0014.
func (in input) withRival(m member) []member {
	f := m.prob.form
	f.power = true
	p := in.problem(f, true, m.misfit.noise)
	if m.misfit.local.any() {
		p.doubt(m.prob.white, m.x[m.prob.lay.coil:])
	}
	s := settle(p, in.warmStart(p, m.solution), lsq.Settings{OffsetTol: rivalTol, Keep: p.white != nil})
	if !s.determined() {
		return []member{m}
	}
	ratio := math.Exp((m.result.SumSquares - s.result.SumSquares) / 2) // likelihood, rival to member
	believed := 1 - 1/(1+ratio/rivalOdds)
	doubt := doubtOf(believed, 1-1/(1+ratio/rivalDoubt))
	if doubt < minWeight {
		return []member{m}
	}
	said, err := in.state(s, m.misfit.any())
	if err != nil || !said.finite() {
		return []member{m}
	}
	r := m
	r.solution, r.statement = s, said
	r.weight, r.doubt = m.weight*believed, m.doubt*doubt
	m.weight, m.doubt = m.weight*(1-believed), m.doubt*(1-doubt)
	return []member{m, r}
}

// suspect gives the misfit that the residuals hint at its weight in the
// uncertainty. The values follow it with its weight p, under odds of beliefCost
// against it; the uncertainty takes it with the weight q, under odds of doubtCost,
// as a member of its own where it was too light to become one. theory (4.12),
// docs/decisions/0016.
func (in input) suspect(members []member, all []candidate) []member {
	i := slices.IndexFunc(members, func(m member) bool { return !m.misfit.any() })
	if i < 0 {
		return members
	}
	// A driver has a coil or not; values are compared within one kind.
	coil := members[i].prob.lay.coils > 0
	var p float64
	var doubts []candidate
	for _, c := range all {
		if c.misfit.any() && (c.prob.lay.coils > 0) == coil {
			p += c.weight
			doubts = append(doubts, c)
		}
	}
	odds := p / (1 - p) * math.Exp(beliefCost-doubtCost)
	q := doubtOf(p, odds/(1+odds))
	if q < minWeight {
		return members
	}
	var trusted, doubted float64
	for _, m := range members {
		if m.misfit.any() {
			doubted += m.doubt
		} else {
			trusted += m.doubt
		}
	}
	next := slices.Clone(members)
	for len(doubts) > 0 && doubted == 0 { // the heaviest that comes to a minimum
		if m, ok := in.member(doubts[0]); ok {
			m.doubt = 1
			next, doubted = append(next, m), 1
		}
		doubts = doubts[1:]
	}
	if doubted == 0 {
		return members
	}
	for k, m := range next {
		if m.misfit.any() {
			next[k].doubt *= q / doubted
		} else {
			next[k].doubt *= (1 - q) / trusted
		}
	}
	return next
}

// condition takes the meter reading of Re, when there is one, as one more observation
// with its own uncertainty, and brings the weights to a sum
// of one. A member whose Re fits the reading gains weight; in each of them every
// value moves as far as its covariance with Re says, and every source of
// uncertainty shrinks accordingly: theory (4.9), the update of a linear
// estimate by one more observation. The covariance is the total one, so a
// reading puts right what an unknown resistor or coil law does to Re.
func (in input) condition(members []member) []member {
	o := in.observed
	all := in.bounded(members)
	if dc := o.cond.DCRe; dc.Given() && math.Abs(o.meterOff(all)) <= meterContradicts {
		reading, u := math.Log(dc.Value), o.meterStd()
		logs := make([][2]float64, len(all)) // logarithms of weight and doubt
		top := [2]float64{math.Inf(-1), math.Inf(-1)}
		for i, m := range all {
			var density float64
			all[i].statement, density, all[i].meterOff = m.read(reading, u, param.Component{Source: meterReading, Part: param.BenchPart, Own: true})
			logs[i] = [2]float64{math.Log(m.weight) + density, math.Log(m.doubt) + density}
			top = [2]float64{max(top[0], logs[i][0]), max(top[1], logs[i][1])}
		}
		for i := range all {
			all[i].weight, all[i].doubt = math.Exp(logs[i][0]-top[0]), math.Exp(logs[i][1]-top[1])
		}
	}
	var weight, doubt float64
	for _, m := range all {
		weight += m.weight
		doubt += m.doubt
	}
	for i := range all {
		all[i].weight /= weight
		all[i].doubt /= doubt
	}
	slices.SortStableFunc(all, func(a, b member) int { return cmp.Compare(b.weight, a.weight) })
	return all
}

// meterReading is the source of the uncertainty of a meter reading of Re.
const meterReading = "meter reading of Re"

// meterStd is the relative standard uncertainty of the meter reading of Re.
func (o *observed) meterStd() float64 {
	return max(o.cond.DCRe.Std/o.cond.DCRe.Value, meterFloor)
}

// meterOff returns how many standard uncertainties of the difference the meter reading of Re lies
// above what all members together say, and 0 without a reading.
func (o *observed) meterOff(members []member) float64 {
	if !o.cond.DCRe.Given() {
		return 0
	}
	var value, weight, variance, doubt float64
	at := slices.Index(members[0].ids, param.Re)
	for _, m := range members {
		value += m.weight * m.values[at].v
		weight += m.weight
	}
	value /= weight
	for _, m := range members {
		variance += m.doubt * (param.Sq(m.std(at)) + param.Sq(m.values[at].v-value))
		doubt += m.doubt
	}
	return (math.Log(o.cond.DCRe.Value) - value) / math.Sqrt(variance/doubt+param.Sq(o.meterStd()))
}

// read returns what is said after the reading (ln ohm) with the standard
// uncertainty u, the logarithm of the probability density of the reading, and how
// many standard deviations it lies above what the sweeps say. What the reading leaves open is by, a component without its effect.
func (m statement) read(reading, u float64, by param.Component) (after statement, density, off float64) {
	at := slices.Index(m.ids, param.Re)
	k := len(m.ids)
	with := make([]float64, k) // covariance with ln Re
	for i := range with {
		with[i] = m.noise.At(i, at)
		for _, e := range m.effects {
			with[i] += e.Effect[i] * e.Effect[at]
		}
	}
	v := with[at] + u*u
	d := reading - m.values[at].v
	after = statement{derived: m.derived, noise: mat.NewSymDense(k, nil)}
	after.values = slices.Clone(m.values)
	gain := mat.NewVecDense(k, nil)
	for i := range with {
		gain.SetVec(i, with[i]/v)
		after.values[i].v += with[i] / v * d
	}
	// Noise becomes (1 - g h') N (1 - g h')', h picking Re out.
	row := mat.NewVecDense(k, nil)
	for i := range k {
		row.SetVec(i, m.noise.At(i, at))
	}
	after.noise.RankTwo(m.noise, -1, gain, row)
	after.noise.SymRankOne(after.noise, m.noise.At(at, at), gain)
	for _, e := range m.effects {
		re := e.Effect[at]
		e.Effect = slices.Clone(e.Effect)
		for i := range e.Effect {
			e.Effect[i] -= gain.AtVec(i) * re
		}
		after.effects = append(after.effects, e)
	}
	meter := make([]float64, k)
	for i := range meter {
		meter[i] = gain.AtVec(i) * u
	}
	by.Effect = meter
	after.effects = append(after.effects, by)
	return after, -d*d/(2*v) - math.Log(v)/2, d / math.Sqrt(v)
}
