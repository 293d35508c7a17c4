package estimate

import (
	"math"

	"conewright/ts/param"
)

// tight is a closed box behind the cone. Of all stiffness at the resonance in the box it is the share alpha/(1 + alpha), and it
// follows frequency as
//
//	1/( 1/(1 + jx/QA) + 1/(jx QL) ),   x = f/fc
//
// QL and QA are the quality factors of leaks and absorption at fc, theory (10.5). Below fc/QL the air is no spring any more.
//
// Source: Small, J. Audio Eng. Soc. 20, 1972, 798 (from memory; derived from the elements, and checked against a circuit simulator).
type tight struct {
	own     float64    // share of the suspension
	ql, qa  float64    // quality factors
	per     float64    // 1 over the real part at fc of the expression above
	angle   float64    // imaginary over real part there
	byReal  [2]float64 // derivatives of the real part by the unknowns of QL and QA, times per
	byAngle [2]float64
	perLn   float64 // d ln QL by its unknown
}

// leastTightQL is the least QL of a closed box: with more of a leak it is none, and a much larger one is a dashpot on the cone, which
// some errors of the law of a suspension look like.
const leastTightQL = 2

// The unknowns of a closed box after layout.tight, all logarithms: alpha, QL less leastTightQL, QA.
const (
	tightAlpha = iota
	tightQL
	tightQA
	tightUnknowns
)

// What is known of a closed box beforehand, as logarithms: of a sealed box they are above 10, and what is badly
// sealed or full of wool has less. Common practice.
const (
	meanTightQL, stdTightQL = 2.6, 1.0 // QL of 15
	meanTightQA, stdTightQA = 3.7, 1.0 // QA of 40
	meanAlpha, stdAlpha     = 0.5, 0.7 // 1.7
)

// addTight adds the unknowns of a closed box.
func (l *layout) addTight() {
	l.tight = l.n
	l.n += tightUnknowns
	add := func(unknown int, mean, std float64, source string) {
		l.priors = append(l.priors, prior{index: l.tight + unknown, mean: mean, std: std, component: param.Component{Source: source, Part: param.ModelPart, Own: true}})
	}
	add(tightAlpha, meanAlpha, stdAlpha, "share of the air in a box")
	add(tightQL, meanTightQL, stdTightQL, leakSource)
	add(tightQA, meanTightQA, stdTightQA, absorptionSource)
}

// startTight sets the start of alpha to what the driver says of it, where it is known.
func (in *observed) startTight(l *layout, x []float64) {
	if in.driver == nil {
		return
	}
	for _, pr := range l.priors {
		if at := l.tight + tightAlpha; pr.index == at {
			x[at] += pr.std * -pr.rest(x)
		}
	}
}

func tightAt(x []float64) tight {
	t := tight{own: 1 / (1 + math.Exp(x[tightAlpha])), ql: leastTightQL + math.Exp(x[tightQL]), qa: math.Exp(x[tightQA])}
	t.perLn = 1 - leastTightQL/t.ql
	value, by, _ := t.air(1)
	t.per = 1 / real(value)
	t.angle = imag(value) * t.per
	for i, d := range by {
		t.byReal[i] = real(d) * t.per
		t.byAngle[i] = imag(d)*t.per - t.angle*t.byReal[i]
	}
	return t
}

// air returns the stiffness of the air at x over that without losses, and its derivatives by the unknowns of QL and QA and by ln x.
func (t *tight) air(x float64) (value complex128, by [2]complex128, byLn complex128) {
	spring := inverse(complex(1, x/t.qa))
	leak := complex(0, -1/(x*t.ql))
	value = inverse(spring + leak)
	bySum := -value * value
	absorbed := spring * spring * complex(0, x/t.qa)
	return value, [...]complex128{times(-t.perLn, bySum*leak), bySum * absorbed}, -bySum * (absorbed + leak)
}

// tightValue is the stiffness at one frequency over its real part at fc, and its derivatives.
type tightValue struct {
	value complex128
	by    [2]complex128 // unknowns of QL, QA
	byLn  complex128    // ln x
}

func (t *tight) at(x float64) tightValue {
	value, by, byLn := t.air(x)
	v := tightValue{value: times(t.per, value), byLn: times(t.per, byLn)}
	for i := range by {
		v.by[i] = times(t.per, by[i]) - times(t.byReal[i], v.value)
	}
	return v
}

// addTight adds what is known of a closed box to the values.
func (d *derived) addTight(unknown func(i int) lin, tight int) {
	ql := unknown(tight + tightQL)
	above := math.Exp(ql.v)
	ql = sum([]float64{above / (leastTightQL + above)}, ql)
	ql.v = math.Log(leastTightQL + above)
	d.addLosses(ql, unknown(tight+tightQA))
	d.add(param.QL, param.FromFit, ql)
	d.add(param.QA, param.FromFit, unknown(tight+tightQA))
	d.add(param.Alpha, param.FromFit, unknown(tight+tightAlpha))
}
