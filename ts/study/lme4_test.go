package study

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"testing"
)

// TestLme4 compares with testdata/study/lme4.txt, which lme4 printed. It finds the greatest likelihood
// by comparing values, so that its variances have half the digits of the likelihood and differ in
// the sixth from one optimiser to another; its likelihood is never greater than the one here.
func TestLme4(t *testing.T) {
	f, err := os.Open("../../testdata/study/lme4.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	compareWithLme4(t, f)
}

func compareWithLme4(t *testing.T, printed io.Reader) {
	fits, scale := map[string]*Nested{}, map[string]float64{}
	fit := func(name string) *Nested {
		if n, ok := fits[name]; ok {
			return n
		}
		var n *Nested
		switch response, bench := strings.CutPrefix(name, "bench-"); {
		case !bench:
			n = analysed(t, name)
		case response == "own-fs":
			levels, places, values := load(t, "bench")
			for i, p := range places {
				places[i].Groups = []string{p.Driver + p.Groups[0] + p.Groups[1], p.Groups[2]}
			}
			n = analyse(t, design(t, levels[1:], places), values["fs"])
		default:
			levels, places, values := load(t, "bench")
			values["both"] = make([]float64, len(places))
			for i := range places {
				values["both"][i] = values["fs"][i] + values["qms"][i]
			}
			n = analyse(t, design(t, levels, places), values[response])
		}
		fits[name], scale[name] = n, n.Total().Variance
		return n
	}
	level := map[string]string{"Residual": "again", "batch:cask": "cask", "day:run": "run", "run:zone": "zone",
		"operator:session": "session", "operator:session:clamping": "clamping",
		"driver:operator:session": "session", "driver:operator:session:clamping": "clamping"}
	count := 0
	for lines := bufio.NewScanner(printed); lines.Scan(); count++ {
		w := strings.Fields(lines.Text())
		n := fit(w[0])
		number := func(i int) float64 {
			v, err := strconv.ParseFloat(w[i], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		switch w[1] {
		case "reml":
			near(t, w[0]+" -2 ln L", n.Fit, number(2), 1e-9)
			if n.Fit > number(2)+1e-8 {
				t.Errorf("%s: got %.9f, less likely", lines.Text(), n.Fit)
			}
		case "variance":
			name, ok := level[w[2]]
			if !ok {
				name = w[2]
			}
			found := false
			for _, c := range n.Components {
				if c.Level == name {
					found = true
					if d := c.Variance - number(3); !(d < 3e-5*scale[w[0]] && d > -3e-5*scale[w[0]]) {
						t.Errorf("%s: %v, got %v", lines.Text(), number(3), c.Variance)
					}
				}
			}
			if !found {
				t.Fatalf("no level for %q", lines.Text())
			}
		case "mean":
			m, s, err := n.Mean(strings.Trim(strings.TrimPrefix(w[2], "(Intercept)"), " "))
			if err != nil {
				t.Fatal(err)
			}
			near(t, fmt.Sprint(w[0], " mean ", w[2]), m, number(3), 1e-7)
			near(t, fmt.Sprint(w[0], " standard error ", w[2]), s.Std(), number(4), 2e-5)
		default:
			t.Fatalf("a line of no kind: %q", lines.Text())
		}
	}
	if count < 50 {
		t.Errorf("only %d lines", count)
	}
}
