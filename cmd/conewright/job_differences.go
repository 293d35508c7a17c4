package main

import (
	"encoding/json"
	"math"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/report"
	"conewright/ts/param"
)

// rowsOf are the lines of what came out differently at a stage.
type rowsOf struct {
	at   book.Ref
	rows []report.Row
}

func (r *rowsOf) add(name, before, after, unit string) {
	r.rows = append(r.rows, report.Row{Cells: []string{r.at.String(), name, before, after, unit}})
}

// words adds words that are not the same.
func (r *rowsOf) words(name, before, after string) {
	if before != after {
		r.add(name, before, after, "")
	}
}

// values adds the values that are not the same to more than a hundredth of their uncertainty.
func (r *rowsOf) values(of string, ids []param.ID, was, is map[param.ID]book.Value) {
	for _, id := range ids {
		a, okA := was[id]
		b, okB := is[id]
		std, name := min(a.Std, b.Std), of+id.String()
		switch {
		case !okA && !okB || okA && okB && math.Abs(a.Value-b.Value) <= std/100:
			continue
		case !okA:
			r.add(name, "none", report.Number(id, b.Value, b.Std), report.Unit(id))
		case !okB:
			r.add(name, report.Number(id, a.Value, a.Std), "none", report.Unit(id))
		default:
			fine := min(std, math.Abs(a.Value-b.Value)) // so that the two do not read the same
			r.add(name, report.Number(id, a.Value, fine), report.Number(id, b.Value, fine), report.Unit(id))
		}
	}
}

// byID are the values of a kept report.
func byID(bySymbol map[string]book.Value) map[param.ID]book.Value {
	values := map[param.ID]book.Value{}
	for symbol, v := range bySymbol {
		if id, ok := param.Parse(symbol); ok {
			values[id] = v
		}
	}
	return values
}

// differences lists what came out differently at a stage in free air or of parts.
func differences(at book.Ref, s book.Stage, anew book.Addition) ([]report.Row, error) {
	r := rowsOf{at: at}
	for i, is := range anew.Parts {
		was := s.Parts[i]
		before, err := report.ReadPart(was.Report)
		if err != nil {
			return nil, err
		}
		after, err := report.ReadPart(is.Report)
		if err != nil {
			return nil, err
		}
		of := was.Label() + ", "
		r.words(of+"kind", before.Kind, after.Kind)
		r.values(of, param.All(), byID(before.Parameters), byID(after.Parameters))
		r.words(of+"verdict", verdictWords(was.Verdict), verdictWords(is.Verdict))
	}
	was, is := s.Result, anew.Result
	if is == nil {
		return r.rows, nil
	}
	if was == nil {
		was = &book.Result{}
	}
	r.values("", book.Kept, was.Values, is.Values)
	r.words("verdict", verdictWords(was.Verdict), verdictWords(is.Verdict))
	return r.rows, nil
}

// boxDifferences lists what came out differently at a stage in the cabinet; was is nil where there was nothing.
func boxDifferences(at book.Ref, was, is *book.Cabinet) ([]report.Row, error) {
	if was == nil {
		was = &book.Cabinet{Report: []byte("{}")}
	}
	var before, after keptBox
	if err := json.Unmarshal(was.Report, &before); err != nil {
		return nil, err
	}
	if err := json.Unmarshal(is.Report, &after); err != nil {
		return nil, err
	}
	r := rowsOf{at: at}
	r.words("box", before.last().Kind, after.last().Kind)
	r.values("", param.All(), byID(before.last().Parameters), byID(after.last().Parameters))
	r.words("found", before.last().found(before), after.last().found(after))
	r.words("driver as at", was.Free, is.Free)
	r.words("verdict", verdictWords(was.Verdict), verdictWords(is.Verdict))
	return r.rows, nil
}
