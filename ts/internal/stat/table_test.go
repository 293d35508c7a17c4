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
		case "t":
			check(Dist{x[1]}.Quantile(x[0]), x[2], 1e-9, 1e-12)
		case "nct":
			check(NoncentralT{x[1], x[2]}.Cdf(x[0]), x[3], 0, 1e-10)
		case "range":
			d2, d3 := RangeOf(int(x[0]))
			check(d2, x[1], 1e-10, 0)
			check(d3, x[2], 1e-9, 0)
		}
	}
	for _, kind := range []string{"chi2", "f", "t", "nct", "range"} {
		if seen[kind] < 5 {
			t.Errorf("only %d lines of %s", seen[kind], kind)
		}
	}
}

// TestSumLimits: against the formula with its own quantiles written out, chi2 of 5 and 24 degrees of freedom
// at 2.5 and 97.5 % from printed tables.
func TestSumLimits(t *testing.T) {
	g1, h1 := 1-5/12.832502, 5/0.831212-1
	g2, h2 := 1-24/39.364077, 24/12.401150-1
	squares := []MeanSquare{{10, 5}, {4, 24}}
	for _, c := range []struct {
		weights []float64
		lo, hi  float64
	}{
		{[]float64{1, 0}, 10 - 10*g1, 10 + 10*h1},
		{[]float64{1, 2}, 18 - math.Hypot(10*g1, 8*g2), 18 + math.Hypot(10*h1, 8*h2)},
		{[]float64{1, -1}, 6 - math.Hypot(10*g1, 4*h2), 6 + math.Hypot(10*h1, 4*g2)},
	} {
		lo, hi := SumLimits(squares, c.weights, 0.025)
		if math.Abs(lo-c.lo) > 1e-4 || math.Abs(hi-c.hi) > 1e-4 {
			t.Errorf("weights %v: %v to %v, want %v to %v", c.weights, lo, hi, c.lo, c.hi)
		}
	}
	// A variance that is known exactly only shifts the limits of the other.
	lo, hi := DifferenceLimits(squares[0], MeanSquare{4, math.Inf(1)}, 0.025)
	if math.Abs(lo-(10-10*g1-4)) > 1e-4 || math.Abs(hi-(10+10*h1-4)) > 1e-4 {
		t.Errorf("known exactly: %v to %v", lo, hi)
	}
}
