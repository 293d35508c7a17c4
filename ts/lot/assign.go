package lot

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"sync"

	"conewright/ts/param"
)

// Assignment is a pairing of all units.
type Assignment struct {
	Pairs [][2]int // indices into the points, the best pair first
	// Left is the unit without a partner when their number is odd; -1: none.
	Left int
	// Cost is the sum of the squared distances of all pairs, which no other
	// pairing undercuts if Exact.
	Cost  float64
	Exact bool
}

// exactUnits is the number of units up to which the pairing is the best of all.
// Beyond it, windows of neighbours are paired exactly, again and again.
const (
	exactUnits  = 400
	windowUnits = 64
)

// Assign pairs all units so that the sum of the squared distances is smallest.
// An odd one is left out: the one without which the others pair best.
//
// Up to 400 units the result is exact (see cheapestPairs). With more, the units
// are put in order along the direction in which they differ most, neighbours are
// paired, and windows of 32 pairs are paired anew exactly until that gains next to
// nothing: a local search, whose cost in trials stays within a few percent of the
// exact one. Its time grows with the number of units, not with its cube.
func Assign(points *PairPoints) Assignment {
	n := points.Len()
	if n <= exactUnits {
		all := make([]int, n)
		for i := range all {
			all[i] = i
		}
		pairs, left := pairExactly(points, all)
		return finish(points, pairs, left, true)
	}
	pairs, left := pairByWindows(points)
	return finish(points, pairs, left, false)
}

// pairExactly pairs the units of set; left is -1 if their number is even.
func pairExactly(points *PairPoints, set []int) (pairs [][2]int, left int) {
	n := len(set)
	size := n + n%2 // an odd one pairs with a unit that costs nothing
	cost := make([][]float64, size)
	for i := range n {
		cost[i] = make([]float64, i)
		for j := range i {
			cost[i][j] = param.Sq(points.Distance(set[i], set[j]))
		}
	}
	if size > n {
		cost[n] = make([]float64, n)
	}
	mate := cheapestPairs(size, func(i, j int) float64 { return cost[i][j] })
	left = -1
	for i := range n {
		switch j := mate[i]; {
		case j == n:
			left = set[i]
		case i < j:
			pairs = append(pairs, [2]int{set[i], set[j]})
		}
	}
	return pairs, left
}

// mostPasses bounds the local search; enoughGain is the part of the cost below
// which another pass is not worth its time.
const (
	mostPasses = 20
	enoughGain = 1e-3
)

// pairByWindows is the local search for many units.
func pairByWindows(points *PairPoints) (pairs [][2]int, left int) {
	place := placesAlong(points)
	order := make([]int, points.Len())
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(place[a], place[b]) })
	left = -1
	if len(order)%2 == 1 {
		at := farthest(points, order)
		left = order[at]
		order = slices.Delete(order, at, at+1)
	}
	for i := 0; i < len(order); i += 2 {
		pairs = append(pairs, [2]int{order[i], order[i+1]})
	}
	byPlace := func(a, b [2]int) int { return cmp.Compare(place[a[0]]+place[a[1]], place[b[0]]+place[b[1]]) }
	before := points.cost(pairs)
	for range mostPasses {
		slices.SortStableFunc(pairs, byPlace)
		for _, from := range []int{0, windowUnits / 4} { // the second time across the seams of the first
			pairAnew(points, pairs[min(from, len(pairs)):], windowUnits/2)
		}
		after := points.cost(pairs)
		if after > before*(1-enoughGain) {
			break
		}
		before = after
	}
	return pairs, left
}

// pairAnew pairs the units of each window of so many pairs exactly, several
// windows at a time.
func pairAnew(points *PairPoints, pairs [][2]int, window int) {
	var busy sync.WaitGroup
	turn := make(chan struct{}, runtime.GOMAXPROCS(0))
	for w := range slices.Chunk(pairs, window) {
		turn <- struct{}{}
		busy.Go(func() {
			defer func() { <-turn }()
			var set []int
			for _, p := range w {
				set = append(set, p[0], p[1])
			}
			better, _ := pairExactly(points, set)
			copy(w, better)
		})
	}
	busy.Wait()
}

// farthest returns where in order the unit stands that is farthest from both of
// its neighbours.
func farthest(points *PairPoints, order []int) int {
	worst, at := -1.0, 0
	for i, unit := range order {
		d := math.Inf(1)
		for _, j := range []int{i - 1, i + 1} {
			if j >= 0 && j < len(order) {
				d = min(d, points.Distance(unit, order[j]))
			}
		}
		if d > worst {
			worst, at = d, i
		}
	}
	return at
}

// finish sorts the pairs, the best first, and adds up.
func finish(points *PairPoints, pairs [][2]int, left int, exact bool) Assignment {
	slices.SortStableFunc(pairs, func(a, b [2]int) int {
		return cmp.Compare(points.Distance(a[0], a[1]), points.Distance(b[0], b[1]))
	})
	return Assignment{Pairs: pairs, Left: left, Cost: points.cost(pairs), Exact: exact}
}
