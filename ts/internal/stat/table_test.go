package stat

import (
	"bufio"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// TestDistributions compares with testdata/study/distributions.txt, written by scipy.
func TestDistributions(t *testing.T) {
	f, err := os.Open("../../../testdata/study/distributions.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	compareWithScipy(t, f)
}

func compareWithScipy(t *testing.T, table io.Reader) {
	seen := map[string]int{}
	lines := bufio.NewScanner(table)
	for lines.Scan() {
		words := strings.Fields(lines.Text())
		var x []float64
		for _, w := range words[1:] {
			v, err := strconv.ParseFloat(w, 64)
			if err != nil {
				t.Fatal(err)
			}
			x = append(x, v)
		}
		check := func(got, want, relative, absolute float64) {
			if !(math.Abs(got-want) <= relative*math.Abs(want)+absolute) {
				t.Errorf("%s: got %v", lines.Text(), got)
			}
		}
		seen[words[0]]++
		switch words[0] {
		case "chi2":
			check(ChiSquare(x[0], x[1])*x[1], x[2], 1e-9, 0)
		case "f":
			check(Fisher(x[0], x[1], x[2]), x[3], 1e-9, 0)
		case "nct":
			check(NoncentralT{x[1], x[2]}.Cdf(x[0]), x[3], 0, 1e-10)
		case "range":
			d2, d3 := RangeOf(int(x[0]))
			check(d2, x[1], 1e-10, 0)
			check(d3, x[2], 1e-9, 0)
		}
	}
	for _, kind := range []string{"chi2", "f", "nct", "range"} {
		if seen[kind] < 5 {
			t.Errorf("only %d lines of %s", seen[kind], kind)
		}
	}
}
