package study

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func random(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 20261127)) }

// threeLevels is a design of sessions, clampings and sweeps: plan[s][c] sweeps.
func threeLevels(t *testing.T, plan [][]int) *Design {
	t.Helper()
	var places []Place
	for s, clampings := range plan {
		for c, n := range clampings {
			for range n {
				places = append(places, Place{"", []string{fmt.Sprint(s), fmt.Sprint(c)}})
			}
		}
	}
	return design(t, []string{"session", "clamping", "again"}, places)
}

// even is a plan of equal numbers.
func even(sessions, clampings, sweeps int) [][]int {
	var out [][]int
	for range sessions {
		var s []int
		for range clampings {
			s = append(s, sweeps)
		}
		out = append(out, s)
	}
	return out
}

// drawn are values with the errors that made them.
type drawn struct {
	values []float64
	errors [][]float64 // of the groups of each level
}

func draw(d *Design, v []float64, r *rand.Rand) drawn {
	out := drawn{values: make([]float64, len(d.cell)), errors: make([][]float64, len(d.group))}
	for k := range d.group {
		out.errors[k] = make([]float64, d.group[k].n)
		for g := range out.errors[k] {
			out.errors[k][g] = r.NormFloat64() * math.Sqrt(v[k])
		}
	}
	for i, c := range d.cell {
		out.values[i] = r.NormFloat64() * math.Sqrt(v[len(v)-1])
		for k := range d.group {
			out.values[i] += out.errors[k][d.group[k].of[c]]
		}
	}
	return out
}

// tally counts how often intervals held what they were to hold.
type tally struct {
	what string
	held int
	of   int
}

func (c *tally) add(held bool) {
	c.of++
	if held {
		c.held++
	}
}

// within demands a share from lo to hi, give or take three standard errors of the
// simulation.
func (c *tally) within(t *testing.T, lo, hi float64) {
	t.Helper()
	share := float64(c.held) / float64(c.of)
	err := math.Sqrt(0.95 * 0.05 / float64(c.of))
	t.Logf("%-55s %.3f +- %.3f", c.what, share, err)
	if share < lo-3*err || share > hi+3*err {
		t.Errorf("%s: held in %.3f +- %.3f, want %.3f to %.3f", c.what, share, err, lo, hi)
	}
}

// draws is the number of simulated cases, fewer with -short.
func draws(n int) int {
	if testing.Short() {
		return n / 5
	}
	return n
}
