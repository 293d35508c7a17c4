package report

import (
	"fmt"
	"math"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/gauge"
	"conewright/ts/param"
)

// A manifest that says of every unit which part was measured and by whom makes a lot a study of
// the gauge: each of its units is one trial.
const partColumn, operatorColumn = "part", "operator"

// trial is a unit as a trial of such a study.
type trial struct {
	part, operator string
	at             int // in names and values
}

// studied is what the study says of one quantity.
type studied struct {
	id     param.ID
	result *gauge.Crossed
	width  float64 // between the limits of the sheet, SI; 0: not both are there
}

// poolAbove is the usual probability above which the interaction counts as scatter of repeats.
const poolAbove = 0.25

// studies analyses the trials, for the quantities on the line of a unit.
func (l *Lot) studies() ([]studied, error) {
	if l.trials == nil {
		return nil, nil
	}
	var list []studied
	for _, id := range lineIDs(l.spec) {
		var trials []gauge.Trial
		for _, t := range l.trials {
			if v, _ := l.values[t.at].value(id); !math.IsNaN(v) {
				trials = append(trials, gauge.Trial{Part: t.part, Operator: t.operator, Value: v})
			}
		}
		if len(trials) == 0 {
			continue
		}
		result, err := gauge.Analyse(trials, poolAbove)
		if err != nil {
			return nil, err
		}
		s := studied{id: id, result: result}
		if l.spec != nil {
			if limit, ok := l.spec.Limit(id); ok && !math.IsInf(limit.Hi-limit.Lo, 0) {
				s.width = limit.Hi - limit.Lo
			}
		}
		list = append(list, s)
	}
	return list, nil
}

// addGauge adds the table of the study, or says why there is none.
func (r *Report) addGauge(l *Lot) {
	list, err := l.studies()
	if err != nil {
		why, hint := wording.Error(err)
		r.warn([]wording.Said{{Code: "no-gauge-study", Message: "there is no study of the gauge: " + why, Hint: hint}})
		return
	}
	t := Table{Title: "Study of the gauge", Columns: []Column{{"", Left}, {"repeatability", Point}, {"reproducibility", Point}, {"parts", Point}, {"", Left}, {"%GRR", Right}, {"of the limits", Right}, {"categories", Right}},
		Note: "Standard deviations of the same operator measuring again, of operators among one another, and of the parts. %GRR: of the scatter of all, it falls as the parts differ more; of the limits: six standard deviations of the gauge in percent of their width. Below 10 % is usually called good, above 30 % unfit, and five categories are wanted."}
	for _, s := range list {
		g := s.result
		of := func(x gauge.Share) float64 { return math.Sqrt(g.Variance(x)) }
		b := scaleFor(s.id, of(gauge.Total), of(gauge.GaugeRR)/10)
		within := ""
		if s.width > 0 {
			within = fmt.Sprintf("%.3g %%", g.Tolerance(gauge.GaugeRR, s.width))
		}
		t.Rows = append(t.Rows, Row{Cells: []string{s.id.String(), b.number(of(gauge.Repeatability)), b.number(of(gauge.Reproducibility)), b.number(of(gauge.PartToPart)), unitOf(s.id),
			fmt.Sprintf("%.3g %%", g.Study(gauge.GaugeRR)), within, fmt.Sprint(g.Categories())}})
	}
	r.Tables = append(r.Tables, t)
}

// studiesJSON is the study by quantity.
func studiesJSON(list []studied) jsonout.Object {
	all := jsonout.Object{}
	for _, s := range list {
		g := s.result
		variance := jsonout.Object{}
		for _, x := range []struct {
			name  string
			share gauge.Share
		}{{"repeatability", gauge.Repeatability}, {"reproducibility", gauge.Reproducibility}, {"gauge", gauge.GaugeRR}, {"parts", gauge.PartToPart}, {"total", gauge.Total}} {
			at := g.Interval(x.share, 0.95)
			variance.Add(x.name, jsonout.Object{{"value", jsonout.Number(g.Variance(x.share))}, {"low", jsonout.Number(at.Lo)}, {"high", jsonout.Number(at.Hi)}})
		}
		o := jsonout.Object{{"parts", g.Parts}, {"operators", g.Operators}, {"trials", g.Trials}, {"variance", variance},
			{"grr_percent", jsonout.Number(g.Study(gauge.GaugeRR))}, {"categories", g.Categories()}}
		if s.width > 0 {
			o.Add("percent_of_limits", jsonout.Number(g.Tolerance(gauge.GaugeRR, s.width)))
		}
		all.Add(s.id.String(), o)
	}
	return all
}
