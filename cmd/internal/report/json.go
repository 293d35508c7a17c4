package report

import (
	"encoding/json"
	"io"
	"math"

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
	data, err := json.Marshal(r.json())
	if err != nil {
		return err
	}
	_, err = w.Write(append(spread(data), '\n'))
	return err
}

func (r *Report) json() object {
	o := object{{"schema", r.Schema}, {"version", r.Version}, {"inputs", inputsJSON(r.Inputs)}}
	if r.Sheet != nil {
		o.add("spec", object{{"path", r.Sheet.Path}, {"sha256", r.Sheet.SHA256}, {"name", r.Sheet.Name}})
	}
	bench := object{}
	for _, s := range r.Bench {
		bench.add(s.Name, s.Value)
	}
	o.add("bench", bench)
	if r.Lot != nil {
		return append(append(o, lotJSON(r.Lot)...), object{{"warnings", orEmpty(r.Warnings)}}...)
	}
	if r.Paired != nil {
		o.addSides(r.Sides)
		o = append(o, pairJSON(r.Paired)...)
	} else if r.Compared != nil {
		o.addSides(r.Sides)
		o.add("changes", changesJSON(r.Compared.Changes))
	} else {
		s := r.Sides[0]
		o.add("parameters", parametersJSON(s.Parameters))
		if s.Fitted != nil {
			o.add("model", modelJSON(s.Fitted.Model))
			o.add("quality", qualityJSON(s.Fitted.Quality))
			if len(s.Fitted.Methods) > 0 {
				o.add("methods", methodsJSON(s.Fitted.Methods))
			}
		}
		if t := s.Travel; t != nil {
			o.add("travel", object{{"value", number(t.Peak)}, {"unit", "m"}, {"frequency_hz", number(t.Freq)}})
		}
	}
	if r.Compared != nil || r.Checked != nil {
		o.add("checks", checksJSON(r.Checked))
		if r.Judged {
			o.add("verdict", r.Verdict.String())
		}
	}
	if r.Compared != nil {
		addCauses(&o, r.Compared)
	}
	if r.Compared != nil || r.Checked != nil {
		o.add("next", orEmpty(r.Next))
	}
	if r.Lesson != nil {
		o.add("lesson", lessonJSON(r.Lesson, r.Truth))
	}
	if r.Ring != nil {
		o.add("ring", ringJSON(r.Ring))
	}
	o.add("warnings", orEmpty(r.Warnings))
	if len(r.Sides) == 1 {
		o.add("joint", jointJSON(r.Sides[0].Parameters))
	}
	return o
}

// addSides adds the parameters of each side under its name.
func (o *object) addSides(sides []Side) {
	for _, s := range sides {
		o.add(s.Label, parametersJSON(s.Parameters))
	}
}

func changesJSON(changes []change.Change) object {
	o := object{}
	for _, c := range changes {
		change := object{{"ratio", number(c.Ratio)}, {"low", number(c.Low)}, {"high", number(c.High)}}
		if c.How != "" {
			change.add("how", c.How)
		}
		o.add(c.ID.String(), change)
	}
	return o
}

func inputsJSON(inputs []Input) []object {
	list := []object{}
	for _, in := range inputs {
		o := object{{"path", in.Path}, {"sha256", in.SHA256}}
		if in.Side != "" {
			o.add("side", in.Side)
		}
		if in.Saved {
			o.add("saved_fit", true)
			list = append(list, o)
			continue
		}
		o.add("load", in.Load.Kind.String())
		switch in.Load.Kind {
		case measured.AddedMass:
			o.add("load_value", number(in.Load.Value))
			o.add("load_unit", "kg")
		case measured.KnownBox:
			o.add("load_value", number(in.Load.Value))
			o.add("load_unit", "m^3")
		}
		list = append(list, o)
	}
	return list
}

func parametersJSON(p param.Parameters) object {
	o := object{}
	for _, e := range p.All() {
		o.add(e.ID.String(), object{
			{"value", number(e.Value)}, {"unit", e.ID.Info().Unit}, {"std", number(e.Std)},
			{"low", number(e.Low)}, {"high", number(e.High)}, {"origin", e.Origin.String()},
			{"budget", object{{"noise", number(e.Budget.Noise)}, {"model", number(e.Budget.Model)},
				{"bench", number(e.Budget.Bench)}, {"repeat", number(e.Budget.Repeat)}}},
		})
	}
	return o
}

func modelJSON(m fitted.ModelChoice) object {
	alternatives := []object{}
	for _, a := range m.Alternatives {
		alternatives = append(alternatives, object{{"coil", a.Coil}, {"creep", a.Creep}, {"weight", number(a.Weight)}, {"chi2", number(a.Chi2)}})
	}
	return object{{"coil", m.Coil}, {"creep", m.Creep}, {"alternatives", alternatives}}
}

func qualityJSON(q fitted.Quality) object {
	return object{{"residual_rms_percent", number(q.ResidualRMSPercent)}, {"white", q.White},
		{"band_hz", []number{number(q.BandHz[0]), number(q.BandHz[1])}}, {"points", q.Points},
		{"outliers", q.Outliers}, {"chi2", number(q.Chi2)}, {"degrees_of_freedom", q.DoF}}
}

func methodsJSON(methods []fitted.MassMethod) []object {
	list := []object{}
	for _, m := range methods {
		list = append(list, object{{"method", m.Name}, {"parameter", "Mms"}, {"value", number(m.Value)}, {"unit", "kg"}, {"std", number(m.Std)}})
	}
	return list
}

func checksJSON(c *verdict.Checked) []object {
	list := []object{}
	if c == nil {
		return list
	}
	for _, j := range c.Checks {
		o := object{{"parameter", j.Limit.ID.String()}}
		if !math.IsInf(j.Limit.Lo, 0) {
			o.add("lower", number(j.Limit.Lo))
		}
		if !math.IsInf(j.Limit.Hi, 0) {
			o.add("upper", number(j.Limit.Hi))
		}
		o.add("unit", j.Limit.ID.Info().Unit)
		if j.Known {
			o.add("value", number(j.Estimate.Value))
			o.add("std", number(j.Estimate.Std))
			o.add("probability_in", number(j.ProbabilityIn))
		}
		o.add("verdict", j.Verdict.String())
		if reason := wording.Missing(c, j); reason != "" {
			o.add("reason", reason)
		}
		list = append(list, o)
	}
	return list
}

// addCauses adds what explains a change, and how well.
func addCauses(o *object, c *change.Compared) {
	causes := []object{}
	for _, x := range c.Causes {
		causes = append(causes, object{{"cause", x.ID}, {"percent", number(x.Percent)}, {"low", number(x.Low)}, {"high", number(x.High)},
			{"probability", number(x.Probability)}, {"explanation", x.Explanation}})
	}
	explanations := []object{}
	for _, e := range c.Explanations {
		explanations = append(explanations, object{{"probability", number(e.Probability)}, {"chi2", number(e.Chi2)},
			{"degrees_of_freedom", e.DoF}, {"p_value", number(e.P)}})
	}
	o.add("causes", causes)
	o.add("explanations", explanations)
	o.add("unexplained", c.Unexplained)
	o.add("unchanged_motor", object{{"p_value", number(c.Null.P)}, {"doubt", c.Null.Doubt()}})
	if s := c.Split; s != nil {
		part := func(p change.StiffnessPart) object {
			po := object{{"share", number(p.Share)}, {"low", number(p.Low)}, {"high", number(p.High)}}
			if p.Absolute != 0 {
				po.add("value", number(p.Absolute))
				po.add("std", number(p.AbsoluteStd))
				po.add("unit", "N/m")
			}
			return po
		}
		o.add("stiffness", object{{"spider", part(s.Spider)}, {"old_surround", part(s.OldSurround)}, {"new_surround", part(s.NewSurround)},
			{"new_to_old", object{{"ratio", number(s.NewToOld.Ratio)}, {"low", number(s.NewToOld.Low)}, {"high", number(s.NewToOld.High)}}}})
	}
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
