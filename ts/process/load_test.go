package process

import (
	"errors"
	"math"
	"testing"

	"conewright/ts/handmade/tables"
	"conewright/ts/notice"
)

// load reads a table of testdata/study: values in groups of five, or in one.
func load(t *testing.T, name string) (groups [][]float64) {
	t.Helper()
	_, rows := tables.Read(t, "../../testdata/study/"+name+".csv")
	before := "none"
	for _, row := range rows {
		group := ""
		if len(row) > 1 {
			group = row[0]
		}
		if group != before {
			groups, before = append(groups, nil), group
		}
		last := &groups[len(groups)-1]
		*last = append(*last, tables.Number(t, row[len(row)-1]))
	}
	return groups
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: got %.12g, want %.12g", what, got, want)
	}
}

func printed(t *testing.T, what string, got, want float64, decimals int) {
	t.Helper()
	if !(math.Abs(got-want) <= 0.5000001*math.Pow(10, -float64(decimals))) {
		t.Errorf("%s: got %.12g, printed %.*f", what, got, decimals, want)
	}
}

// refused demands a notice with the code.
func refused(t *testing.T, what string, err error, code string) {
	t.Helper()
	var n *notice.Notice
	if !errors.As(err, &n) || n.Code != code {
		t.Errorf("%s: %v, want %s", what, err, code)
	}
}
