package ring

import (
	"math"

	"conewright/ts/param"
)

// EnteredDriver returns the parameters of a driver that was not measured here
// but whose values are known: from a sheet, or from another bench. Fs (Hz) and
// Mms (kg) are needed, Qms and Qes may be left out. The uncertainties are taken
// as independent. It derives Cms and, where both Q values are given, Qts.
func EnteredDriver(fs, mms, qms, qes param.Quantity, mounting param.Mounting) (param.Parameters, error) {
	if !(fs.Value > 0) || !(mms.Value > 0) {
		return param.Parameters{}, &param.Refusal{Code: "needs-values", Message: "a driver from entered values needs Fs and Mms",
			Advice: "give both, or name the files of its sweeps"}
	}
	p := param.Parameters{Coverage: 1.96, Mounting: mounting}
	type source struct {
		id  param.ParamID
		rel float64 // relative standard uncertainty
	}
	var sources []source
	add := func(id param.ParamID, value float64, o param.Origin) {
		p.IDs = append(p.IDs, id)
		p.Scaled = append(p.Scaled, id.Scale(value))
		p.Origin = append(p.Origin, o)
	}
	for _, e := range []struct {
		id param.ParamID
		q  param.Quantity
	}{{param.Fs, fs}, {param.Qms, qms}, {param.Qes, qes}} {
		if e.q.Given() {
			add(e.id, e.q.Value, param.Entered)
			sources = append(sources, source{e.id, e.q.Std / e.q.Value})
		}
	}
	m, e := qms.Value, qes.Value
	if qms.Given() && qes.Given() {
		add(param.Qts, m*e/(m+e), param.Derived)
	}
	add(param.Mms, mms.Value, param.Entered)
	sources = append(sources, source{param.Mms, mms.Std / mms.Value})
	w := 2 * math.Pi * fs.Value
	add(param.Cms, 1/(w*w)/mms.Value, param.Derived)

	// d ln(derived) / d ln(source)
	slope := func(derived, from param.ParamID) float64 {
		switch {
		case derived == from:
			return 1
		case derived == param.Cms && from == param.Fs:
			return -2
		case derived == param.Cms && from == param.Mms:
			return -1
		case derived == param.Qts && from == param.Qms:
			return e / (m + e)
		case derived == param.Qts && from == param.Qes:
			return m / (m + e)
		}
		return 0
	}
	for _, s := range sources {
		c := param.Component{Source: "entered " + s.id.String(), Part: param.BenchPart, Effect: make([]float64, len(p.IDs))}
		for i, id := range p.IDs {
			c.Effect[i] = slope(id, s.id) * s.rel
		}
		p.Components = append(p.Components, c)
	}
	return p, nil
}
