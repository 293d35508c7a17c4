package estimate

import (
	"math"
	"slices"

	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// meterFloor is the smallest relative standard uncertainty that a meter reading
// is believed to have: contacts and leads alone are not better.
const meterFloor = 1e-4

// condition lets the meter reading of Re, when there is one, speak to the
// members as a datum with its own uncertainty, and brings the weights to a sum
// of one. A member whose Re fits the reading gains weight; in each of them every
// value moves as far as its covariance with Re says, and every source of
// uncertainty shrinks accordingly: theory (4.9), the update of a linear
// estimate by one more observation. The covariance is the total one, so a
// reading puts right what an unknown resistor or coil law does to Re.
func (in *input) condition(members []*member) {
	dc := in.cond.DCRe
	if dc.Given() {
		reading, u := math.Log(dc.Value), max(dc.Std/dc.Value, meterFloor)
		speaks := make([][2]float64, len(members)) // logarithms of weight and doubt
		top := [2]float64{math.Inf(-1), math.Inf(-1)}
		for i, m := range members {
			var density float64
			density, m.meterOff = m.read(reading, u)
			speaks[i] = [2]float64{math.Log(m.weight) + density, math.Log(m.doubt) + density}
			top = [2]float64{max(top[0], speaks[i][0]), max(top[1], speaks[i][1])}
		}
		for i, m := range members {
			m.weight, m.doubt = math.Exp(speaks[i][0]-top[0]), math.Exp(speaks[i][1]-top[1])
		}
	}
	var weight, doubt float64
	for _, m := range members {
		weight += m.weight
		doubt += m.doubt
	}
	for _, m := range members {
		m.weight /= weight
		m.doubt /= doubt
	}
	slices.SortStableFunc(members, func(a, b *member) int { return CmpFloat(b.weight, a.weight) })
}

// read updates a member by the reading (ln ohm) with the standard uncertainty u
// and returns the logarithm of the probability density of the reading, and how
// many standard deviations it lies above what the sweeps say.
func (m *member) read(reading, u float64) (density, off float64) {
	at := slices.Index(m.derived.ids, param.Re)
	k := len(m.derived.ids)
	with := make([]float64, k) // covariance with ln Re
	for i := range with {
		with[i] = m.noise.At(i, at)
		for _, e := range m.effects {
			with[i] += e.Effect[i] * e.Effect[at]
		}
	}
	v := with[at] + u*u
	d := reading - m.derived.values[at].v
	gain := mat.NewVecDense(k, nil)
	for i := range with {
		gain.SetVec(i, with[i]/v)
		m.derived.values[i].v += with[i] / v * d
	}
	// Noise becomes (1 - g h') N (1 - g h')', h picking Re out.
	row := mat.NewVecDense(k, nil)
	for i := range k {
		row.SetVec(i, m.noise.At(i, at))
	}
	re := m.noise.At(at, at)
	m.noise.RankTwo(m.noise, -1, gain, row)
	m.noise.SymRankOne(m.noise, re, gain)
	for _, e := range m.effects {
		re := e.Effect[at]
		for i := range e.Effect {
			e.Effect[i] -= gain.AtVec(i) * re
		}
	}
	meter := make([]float64, k)
	for i := range meter {
		meter[i] = gain.AtVec(i) * u
	}
	m.effects = append(m.effects, param.Component{Source: param.MeterReading, Part: param.BenchPart, Own: true, Effect: meter})
	return -d*d/(2*v) - math.Log(v)/2, d / math.Sqrt(v)
}
