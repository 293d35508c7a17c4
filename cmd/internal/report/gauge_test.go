package report

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/saved"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// helicopters are flight times of three prototypes, three operators, three trials each.
//
// Source: data set and printed results of the R package SixSigma (ss.data.rr, ss.rr): %GRR 50.38,
// repeatability 49.71, reproducibility 8.16 (all in % of the total), 80.69 % of the tolerance 0.7 to 1.8,
// 2 categories.
var helicopters = map[string][]float64{
	"op1": {1.27, .90, 1.09, 1.12, 1.09, 1.15, 1.73, 1.28, 1.77},
	"op2": {1.34, 1.32, 1.27, 1.24, 1.00, 1.14, 1.64, 1.65, 1.77},
	"op3": {1.09, 1.26, 1.09, 1.48, 1.15, 1.15, 1.64, 1.44, 1.68},
}

// studyOf is a lot whose units are these times, as resonances twenty times as high.
func studyOf(t *testing.T, leaveOut int) *Lot {
	t.Helper()
	l, err := NewLot(&verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 20 * 0.7, Hi: 20 * 1.8}}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, op := range []string{"op1", "op2", "op3"} {
		for i, v := range helicopters[op][:9-leaveOut] {
			p := param.Parameters{IDs: []param.ID{param.Fs}, Scaled: []float64{math.Log(20 * v)}, Origin: []param.Origin{param.FromFit}, Coverage: 1.96}
			l.Add(&batch.Unit{Name: fmt.Sprint(op, i), Parameters: p, About: saved.Settings{{Name: "part", Value: fmt.Sprint("p", i/3)}, {Name: "operator", Value: op}}})
		}
		leaveOut = 0
	}
	return l
}

func TestStudyOfTheGauge(t *testing.T) {
	l := studyOf(t, 0)
	r := Batch(Job{}, nil, l)
	var table Table
	for _, found := range r.Tables {
		if found.Title == "Study of the gauge" {
			table = found
		}
	}
	if len(table.Rows) != 1 {
		t.Fatalf("%+v", table)
	}
	if got := strings.Join(table.Rows[0].Cells[5:], " "); got != "50.4 % 80.7 % 2" {
		t.Errorf("%s", got)
	}
	list, err := l.studies()
	if err != nil || math.Abs(list[0].result.Study(0)-49.71) > 0.005 {
		t.Errorf("repeatability %v, %v", list, err)
	}
}

// A study in which trials are missing is no crossed study, and the lot says so.
func TestStudyWithAGap(t *testing.T) {
	r := Batch(Job{}, nil, studyOf(t, 1))
	if len(r.Warnings) == 0 || r.Warnings[0].Code != "no-gauge-study" {
		t.Errorf("%+v", r.Warnings)
	}
}
