package gauge

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/handmade/tables"
	"conewright/ts/notice"
)

// load reads a table of testdata/study: part, operator, value.
func load(t *testing.T, name string) []Trial {
	t.Helper()
	_, rows := tables.Read(t, "../../testdata/study/"+name+".csv")
	var out []Trial
	for _, row := range rows {
		out = append(out, Trial{row[0], row[1], tables.Number(t, row[2])})
	}
	return out
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

// TestTenParts: data and printed results of cjbrant/mfgQC (docs/reference/gage-rr.md), a published set of
// ten parts, three operators and three trials; %tolerance and p quoted in public test files; twelve-digit
// values recomputed for this project with numpy.
func TestTenParts(t *testing.T) {
	trials := load(t, "gauge")
	g, err := Analyse(trials, 0.25)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "SS part", g.Part.SumOfSquares, 88.361934444, 1e-10)
	near(t, "SS operator", g.Operator.SumOfSquares, 3.167262222, 1e-9)
	near(t, "SS interaction", g.Interaction.SumOfSquares, 0.358982222, 1e-8)
	near(t, "SS error", g.Repeat.SumOfSquares, 2.758933333, 1e-9)
	near(t, "F of interaction", g.Interaction.F, 0.433721030, 1e-8)
	near(t, "p of interaction", g.Interaction.P, 0.974106404, 1e-9)
	if !g.Pooled {
		t.Error("an interaction with p = 0.97 stays in")
	}
	for share, want := range map[Share]float64{Repeatability: 0.039973276, Reproducibility: 0.051455261,
		PartToPart: 1.086446604, GaugeRR: 0.091428538, Total: 1.177875142} {
		near(t, "variance", g.Variance(share), want, 1e-8)
	}
	printed(t, "%GRR", g.Study(GaugeRR), 27.86, 2)
	printed(t, "% repeatability", g.Study(Repeatability), 18.42, 2)
	printed(t, "% reproducibility", g.Study(Reproducibility), 20.90, 2)
	printed(t, "% parts", g.Study(PartToPart), 96.04, 2)
	near(t, "%GRR", g.Study(GaugeRR), 27.860650881, 1e-9)
	printed(t, "% contribution", g.Contribution(GaugeRR), 7.76, 2)
	printed(t, "% tolerance of 8", g.Tolerance(GaugeRR, 8), 22.68, 2)
	printed(t, "% tolerance of 6", g.Tolerance(GaugeRR, 6), 30.24, 2)
	if n := g.Categories(); n != 4 {
		t.Errorf("%d categories, printed 4", n)
	}
	// Printed as standard deviations, 90 %.
	for share, want := range map[Share][2]float64{Repeatability: {0.176915, 0.230560}, Reproducibility: {0.127545, 1.013789},
		GaugeRR: {0.235108, 1.033372}, PartToPart: {0.758821, 1.717024}} {
		v := g.Interval(share, 0.90)
		near(t, "low", math.Sqrt(v.Lo), want[0], 3e-6)
		near(t, "high", math.Sqrt(v.Hi), want[1], 3e-6)
	}
	printed(t, "operators high", math.Sqrt(g.Interval(Reproducibility, 0.9).Hi), 1.014, 3)

	g, err = Analyse(trials, 1)
	if err != nil {
		t.Fatal(err)
	}
	if g.Pooled {
		t.Error("pooled although p is not above 1")
	}
	for share, want := range map[Share]float64{Repeatability: 0.045982222, InteractionAlone: 0, OperatorAlone: 0.052122922,
		PartToPart: 1.088672140, GaugeRR: 0.098105144} {
		if got := g.Variance(share); math.Abs(got-want) > 1e-9 {
			t.Errorf("share %d: got %v, want %v", share, got, want)
		}
	}
	near(t, "%GRR with interaction", g.Study(GaugeRR), 28.751551, 1e-7)
}

// TestHelicopters: emilopezcano/SixSigma (docs/reference/ss.rr.html), printed results of the model
// without interaction.
func TestHelicopters(t *testing.T) {
	trials := load(t, "helicopter")
	g, err := Analyse(trials, 0.05)
	if err != nil {
		t.Fatal(err)
	}
	printed(t, "SS part", g.Part.SumOfSquares, 1.200718519, 9)
	printed(t, "SS operator", g.Operator.SumOfSquares, 0.052940741, 9)
	printed(t, "SS interaction", g.Interaction.SumOfSquares, 0.083392593, 9)
	printed(t, "SS error", g.Repeat.SumOfSquares, 0.3854, 9)
	for share, want := range map[Share]float64{GaugeRR: 0.0218822671, Repeatability: 0.0213087542,
		Reproducibility: 0.0005735129, PartToPart: 0.0643389450, Total: 0.0862212121} {
		printed(t, "variance", g.Variance(share), want, 10)
	}
	for share, want := range map[Share]float64{GaugeRR: 50.38, Repeatability: 49.71, Reproducibility: 8.16, PartToPart: 86.38} {
		printed(t, "% study", g.Study(share), want, 2)
	}
	printed(t, "% tolerance", g.Tolerance(GaugeRR, 1.8-0.7), 80.69, 2)
	if n := g.Categories(); n != 2 {
		t.Errorf("%d categories, printed 2", n)
	}
}

// TestCoverage: intervals of shares, with an interaction and pooled without.
func TestCoverage(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 20261127))
	const parts, operators, repeats = 10, 3, 2
	cases := 2000
	if testing.Short() {
		cases = 200
	}
	for _, c := range []struct {
		interaction float64
		poolAbove   float64
	}{{0.3, 1}, {0, 0}} {
		v := map[Share]float64{Repeatability: 1, OperatorAlone: 0.5, InteractionAlone: c.interaction, PartToPart: 4}
		v[Reproducibility] = v[OperatorAlone] + v[InteractionAlone]
		v[GaugeRR] = v[Repeatability] + v[Reproducibility]
		v[Total] = v[GaugeRR] + v[PartToPart]
		held := map[Share]int{}
		for range cases {
			var trials []Trial
			var operator [operators]float64
			for o := range operator {
				operator[o] = r.NormFloat64() * math.Sqrt(v[OperatorAlone])
			}
			for p := range parts {
				part := r.NormFloat64() * math.Sqrt(v[PartToPart])
				for o := range operators {
					both := r.NormFloat64() * math.Sqrt(v[InteractionAlone])
					for range repeats {
						trials = append(trials, Trial{string(rune('a' + p)), string(rune('A' + o)), part + operator[o] + both + r.NormFloat64()})
					}
				}
			}
			g, err := Analyse(trials, c.poolAbove)
			if err != nil {
				t.Fatal(err)
			}
			for share := range v {
				if g.Interval(share, 0.95).Contains(v[share]) {
					held[share]++
				}
			}
		}
		for share := Repeatability; share <= Total; share++ {
			if share == InteractionAlone && c.interaction == 0 {
				continue
			}
			got, err := float64(held[share])/float64(cases), math.Sqrt(0.95*0.05/float64(cases))
			t.Logf("interaction %v, share %d: %.3f +- %.3f", c.interaction, share, got, err)
			if got < 0.945-3*err || got > 0.985+3*err {
				t.Errorf("interaction %v, share %d: held in %.3f", c.interaction, share, got)
			}
		}
	}
}

// TestRefuses: what is no crossed study is said.
func TestRefuses(t *testing.T) {
	full := func(parts, operators string, n int) (out []Trial) {
		for i, p := range parts {
			for j, o := range operators {
				for k := range n {
					out = append(out, Trial{string(p), string(o), float64(i + j*j + i*k)})
				}
			}
		}
		return out
	}
	with := func(trials []Trial, more ...Trial) []Trial { return append(trials, more...) }
	same := full("ab", "AB", 2)
	for i := range same {
		same[i].Value = 7.1
	}
	for _, c := range []struct {
		name   string
		trials []Trial
		want   string
	}{
		{"nothing", nil, "gauge-one"},
		{"one operator", full("abc", "A", 3), "gauge-one"},
		{"one part", full("a", "AB", 3), "gauge-one"},
		{"one trial each", full("abc", "AB", 1), "gauge-no-repeats"},
		{"one trial more", with(full("abc", "AB", 2), Trial{"a", "A", 1}), "gauge-unbalanced"},
		{"a cell missing", full("abc", "AB", 2)[2:], "gauge-unbalanced"},
		{"one more here, one less there", with(full("abc", "AB", 2)[1:], Trial{"c", "B", 1}), "gauge-unbalanced"},
		{"not a number", with(full("abc", "AB", 2), Trial{"a", "A", math.NaN()}), "study-not-finite"},
		{"all equal", same, "gauge-no-scatter"},
	} {
		g, err := Analyse(c.trials, 0.25)
		var n *notice.Notice
		if !errors.As(err, &n) || n.Code != c.want || g != nil {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
}
