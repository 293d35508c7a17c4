package lot

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/param"
)

// tryAll returns the smallest cost of all perfect matchings of n vertices, by
// trying them: every vertex against every other (with the results kept by the
// set of vertices that are left).
func tryAll(n int, cost func(i, j int) float64) float64 {
	best := make([]float64, 1<<n)
	for set := 1; set < 1<<n; set++ {
		best[set] = math.Inf(1)
		first := 0
		for set>>first&1 == 0 {
			first++
		}
		for j := first + 1; j < n; j++ {
			if set>>j&1 == 1 {
				best[set] = min(best[set], best[set&^(1<<first)&^(1<<j)]+cost(first, j))
			}
		}
	}
	return best[1<<n-1]
}

// The cheapest perfect matching against trying all of them: random costs, costs
// with many ties (which make blossoms), and distances on a line and in a plane.
func TestCheapestPairsAgainstTryingAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 8))
	for run := range 1500 {
		n := 2 * (1 + rng.IntN(7))
		cost := make([][]float64, n)
		x, y := make([]float64, n), make([]float64, n)
		for i := range n {
			cost[i] = make([]float64, n)
			x[i], y[i] = rng.NormFloat64(), rng.NormFloat64()
		}
		for i := range n {
			for j := range i {
				switch run % 4 {
				case 0:
					cost[i][j] = rng.Float64()
				case 1:
					cost[i][j] = float64(rng.IntN(3))
				case 2:
					cost[i][j] = math.Abs(x[i] - x[j])
				case 3:
					cost[i][j] = param.Sq(x[i]-x[j]) + param.Sq(y[i]-y[j])
				}
				cost[j][i] = cost[i][j]
			}
		}
		of := func(i, j int) float64 { return cost[i][j] }
		mate := cheapestPairs(n, of)
		sum := 0.0
		for i, j := range mate {
			if j < 0 || j >= n || mate[j] != i || i == j {
				t.Fatalf("run %d: not a perfect matching: %v", run, mate)
			}
			sum += cost[i][j] / 2
		}
		if want := tryAll(n, of); math.Abs(sum-want) > 1e-9*(1+want) {
			t.Fatalf("run %d, %d vertices: cost %v, the best is %v", run, n, sum, want)
		}
	}
}

// units draws n units of a production, in points for pairing.
func units(n int, rng *rand.Rand) *PairPoints {
	var sets []param.Parameters
	for range n {
		d := handmade.Woofer
		d.Cms *= math.Exp(0.08 * rng.NormFloat64())
		d.Mms *= math.Exp(0.03 * rng.NormFloat64())
		d.BL *= math.Exp(0.03 * rng.NormFloat64())
		d.Re *= math.Exp(0.02 * rng.NormFloat64())
		sets = append(sets, handmade.Known{Driver: d, Std: handmade.Std}.Parameters(nil))
	}
	return pointsOf(sets...)
}

// pointsOf returns the points of units that must be pairable.
func pointsOf(sets ...param.Parameters) *PairPoints {
	points, err := NewPairPoints(UsualPairLimits)
	for _, p := range sets {
		err = errors.Join(err, points.Add(p))
	}
	if err != nil {
		panic(err)
	}
	return points
}

func checkAssignment(t *testing.T, n int, a Assignment) {
	t.Helper()
	seen := make([]bool, n)
	for _, p := range a.Pairs {
		for _, i := range p {
			if seen[i] {
				t.Fatalf("unit %d is in two pairs", i)
			}
			seen[i] = true
		}
	}
	if (n%2 == 1) != (a.Left >= 0) || a.Left >= 0 && seen[a.Left] || len(a.Pairs) != n/2 {
		t.Fatalf("%d units: %d pairs, left %d", n, len(a.Pairs), a.Left)
	}
}

// An odd number leaves out the unit without which the rest pairs best.
func TestAssignLeavesTheRightOneOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	for range 20 {
		points := units(9, rng)
		a := Assign(points)
		checkAssignment(t, 9, a)
		best := math.Inf(1)
		for out := range points.Len() {
			rest := func(i int) int {
				if i >= out {
					return i + 1
				}
				return i
			}
			best = min(best, tryAll(8, func(i, j int) float64 { return param.Sq(points.Distance(rest(i), rest(j))) }))
		}
		if math.Abs(a.Cost-best) > 1e-9*(1+best) || !a.Exact {
			t.Errorf("cost %v, best %v", a.Cost, best)
		}
	}
	for n := range 3 {
		checkAssignment(t, n, Assign(units(n, rng)))
	}
}

// The local search for many units stays near the exact pairing.
func TestAssignManyUnits(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 10))
	points := units(240, rng)
	exact := Assign(points)
	pairs, left := pairByWindows(points)
	near := finish(points, pairs, left, false)
	checkAssignment(t, 240, near)
	if near.Cost < exact.Cost*(1-1e-9) {
		t.Fatalf("the exact pairing costs %v, the search found %v", exact.Cost, near.Cost)
	}
	t.Logf("240 units: search costs %.1f %% more", 100*(near.Cost/exact.Cost-1))
	if near.Cost > 1.25*exact.Cost {
		t.Errorf("the search costs %v, the exact pairing %v", near.Cost, exact.Cost)
	}
	odd := Assign(units(exactUnits+1, rng))
	checkAssignment(t, exactUnits+1, odd)
	if odd.Exact {
		t.Error("a search must not be called exact")
	}
}

func BenchmarkAssign(b *testing.B) {
	for _, n := range []int{50, 200, 400, 2000} {
		b.Run(fmt.Sprintf("units=%d", n), func(b *testing.B) {
			points := units(n, rand.New(rand.NewPCG(5, 11)))
			for b.Loop() {
				Assign(points)
			}
		})
	}
}
