package process

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"conewright/ts/notice"
)

// load reads a table of testdata/study: values in groups of five, or in one.
func load(t *testing.T, name string) (groups [][]float64) {
	t.Helper()
	f, err := os.Open("../../testdata/study/" + name + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	before := "none"
	for _, row := range rows[1:] {
		v, err := strconv.ParseFloat(row[len(row)-1], 64)
		if err != nil {
			t.Fatal(err)
		}
		group := ""
		if len(row) > 1 {
			group = row[0]
		}
		if group != before {
			groups, before = append(groups, nil), group
		}
		last := &groups[len(groups)-1]
		*last = append(*last, v)
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
