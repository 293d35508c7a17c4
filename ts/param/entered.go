package param

import (
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
)

// FromValues returns the parameters of a driver that was not measured here
// but whose values are known: from a sheet, or from another bench. Fs (Hz) and
// Mms (kg) are needed, Qms and Qes may be left out. The uncertainties are taken
// as independent. It derives Cms and, where both Q values are given, Qts.
func FromValues(fs, mms, qms, qes Quantity, mounting Mounting) (Parameters, error) {
	if !fs.Given() || !mms.Given() {
		return Parameters{}, notice.New("needs-values", nil)
	}
	if err := bounds.First(bounds.Frequency.Known(fs.Value, fs.Std), bounds.Mass.Known(mms.Value, mms.Std),
		bounds.Quality.Given(qms.Value, qms.Std), bounds.Quality.Given(qes.Value, qes.Std), mounting.Check()); err != nil {
		return Parameters{}, err
	}
	p := Parameters{Coverage: 1.96, Mounting: mounting}
	type source struct {
		id  ID
		rel float64 // relative standard uncertainty
	}
	var sources []source
	add := func(id ID, value float64, o Origin) {
		p.IDs = append(p.IDs, id)
		p.Scaled = append(p.Scaled, id.Scale(value))
		p.Origin = append(p.Origin, o)
	}
	for _, e := range []struct {
		id ID
		q  Quantity
	}{{Fs, fs}, {Qms, qms}, {Qes, qes}} {
		if e.q.Given() {
			add(e.id, e.q.Value, Entered)
			sources = append(sources, source{e.id, e.q.Std / e.q.Value})
		}
	}
	m, e := qms.Value, qes.Value
	if qms.Given() && qes.Given() {
		add(Qts, m*e/(m+e), Derived)
	}
	add(Mms, mms.Value, Entered)
	sources = append(sources, source{Mms, mms.Std / mms.Value})
	w := 2 * math.Pi * fs.Value
	add(Cms, 1/(w*w)/mms.Value, Derived)

	// d ln(derived) / d ln(source)
	slope := func(derived, from ID) float64 {
		switch {
		case derived == from:
			return 1
		case derived == Cms && from == Fs:
			return -2
		case derived == Cms && from == Mms:
			return -1
		case derived == Qts && from == Qms:
			return e / (m + e)
		case derived == Qts && from == Qes:
			return m / (m + e)
		}
		return 0
	}
	for _, s := range sources {
		c := Component{Source: "entered " + s.id.String(), Part: BenchPart, Effect: make([]float64, len(p.IDs))}
		for i, id := range p.IDs {
			c.Effect[i] = slope(id, s.id) * s.rel
		}
		p.Components = append(p.Components, c)
	}
	return p, nil
}
