package estimate

import (
	"math"

	"conewright/ts/measured"
	"conewright/ts/param"
)

// A vented box behind the cone adds a stiffness to the suspension that goes through the resonance of the port, theory (10.6):
//
//	alpha / ( 1/(1 + jy/QA) + 1/(jy QL) + 1/(jy/QP - y^2) ),   y = w/wb
//
// relative to the stiffness of the suspension. alpha is that of the air in the box, QL, QA and QP are the quality factors
// of leaks, absorption and port at the tuning wb.
//
// Source: Small, J. Audio Eng. Soc. 21, 1973, 363 (from memory; derived from the elements, and checked against a circuit
// simulator).
type vent struct{ alpha, perTuning, ql, qa, qp float64 }

// The unknowns of a vented box, all logarithms, after layout.port.
const (
	ventAlpha = iota
	ventTuning
	ventQL
	ventQA
	ventQP
	ventUnknowns
)

// ventLosses are what is known of losses beforehand: measured boxes have totals of 5 to 10, most of it leaks, and a box with
// much stuffing absorbs as much (Small 1973, part III, read in an excerpt; the widths are judgement).
var ventLosses = [...]struct {
	unknown   int
	mean, std float64 // of the logarithm
	source    string
}{
	{ventQL, math.Log(10), 0.9, leakSource},
	{ventQA, math.Log(40), 1, absorptionSource},
	{ventQP, math.Log(40), 1, "losses of the port"},
}

// Names of losses in a budget.
const (
	leakSource       = "leak of the cabinet"
	absorptionSource = "absorption in the cabinet"
)

// addPort adds the unknowns of a vented box.
func (l *layout) addPort() {
	l.port = l.n
	l.n += ventUnknowns
	for _, q := range ventLosses {
		l.priors = append(l.priors, prior{index: l.port + q.unknown, mean: q.mean, std: q.std, component: param.Component{Source: q.source, Part: param.ModelPart, Own: true}})
	}
}

// startPort sets the starts of a vented box and of the driver in it. The quality factor of the driver is varied as that of o
// is from the peak.
func (in *observed) startPort(l *layout, x []float64, o measured.Outline) {
	d := in.port.Driver
	x[l.re], x[l.fs], x[l.res] = math.Log(d.Re), math.Log(d.Fs), math.Log(d.Res)
	x[l.qms] = math.Log(d.Qms * o.Qms / in.outline.Qms)
	x[l.port+ventAlpha], x[l.port+ventTuning] = math.Log(in.port.Alpha), math.Log(in.port.Tuning)
}

func ventAt(x []float64) vent {
	return vent{
		alpha: math.Exp(x[ventAlpha]), perTuning: math.Exp(-x[ventTuning]) / (2 * math.Pi),
		ql: math.Exp(x[ventQL]), qa: math.Exp(x[ventQA]), qp: math.Exp(x[ventQP]),
	}
}

// ventValue is the stiffness at one frequency and its derivatives by the unknowns.
type ventValue struct {
	value complex128
	by    [ventUnknowns]complex128
}

// at returns the stiffness at w (rad/s).
func (v *vent) at(w float64) ventValue {
	y := w * v.perTuning
	air := inverse(complex(1, y/v.qa))
	leak := complex(0, -1/(y*v.ql))
	port := inverse(complex(-y*y, y/v.qp))
	value := times(v.alpha, inverse(air+leak+port))
	by := times(-1/v.alpha, value*value) // by the sum
	absorbed := air * air * complex(0, y/v.qa)
	lost := port * port * complex(0, y/v.qp)
	// The tuning moves y the other way.
	byTuning := by * (absorbed + leak + lost - times(2*y*y, port*port))
	return ventValue{value, [...]complex128{value, byTuning, -by * leak, by * absorbed, by * lost}}
}

// addPort adds what is known of a vented box to the values.
func (d *derived) addPort(unknown func(i int) lin, port int) {
	ql, qa, qp := unknown(port+ventQL), unknown(port+ventQA), unknown(port+ventQP)
	d.add(param.Fb, param.FromFit, unknown(port+ventTuning))
	d.addLosses(ql, qa, qp)
	d.add(param.QL, param.FromFit, ql)
	d.add(param.QA, param.FromFit, qa)
	d.add(param.QP, param.FromFit, qp)
	d.add(param.Alpha, param.FromFit, unknown(port+ventAlpha))
}

// addLosses adds the quality factor of all losses, theory (10.8).
func (d *derived) addLosses(each ...lin) {
	share, all := make([]float64, len(each)), 0.0
	for i, q := range each {
		share[i] = math.Exp(-q.v)
		all += share[i]
	}
	for i := range share {
		share[i] /= all
	}
	qb := sum(share, each...)
	qb.v = -math.Log(all)
	d.add(param.QB, param.Derived, qb)
}
