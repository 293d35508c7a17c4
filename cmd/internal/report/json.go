package report

import (
	"encoding/json"
	"io"
	"math"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/change"
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// JSON writes the report in the promised shape: SI units, full precision,
// fields are added over time but never renamed. docs/formats.md describes it.
func JSON(w io.Writer, r *Report) error {
	data, err := r.json().MarshalJSON()
	if err != nil {
		return err
	}
	_, err = w.Write(append(jsonout.Spread(data), '\n'))
	return err
}

func (r *Report) json() jsonout.Object {
	o := jsonout.Object{{"schema", r.Schema}, {"version", r.Version}, {"inputs", orEmpty(r.Inputs)}}
	if r.Sheet != nil && r.Cabinet == nil {
		o.Add("spec", jsonout.Object{{"path", r.Sheet.Path}, {"sha256", r.Sheet.SHA256}, {"name", r.Sheet.Name}})
	}
	if r.Days != nil {
		return append(append(o, daysJSON(r.Days)...), jsonout.Object{{"warnings", orEmpty(r.Warnings)}}...)
	}
	o.Add("bench", r.Bench)
	if r.Lot != nil {
		return append(append(o, lotJSON(r.Lot, r.process)...), jsonout.Object{{"next", orEmpty(r.Next)}, {"warnings", orEmpty(r.Warnings)}}...)
	}
	if r.Repeat != nil {
		return append(append(o, repeatJSON(r)...), jsonout.Object{{"warnings", orEmpty(r.Warnings)}}...)
	}
	if r.Exchange != nil || r.Drawer != nil {
		return append(append(o, partsJSON(r)...), jsonout.Object{{"warnings", orEmpty(r.Warnings)}}...)
	}
	if r.Cabinet != nil {
		return append(append(o, cabinetJSON(r)...), jsonout.Object{{"warnings", orEmpty(r.Warnings)}}...)
	}
	var values jsonout.Object // of the only side
	if len(r.Sides) == 1 {
		values = parametersJSON(r.Sides[0].Parameters)
	}
	if r.Paired != nil {
		addSides(&o, r.Sides)
		o = append(o, pairJSON(r.Paired)...)
	} else if r.Compared != nil {
		addSides(&o, r.Sides)
		o.Add("changes", changesJSON(r.Compared.Changes))
	} else {
		s := r.Sides[0]
		o.Add("parameters", values)
		if len(r.Parts) == 1 {
			o = append(o, partJSON(r.Parts[0].Found)...)
		}
		if s.Fitted != nil {
			o.Add("model", modelJSON(s.Fitted.Model))
			o.Add("quality", qualityJSON(s.Fitted.Quality))
			if len(s.Fitted.Methods) > 0 {
				o.Add("methods", methodsJSON(s.Fitted.Methods))
			}
			if second := s.Fitted.Second; second != nil {
				o.Add("second_resonance", secondJSON(second))
			}
		}
		if t := s.Travel; t != nil {
			o.Add("travel", jsonout.Object{{"value", jsonout.Number(t.Peak)}, {"unit", "m"}, {"frequency_hz", jsonout.Number(t.Freq)}})
		}
	}
	if len(r.Sides) == 1 && r.Sides[0].Level.Value > 0 {
		o.Add("level", saved.Level(r.Sides[0].Level))
	}
	if len(r.Sides) == 1 && r.Sides[0].Friction != nil {
		o.Add("friction", saved.Friction(*r.Sides[0].Friction))
	}
	if len(r.Sides) == 1 && r.Sides[0].FreeLines != nil {
		line := func(l measured.FreeLine) jsonout.Object {
			return jsonout.Object{{"value", jsonout.Number(l.Share)}, {"noise", jsonout.Number(l.Floor)}}
		}
		o.Add("free_lines", jsonout.Object{{"even", line(r.Sides[0].FreeLines.Even)}, {"odd", line(r.Sides[0].FreeLines.Odd)}, {"unit", "1"}})
	}
	if len(r.Sides) == 1 && r.Sides[0].Trend != nil {
		o.Add("trend", saved.Trend(*r.Sides[0].Trend))
	}
	if r.Compared != nil || r.Checked != nil {
		o.Add("checks", checksJSON(r.Checked))
		if r.Judged {
			o.Add("verdict", r.Verdict.String())
		}
	}
	if r.Compared != nil {
		addCauses(&o, r.Compared)
	}
	if r.Compared != nil || r.Checked != nil || r.Next != nil {
		o.Add("next", orEmpty(r.Next))
	}
	if r.Lesson != nil {
		o.Add("lesson", lessonJSON(r.Lesson, r.Truth))
	}
	if r.Ring != nil {
		o.Add("ring", ringJSON(r.Ring))
	}
	o.Add("warnings", orEmpty(r.Warnings))
	if len(r.Sides) == 1 {
		joint := saved.Joint(r.Sides[0].Parameters)
		sum, err := saved.Checksum(marshalled(values), marshalled(joint))
		if err != nil {
			panic("report: " + err.Error()) // JSON of our own
		}
		o.Add("joint", joint)
		o.Add("checksum", sum)
	}
	return o
}

// marshalled is an object as JSON.
func marshalled(o jsonout.Object) json.RawMessage {
	data, err := o.MarshalJSON()
	if err != nil {
		panic("report: " + err.Error()) // texts and finite numbers only
	}
	return data
}

// addSides adds the parameters of each side under its name.
func addSides(o *jsonout.Object, sides []Side) {
	for _, s := range sides {
		o.Add(s.Label, parametersJSON(s.Parameters))
		if s.Friction != nil {
			o.Add(s.Label+"_friction", saved.Friction(*s.Friction))
		}
	}
}

func changesJSON(changes []change.Change) jsonout.Object {
	o := jsonout.Object{}
	for _, c := range changes {
		change := jsonout.Object{{"ratio", jsonout.Number(c.Ratio)}, {"low", jsonout.Number(c.Low)}, {"high", jsonout.Number(c.High)}}
		change.Add("sweeps_alone", jsonout.Object{{"ratio", jsonout.Number(c.Sweeps.Ratio)}, {"low", jsonout.Number(c.Sweeps.Low)}, {"high", jsonout.Number(c.Sweeps.High)}})
		if c.How != "" {
			change.Add("how", c.How)
		}
		o.Add(c.ID.String(), change)
	}
	return o
}

func parametersJSON(p param.Parameters) jsonout.Object {
	o := jsonout.Object{}
	alone := p.Alone()
	for i, e := range p.All() {
		one, _ := alone.Get(e.ID)
		o.Add(e.ID.String(), jsonout.Object{
			{"value", jsonout.Number(e.Value)}, {"unit", e.ID.Info().Unit}, {"std", jsonout.Number(e.Std)},
			{"low", jsonout.Number(e.Low)}, {"high", jsonout.Number(e.High)}, {"origin", e.Origin.String()},
			{"budget", jsonout.Object{{"noise", jsonout.Number(e.Budget.Noise)}, {"model", jsonout.Number(e.Budget.Model)},
				{"bench", jsonout.Number(e.Budget.Bench)}, {"repeat", jsonout.Number(e.Budget.Repeat)}}},
			{"repeat_assumed", p.Assumed(i)},
			{"sweeps_alone", jsonout.Object{{"std", jsonout.Number(one.Std)}, {"low", jsonout.Number(one.Low)}, {"high", jsonout.Number(one.High)}}},
		})
	}
	return o
}

func modelJSON(m fitted.ModelChoice) jsonout.Object {
	alternatives := []jsonout.Object{}
	for _, a := range m.Alternatives {
		alternatives = append(alternatives, jsonout.Object{{"coil", a.Coil}, {"creep", a.Creep}, {"weight", jsonout.Number(a.Weight)}, {"chi2", jsonout.Number(a.Chi2)}})
	}
	return jsonout.Object{{"coil", m.Coil}, {"creep", m.Creep}, {"alternatives", alternatives}}
}

func qualityJSON(q fitted.Quality) jsonout.Object {
	return jsonout.Object{{"residual_rms_percent", jsonout.Number(q.ResidualRMSPercent)}, {"white", q.White},
		{"band_hz", []jsonout.Number{jsonout.Number(q.BandHz[0]), jsonout.Number(q.BandHz[1])}}, {"points", q.Points},
		{"outliers", q.Outliers}, {"chi2", jsonout.Number(q.Chi2)}, {"degrees_of_freedom", q.DoF}}
}

func secondJSON(s *fitted.Second) jsonout.Object {
	return jsonout.Object{{"frequency_hz", jsonout.Number(s.Frequency)}, {"q", jsonout.Number(s.Q)}, {"mass_share", jsonout.Number(s.MassShare)},
		{"relative_std", []jsonout.Number{jsonout.Number(s.Std[0]), jsonout.Number(s.Std[1]), jsonout.Number(s.Std[2])}}}
}

func methodsJSON(methods []fitted.MassMethod) []jsonout.Object {
	list := []jsonout.Object{}
	for _, m := range methods {
		list = append(list, jsonout.Object{{"method", m.Name}, {"parameter", "Mms"}, {"value", jsonout.Number(m.Value)}, {"unit", "kg"}, {"std", jsonout.Number(m.Std)}})
	}
	return list
}

func checksJSON(c *verdict.Checked) []jsonout.Object {
	list := []jsonout.Object{}
	if c == nil {
		return list
	}
	for _, j := range c.Checks {
		o := jsonout.Object{{"parameter", j.Limit.ID.String()}}
		if !math.IsInf(j.Limit.Lo, 0) {
			o.Add("lower", jsonout.Number(j.Limit.Lo))
		}
		if !math.IsInf(j.Limit.Hi, 0) {
			o.Add("upper", jsonout.Number(j.Limit.Hi))
		}
		o.Add("unit", j.Limit.ID.Info().Unit)
		if j.Known {
			o.Add("value", jsonout.Number(j.Estimate.Value))
			o.Add("std", jsonout.Number(j.Estimate.Std))
			o.Add("probability_in", jsonout.Number(j.ProbabilityIn))
		}
		o.Add("verdict", j.Verdict.String())
		if reason := wording.Missing(c, j); reason != "" {
			o.Add("reason", reason)
		}
		if j.ByMeter != nil {
			o.Add("value_by_meter", jsonout.Number(j.ByMeter.Value))
		}
		list = append(list, o)
	}
	return list
}

// addCauses adds what explains a change, and how well.
func addCauses(o *jsonout.Object, c *change.Compared) {
	causes := []jsonout.Object{}
	for _, x := range c.Causes {
		causes = append(causes, jsonout.Object{{"cause", x.ID}, {"percent", jsonout.Number(x.Percent)}, {"low", jsonout.Number(x.Low)}, {"high", jsonout.Number(x.High)},
			{"probability", jsonout.Number(x.Probability)}, {"explanation", x.Explanation}})
	}
	explanations := []jsonout.Object{}
	for _, e := range c.Explanations {
		explanations = append(explanations, jsonout.Object{{"probability", jsonout.Number(e.Probability)}, {"chi2", jsonout.Number(e.Chi2)},
			{"degrees_of_freedom", e.DoF}, {"p_value", jsonout.Number(e.P)}})
	}
	o.Add("causes", causes)
	o.Add("explanations", explanations)
	o.Add("unexplained", c.Unexplained)
	o.Add("unchanged_motor", jsonout.Object{{"p_value", jsonout.Number(c.Null.P)}, {"doubt", c.Null.Rejected()}})
	if s := c.Split; s != nil {
		part := func(p change.StiffnessPart) jsonout.Object {
			po := jsonout.Object{{"share", jsonout.Number(p.Share)}, {"low", jsonout.Number(p.Low)}, {"high", jsonout.Number(p.High)}}
			if p.Absolute != 0 {
				po.Add("value", jsonout.Number(p.Absolute))
				po.Add("std", jsonout.Number(p.AbsoluteStd))
				po.Add("unit", "N/m")
			}
			return po
		}
		o.Add("stiffness", jsonout.Object{{"spider", part(s.Spider)}, {"old_surround", part(s.OldSurround)}, {"new_surround", part(s.NewSurround)},
			{"new_to_old", jsonout.Object{{"ratio", jsonout.Number(s.NewToOld.Ratio)}, {"low", jsonout.Number(s.NewToOld.Low)}, {"high", jsonout.Number(s.NewToOld.High)}}}})
	}
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
