package report

import (
	"fmt"
	"math"
	"slices"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/gauge"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/verdict"
)

// Repeat reports how a bench repeats; side is one of the drivers that were swept, savedIn the bench file
// that the result was written to, if it was.
func Repeat(job Job, side Side, found *repeat.Learned, spec *verdict.Spec, savedIn string) *Report {
	r := &Report{Schema: "conewright/repeat/1", Version: job.Version, Inputs: job.Inputs, Sheet: job.Spec, Bench: side.Bench, Repeat: found}
	r.Title = fmt.Sprintf("How this bench repeats, from %d sweeps", found.Readings)
	all := found.Bench.Within(repeat.Session)
	r.Body = append(r.Body, fmt.Sprintf("One sweep of a driver and another on another day differ with these standard deviations, each: Fs %s, Qms %s, Re %s.",
		wording.Percent(all.Std[0]), wording.Percent(all.Std[1]), wording.Percent(all.Std[2])))
	r.Tables = append(r.Tables, scatterTable(found))
	if spec != nil {
		r.Limits = limitShares(side.Parameters.Alone(), found.Bench, spec)
		r.Tables = append(r.Tables, shareTable(r.Limits))
	}
	ofOwn := slices.ContainsFunc(found.Bench[:], func(s repeat.Scatter) bool { return s.Known() && !s.Assumed })
	switch {
	case savedIn != "" && !ofOwn:
		r.Body = append(r.Body, "Nothing was written to "+savedIn+": no kind of repeat shows in three differences yet, and what is usual counts anyway. More repeats will replace it.")
	case savedIn != "":
		r.Body = append(r.Body, "Written to "+savedIn+": every command that is given this bench file counts with it.")
	case job.Inputs != nil:
		r.Body = append(r.Body, "Nothing was kept: with --save the bench file keeps it.")
	}
	r.warn(wording.Notices(found.Warnings))
	return r
}

// scatterTable lists the standard deviations by kind.
func scatterTable(found *repeat.Learned) Table {
	t := Table{Title: "Standard deviations by what lies between two sweeps", Columns: []Column{{"", Left}, {"Fs", Right}, {"95 % interval", Right}, {"Qms", Right}, {"Re", Right}, {"seen in", Right}, {"", Left}},
		Note: "Each kind adds to those above it. “Seen in” counts independent differences: from few of them a standard deviation is known poorly, and intervals are wide for that."}
	for _, k := range repeat.Kinds {
		s := found.Bench[k]
		if !s.Known() {
			continue
		}
		from := ""
		if s.Assumed {
			from = "assumed for a part"
			if found.Freedom[k] == 0 {
				from = "assumed"
			}
		}
		within := wording.Percent(found.Std[k][0].Lo) + " to " + wording.Percent(found.Std[k][0].Hi)
		if math.IsInf(found.Std[k][0].Hi, 1) {
			within = "above " + wording.Percent(found.Std[k][0].Lo)
		}
		t.Rows = append(t.Rows, Row{Cells: []string{k.String(), wording.Percent(s.Std[0]), within, wording.Percent(s.Std[1]), wording.Percent(s.Std[2]), fmt.Sprint(found.Freedom[k]), from}})
	}
	return t
}

// LimitShare is what share of a limit measuring takes.
type LimitShare struct {
	ID      param.ID
	Std     float64 // of one sweep on the scale, by repeats
	Percent float64 // of the width between the limits; infinite with one limit
}

// limitShares works out the share of each limit for a driver like p.
func limitShares(p param.Parameters, b repeat.Bench, spec *verdict.Spec) []LimitShare {
	with := b.Include(p, repeat.Again)
	var all []LimitShare
	for _, l := range spec.Limits {
		i := with.Index(l.ID)
		if i < 0 {
			continue
		}
		lo, hi := l.Scaled()
		std := math.Sqrt(repeat.Left(with, i, repeat.Again, 0))
		all = append(all, LimitShare{l.ID, std, gauge.OfLimits(std, hi-lo)})
	}
	return all
}

// shareTable lists them.
func shareTable(shares []LimitShare) Table {
	t := Table{Title: "What share of the limits one sweep takes", Columns: []Column{{"", Left}, {"standard deviation", Right}, {"six of them in the limits", Right}},
		Note: "Up to 10 % a measurement is good for its limit, above 30 % it decides too little: then repeat over several days."}
	for _, s := range shares {
		share := "one limit only"
		if s.Percent > 0 {
			share = fmt.Sprintf("%.0f %%", s.Percent)
		}
		t.Rows = append(t.Rows, Row{Cells: []string{s.ID.String(), wording.Percent(s.Std), share}})
	}
	return t
}

// repeatJSON is what a study adds to the JSON.
func repeatJSON(r *Report) jsonout.Object {
	kinds := jsonout.Object{}
	for _, k := range repeat.Kinds {
		s := r.Repeat.Bench[k]
		if !s.Known() {
			continue
		}
		o := jsonout.Object{}
		for i, id := range repeat.Quantities {
			o.Add(id.String(), jsonout.Object{{"std", jsonout.Number(s.Std[i])}, {"low", jsonout.Number(r.Repeat.Std[k][i].Lo)}, {"high", jsonout.Number(r.Repeat.Std[k][i].Hi)}})
		}
		o.Add("correlation", jsonout.Object{{"Fs-Qms", jsonout.Number(s.Correlation[0])}, {"Fs-Re", jsonout.Number(s.Correlation[1])}, {"Qms-Re", jsonout.Number(s.Correlation[2])}})
		o = append(o, jsonout.Object{{"degrees_of_freedom", jsonout.Number(s.Dof)}, {"differences", r.Repeat.Freedom[k]}, {"assumed", s.Assumed}}...)
		kinds.Add(k.String(), o)
	}
	limits := jsonout.Object{}
	for _, l := range r.Limits {
		limits.Add(l.ID.String(), jsonout.Object{{"std", jsonout.Number(l.Std)}, {"percent", jsonout.Number(l.Percent)}})
	}
	return jsonout.Object{{"readings", r.Repeat.Readings}, {"repeatability", kinds}, {"of_limits", limits}}
}

// repeatRows are the same for CSV.
func repeatRows(found *repeat.Learned) [][]string {
	rows := [][]string{{"kind", "parameter", "std", "low", "high", "degrees_of_freedom", "assumed"}}
	for _, k := range repeat.Kinds {
		s := found.Bench[k]
		for i, id := range repeat.Quantities {
			if s.Known() {
				rows = append(rows, []string{k.String(), id.String(), full(s.Std[i]), full(found.Std[k][i].Lo), full(found.Std[k][i].Hi), full(s.Dof), fmt.Sprint(s.Assumed)})
			}
		}
	}
	return rows
}
