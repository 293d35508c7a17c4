package study

import (
	"math"
	"testing"

	"conewright/ts/internal/stat"
)

// TestEndGauge: GUM H.1, inputs printed in cran/metRology (data/GUM.H.1.rda) and MSLNZ/GTC
// (docs/API/GUM_H1.rst), results recomputed. Contributions in nm; those of expansion and temperature
// are the length times 0.1 K 1e-6/K/sqrt 3 and times 11.5e-6/K 0.05 K/sqrt 3, printed 2.88679 and 16.599.
func TestEndGauge(t *testing.T) {
	zero := []Term{{"", 0, 3}, {"", 0, math.Inf(1)}, {"", 0, 0}}
	comparator := Combine(Term{"", 5.8, 24}, Term{"", 3.9, 5}, Term{"", 6.7, 8})
	near(t, "comparator", comparator.Std(), 9.681942, 1e-7)
	near(t, "comparator dof", comparator.Dof, 25.447251, 1e-7)
	s := Combine(append(zero, Term{"", 25, 18}, Term{"", 5.8, 24}, Term{"", 3.9, 5}, Term{"", 6.7, 8},
		Term{"", 50000623 * 0.1 * 1e-6 / math.Sqrt(3), 50}, Term{"", 50000623 * 11.5e-6 * 0.05 / math.Sqrt(3), 2})...)
	near(t, "u", s.Std(), 31.663879111, 1e-10)
	near(t, "dof", s.Dof, 16.751855738, 1e-10)
	near(t, "U95", s.HalfWidth(0.95), 66.880407, 1e-7)
	near(t, "U99", s.HalfWidth(0.99)/s.Std(), 2.903548, 1e-6)
	printed(t, "u", s.Std(), 32, 0)
	whole := Spread{s.Variance, 16}
	near(t, "U95 with whole dof", whole.HalfWidth(0.95), 67.124425, 1e-7)
	near(t, "U99 with whole dof", whole.HalfWidth(0.99), 92.483276, 1e-7)
}

// TestProducts: GUM G.4.1, and an example of metRology with printed inputs; results recomputed.
func TestProducts(t *testing.T) {
	s := Combine(Term{"", 0.25, 9}, Term{"", 0.57, 4}, Term{"", 0.82, 14})
	near(t, "u %", s.Std(), 1.029465881, 1e-9)
	near(t, "dof", s.Dof, 18.998742, 1e-7)
	near(t, "U95 with whole dof", Spread{s.Variance, 19}.HalfWidth(0.95), 2.154696852, 1e-8)

	s = Combine(Term{"", 1.1 * 0.030, 5}, Term{"", 2.3 * 0.015, 9999})
	near(t, "u", s.Std(), 0.047741491, 1e-7)
	near(t, "dof", s.Dof, 21.889650, 1e-7)
}

// TestSharedTerms: an error that enters twice is one error, so it is added with its
// sign before it is squared.
func TestSharedTerms(t *testing.T) {
	s := Combine(Term{"resistor", 3, 10}, Term{"resistor", -1, 8}, Term{"", 2, math.Inf(1)}, Term{"", 2, math.Inf(1)})
	near(t, "variance", s.Variance, 4+4+4, 1e-12)
	near(t, "dof", s.Dof, 144/(16./8), 1e-12)
	if s := Combine(Term{"mass", 3, 10}, Term{"mass", -3, 10}); s.Variance != 0 || !math.IsInf(s.Dof, 1) || s.HalfWidth(0.95) != 0 {
		t.Errorf("what cancels leaves %v", s)
	}
	if s := Combine(Term{"", 1, math.Inf(1)}, Term{"", 2, math.Inf(1)}); !math.IsInf(s.Dof, 1) || math.Abs(s.HalfWidth(0.95)-1.959963984540054*math.Sqrt(5)) > 1e-9 {
		t.Errorf("known exactly: %v", s)
	}
	if s := Combine(Term{"", 1, 5}, Term{"", 0.1, 0}); s.Dof != 0 || !math.IsInf(s.HalfWidth(0.95), 1) {
		t.Errorf("a term of which nothing is known leaves %v", s)
	}
	s = CombineJudged(Term{"", 2, 4}, Term{"", 2, 12}, Term{"", 0, 1})
	near(t, "judged", s.Dof, 8/(4/4.+4/12.), 1e-12)
	near(t, "judged variance", s.Variance, 8, 1e-12)
	if s := CombineJudged(Term{"", 1, math.Inf(1)}); !math.IsInf(s.Dof, 1) {
		t.Errorf("known exactly: %v", s)
	}
}

// TestDifferenceOfSessions: recomputed; the last case by simulation too, see the coverage tests.
func TestDifferenceOfSessions(t *testing.T) {
	// Two sessions of three sweeps, only sweeps scatter: two means with one variance.
	places := []Place{{Driver: "before"}, {Driver: "before"}, {Driver: "before"}, {Driver: "after"}, {Driver: "after"}, {Driver: "after"}}
	n := analyse(t, design(t, []string{"again"}, places), []float64{31.2, 31.9, 31.5, 32.6, 32.1, 32.9}, Spread{0.64, 4})
	near(t, "s^2", n.Components[0].Variance, 0.391666667, 1e-9)
	s := n.Difference([]int{3}, []int{3}, 0)
	near(t, "dof", s.Dof, 8, 1e-12)
	near(t, "t", s.HalfWidth(0.95)/s.Std(), 2.306004135, 1e-9)
	near(t, "half width", s.HalfWidth(0.95), 1.178345800, 1e-9)
	before, _, _ := n.Mean("before")
	after, _, _ := n.Mean("after")
	near(t, "difference", after-before, 1, 1e-12)
	near(t, "p", 2*stat.Dist{Dof: s.Dof}.Cdf(-1/s.Std()), 0.086058308, 1e-7)

	s = Combine(DifferenceTerms([]Spread{{0.25, 6}, {0.391666667, 8}}, []int{1, 3}, []int{1, 3}, 0)...)
	near(t, "V 1", s.Variance, 0.761111111, 1e-9)
	near(t, "dof 1", s.Dof, 11.542163, 1e-7)
	near(t, "half width 1", s.HalfWidth(0.95), 1.909229220, 1e-8)

	levels := []Spread{{0.25, 6}, {0.16, 10}, {0.04, 60}}
	s = Combine(DifferenceTerms(levels, []int{1, 2, 6}, []int{1, 2, 6}, 0)...)
	near(t, "V 2", s.Variance, 0.673333333, 1e-9)
	near(t, "dof 2", s.Dof, 10.250544297, 1e-9)
	near(t, "half width 2", s.HalfWidth(0.95), 1.822302083, 1e-8)

	s = Combine(DifferenceTerms(levels, []int{1, 2, 6}, []int{1, 2, 6}, 1)...)
	near(t, "V of one session", s.Variance, 0.173333333, 1e-8)
	near(t, "dof of one session", s.Dof, 11.722543353, 1e-9)
}

// TestDifferenceFromPriors: with one reading the priors are all that is known, and the analysis
// says what they say by themselves.
func TestDifferenceFromPriors(t *testing.T) {
	priors := []Spread{{1, 4}, {0.5, 6}, {0.04, 3}}
	n := analyse(t, threeLevels(t, [][]int{{1}}), []float64{17}, priors...)
	before, after := []int{1, 2, 6}, []int{1, 1, 3}
	for shared := range 3 {
		got, want := n.Difference(before, after, shared), CombineJudged(DifferenceTerms(priors, before, after, shared)...)
		near(t, "variance", got.Variance, want.Variance, 1e-9)
		near(t, "dof", got.Dof, want.Dof, 1e-9)
	}
	// 2.0 + 0.75 + 0.02 on 4, 6 and 3 degrees of freedom.
	s := n.Difference(before, after, 0)
	near(t, "variance by hand", s.Variance, 2.77, 1e-9)
	near(t, "dof by hand", s.Dof, 2.77/(2./4+0.75/6+0.02/3), 1e-9)
}
