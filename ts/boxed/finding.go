package boxed

import (
	"math"

	"conewright/ts/notice"
	"conewright/ts/param"
)

// Fault is what may be the matter with a driver in its box.
type Fault string

// The faults, and changes that are none.
const (
	NoChange      Fault = "no-change"
	Leak          Fault = "leak"
	PortBlocked   Fault = "port-blocked"
	PortChanged   Fault = "port-changed"
	MoreFilling   Fault = "more-filling"
	LessFilling   Fault = "less-filling"
	LessVolume    Fault = "less-volume"
	MoreVolume    Fault = "more-volume"
	Softer        Fault = "suspension-softer"
	Stiffer       Fault = "suspension-stiffer"
	Heavier       Fault = "mass-added"
	Lighter       Fault = "mass-missing"
	MoreLosses    Fault = "losses-up"
	LessLosses    Fault = "losses-down"
	WeakerMotor   Fault = "motor-weaker"
	StrongerMotor Fault = "motor-stronger"
	Series        Fault = "series-resistance"
	LessSeries    Fault = "resistance-less"
)

// Finding is one fault with its evidence.
type Finding struct {
	Fault  Fault
	Sure   bool         // its rivals follow clearly worse
	Size   float64      // of the change, as its fault has it: a ratio, or a quality factor
	Rivals []Fault      // that follow nearly as well
	Facts  notice.Facts // "quantity" with "value", "low", "high" and "wanted"; or what else the fault has
}

// Limits between what a box does and what is wrong with it: common practice.
const (
	leakyQL     = 4.0  // QL: boxes that are sealed have 5 to 20
	mostFilling = 1.4  // Vab over the volume: air that stays at one temperature has 1.4 times the compliance
	offTuning   = 0.05 // relative, of what was planned
	offVolume   = 0.1
)

// against says where what was found contradicts what is known of the box.
func (m *Measured) against() []Finding {
	var all []Finding
	add := func(f Fault, id param.ID, wanted float64) {
		e, _ := m.Parameters.Get(id)
		sure := e.High < wanted || e.Low > wanted
		all = append(all, Finding{Fault: f, Sure: sure, Size: e.Value / wanted, Facts: notice.Facts{"value": e.Value, "low": e.Low, "high": e.High, "wanted": wanted, "quantity": id}})
	}
	if m.Kind == Closed && m.Known.Tuning > 0 {
		all = append(all, Finding{Fault: PortBlocked, Sure: m.Known.Kind == ByCurve, Facts: notice.Facts{"tuning": m.Known.Tuning, "peak": value(m.Parameters, param.Fc)}})
	}
	if q, ok := m.Parameters.Get(param.QL); ok && q.Value < leakyQL {
		add(Leak, param.QL, leakyQL)
	} else if q, ok := m.Parameters.Get(param.QB); ok && q.Value < leakyQL {
		add(Leak, param.QB, leakyQL)
		all[len(all)-1].Sure = false // all losses look alike in the sum
	}
	if e, ok := m.Parameters.Get(param.Fb); ok && m.Known.Tuning > 0 && math.Abs(math.Log(e.Value/m.Known.Tuning)) > offTuning {
		add(PortChanged, param.Fb, m.Known.Tuning)
	}
	if e, ok := m.Parameters.Get(param.Vab); ok && m.Known.Volume > 0 {
		switch ratio := e.Value / m.Known.Volume; {
		case ratio > mostFilling && e.Low > m.Known.Volume:
			add(MoreVolume, param.Vab, m.Known.Volume)
		case ratio > 1+offVolume && e.Low > m.Known.Volume:
			add(MoreFilling, param.Vab, m.Known.Volume)
		case ratio < 1-offVolume && e.High < m.Known.Volume:
			add(LessVolume, param.Vab, m.Known.Volume)
		default:
			return all
		}
		// The diameter of the cone, with its fourth power, and the volume that was given are as likely off.
		all[len(all)-1].Sure = false
	}
	return all
}
