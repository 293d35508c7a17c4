package study

import (
	"fmt"
	"math"
	"testing"
)

// uneven are plans of sessions, clampings and sweeps.
var uneven = [][][]int{
	{{2, 3}, {1, 2, 3}, {2}},
	{{5, 5, 5}, {5, 1}, {2, 2}, {3, 3}},
	{{2, 2}, {1, 3}, {2, 2, 2}, {3}, {1, 1}, {4, 2}},
}

// mixtures are variances of session, clamping and sweep.
var mixtures = [][]float64{{1, 1, 1}, {0.1, 1, 1}, {1, 0.1, 1}, {4, 1, 0.2}, {0, 1, 0.1}}

// TestCoverageBalanced: intervals for balanced data hold what they promise.
func TestCoverageBalanced(t *testing.T) {
	for _, plan := range [][][]int{even(3, 2, 2), even(6, 2, 3)} {
		d := threeLevels(t, plan)
		for _, v := range mixtures[:4] {
			r := random(2)
			counts := counters(plan, v, "session", "clamping", "sweep", "total")
			for range draws(1000) {
				n := analyse(t, d, draw(d, v, r).values)
				for k := range v {
					counts[k].add(n.Interval(k, 0.95).Contains(v[k]))
				}
				counts[3].add(n.TotalInterval(0.95).Contains(v[0] + v[1] + v[2]))
			}
			for _, c := range counts[:3] {
				c.within(t, 0.945, 0.955)
			}
			counts[3].within(t, 0.95, 0.98)
		}
	}
}

// TestCoverageHarmonic: Thomas and Hultquist for unequal groups.
func TestCoverageHarmonic(t *testing.T) {
	sizes := []int{5, 2, 1, 4, 3, 7}
	var places []Place
	for g, n := range sizes {
		for range n {
			places = append(places, Place{"", []string{fmt.Sprint(g)}})
		}
	}
	d := design(t, []string{"group", "again"}, places)
	for _, v := range [][]float64{{1, 1}, {0.1, 1}, {4, 1}} {
		r := random(3)
		c := counters(sizes, v, "group")[0]
		for range draws(1000) {
			c.add(analyse(t, d, draw(d, v, r).values).Interval(0, 0.95).Contains(v[0]))
		}
		c.within(t, 0.95, 0.97)
	}
}

// TestCoverageProfile: uneven data, where nothing is exact. A variance that is small beside the
// others is held more often, as the lower limit is 0.
func TestCoverageProfile(t *testing.T) {
	for _, plan := range uneven {
		d := threeLevels(t, plan)
		for _, v := range mixtures[:4] {
			r := random(4)
			counts := counters(plan, v, "session", "clamping", "total")
			for range draws(500) {
				n := analyse(t, d, draw(d, v, r).values)
				for k := range 2 {
					counts[k].add(n.plausible(unit(3, k), float64(n.Components[k].Freedom), 0.95, v[k]))
				}
				counts[2].add(n.plausible(ones(3), n.Total().Dof, 0.95, v[0]+v[1]+v[2]))
			}
			for _, c := range counts {
				c.within(t, 0.945, 0.99)
			}
		}
	}
}

// TestProfileEndsWhereItIsPlausible: the interval is what plausible says.
func TestProfileEndsWhereItIsPlausible(t *testing.T) {
	n := analysed(t, "pastes-unbalanced")
	v := n.Interval(1, 0.95)
	for _, c := range []struct {
		value float64
		want  bool
	}{{v.Lo * 0.999, false}, {v.Lo * 1.001, true}, {v.Hi * 0.999, true}, {v.Hi * 1.001, false}} {
		if n.plausible(unit(3, 1), 18, 0.95, c.value) != c.want {
			t.Errorf("interval %v, and %v is plausible: %v", v, c.value, !c.want)
		}
	}
}

// TestCoverageOfPredictions: means, readings to come and differences of sessions.
func TestCoverageOfPredictions(t *testing.T) {
	for _, plan := range append(uneven, even(3, 2, 2), even(6, 2, 3)) {
		d := threeLevels(t, plan)
		for _, v := range mixtures {
			r := random(5)
			names := []string{"mean", "all new", "new clamping", "same clamping", "difference of sessions", "difference in a session"}
			counts := counters(plan, v, names...)
			// error returns an error of a level, or what is left of it in a mean of m.
			err := func(k, m int) float64 { return r.NormFloat64() * math.Sqrt(v[k]/float64(m)) }
			for range draws(400) {
				x := draw(d, v, r)
				n := analyse(t, d, x.values)
				check := func(i int, s Spread, missed float64) { counts[i].add(math.Abs(missed) <= s.HalfWidth(0.95)) }
				mean, s, _ := n.Mean("")
				check(0, s, mean)
				new, s, _ := n.Predict("")
				check(1, s, new-err(0, 1)-err(1, 1)-err(2, 1))
				known := x.errors[0][0]
				clamped, s, _ := n.Predict("", "0")
				check(2, s, clamped-known-err(1, 1)-err(2, 1))
				again, s, _ := n.Predict("", "0", "0")
				check(3, s, again-known-x.errors[1][0]-err(2, 1))
				counted := []int{1, 2, 4}
				within := err(1, 2) + err(2, 4) - err(1, 2) - err(2, 4)
				check(4, n.Difference(counted, counted, 0), err(0, 1)-err(0, 1)+within)
				check(5, n.Difference(counted, counted, 1), within)
			}
			for _, c := range counts {
				c.within(t, 0.935, 1)
			}
		}
	}
}

// TestCoverageWithPriors: with variances that are drawn from the priors, on few degrees
// of freedom each, from one reading alone to twenty.
func TestCoverageWithPriors(t *testing.T) {
	r := random(6)
	priors := []Spread{{1, 4}, {0.5, 4}, {0.04, 4}}
	for _, plan := range [][][]int{{{1}}, {{3}}, {{2, 2}}, even(3, 1, 2), uneven[0], even(5, 2, 2)} {
		d := threeLevels(t, plan)
		counts := counters(plan, nil, "session", "clamping", "sweep", "difference of sessions", "difference from table", "difference in a session")
		for range draws(1000) {
			v := make([]float64, 3)
			for k, p := range priors {
				var chi2 float64
				for range int(p.Dof) {
					chi2 += sq(r.NormFloat64())
				}
				v[k] = p.Dof * p.Variance / chi2
			}
			n := analyse(t, d, draw(d, v, r).values, priors...)
			var table []Spread
			for k := range v {
				counts[k].add(n.Interval(k, 0.95).Contains(v[k]))
				table = append(table, n.Components[k].Spread)
			}
			counted := []int{1, 2, 4}
			inner := r.NormFloat64()*math.Sqrt(v[1]) + r.NormFloat64()*math.Sqrt(v[2]/2)
			outer := inner + r.NormFloat64()*math.Sqrt(2*v[0])
			counts[3].add(math.Abs(outer) <= n.Difference(counted, counted, 0).HalfWidth(0.95))
			counts[4].add(math.Abs(outer) <= CombineJudged(DifferenceTerms(table, counted, counted, 0)...).HalfWidth(0.95))
			counts[5].add(math.Abs(inner) <= CombineJudged(DifferenceTerms(table, counted, counted, 1)...).HalfWidth(0.95))
		}
		for _, c := range counts[:3] {
			c.within(t, 0.93, 0.96) // a session that shows only together with clamping is the worst
		}
		for _, c := range counts[3:] {
			c.within(t, 0.94, 0.96)
		}
	}
}

// TestCoverageOfDifference: the second check of the difference of sessions, held by 0.949 of
// 200 000 cases in a simulation outside this program.
func TestCoverageOfDifference(t *testing.T) {
	r := random(7)
	truth := []Spread{{0.25, 6}, {0.16, 10}, {0.04, 60}}
	counted := []int{1, 2, 6}
	c := counters(nil, nil, "difference")[0]
	v := Combine(DifferenceTerms(truth, counted, counted, 0)...).Variance
	for range draws(4000) {
		estimate := make([]Spread, 3)
		for k, s := range truth {
			var chi2 float64
			for range int(s.Dof) {
				chi2 += sq(r.NormFloat64())
			}
			estimate[k] = Spread{s.Variance * chi2 / s.Dof, s.Dof}
		}
		c.add(math.Abs(r.NormFloat64()*math.Sqrt(v)) <= Combine(DifferenceTerms(estimate, counted, counted, 0)...).HalfWidth(0.95))
	}
	c.within(t, 0.949, 0.949)
}

func counters(plan any, v []float64, names ...string) []*tally {
	var out []*tally
	for _, name := range names {
		out = append(out, &tally{what: fmt.Sprintf("%s %v %v", name, plan, v)})
	}
	return out
}
