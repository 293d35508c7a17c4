package ts

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// PairPoint is what pairing many units needs of each: the limited quantities on
// their scale and the covariance that is the unit's own. Errors of the bench,
// which all units of a batch share, are left out: they cancel between any two.
type PairPoint struct {
	x      []float64
	v      *mat.SymDense
	limits []float64
}

// NewPairPoint extracts the point of a unit; false if it lacks one of the
// quantities.
func NewPairPoint(p Parameters, limits []PairLimit) (PairPoint, bool) {
	n := len(limits)
	out := PairPoint{x: make([]float64, n), v: mat.NewSymDense(max(n, 1), nil), limits: make([]float64, n)}
	at := make([]int, n)
	for i, l := range limits {
		if at[i] = p.Index(l.ID); at[i] < 0 {
			return PairPoint{}, false
		}
		out.x[i], out.limits[i] = p.Scaled[at[i]], l.scaled()
	}
	if n == 0 {
		return PairPoint{}, false
	}
	for i := range n {
		for j := i; j < n; j++ {
			v := 0.0
			if p.Noise != nil {
				v = p.Noise.At(at[i], at[j])
			}
			for _, c := range p.Components {
				if c.Own || c.Part == RepeatPart {
					v += c.Effect[at[i]] * c.Effect[at[j]]
				}
			}
			out.v.SetSym(i, j, v)
		}
	}
	return out, true
}

// Distance returns the distance between two units, theory (5.15).
func (p PairPoint) Distance(q PairPoint) float64 {
	n := len(p.x)
	d := make([]float64, n)
	v := mat.NewSymDense(n, nil)
	v.AddSym(p.v, q.v)
	for i := range n {
		d[i] = q.x[i] - p.x[i]
	}
	return matchDistance(d, v, p.limits)
}

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
// paired, and windows of 32 pairs are paired anew exactly until no window gains:
// a local search, whose cost in trials stays within a few percent of the exact
// one. The points must all come from the same limits.
func Assign(points []PairPoint) Assignment {
	n := len(points)
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
func pairExactly(points []PairPoint, set []int) (pairs [][2]int, left int) {
	n := len(set)
	size := n + n%2 // an odd one pairs with a unit that costs nothing
	cost := make([][]float64, size)
	for i := range n {
		cost[i] = make([]float64, i)
		for j := range i {
			cost[i][j] = sq(points[set[i]].Distance(points[set[j]]))
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

// pairByWindows is the local search for many units.
func pairByWindows(points []PairPoint) (pairs [][2]int, left int) {
	place := placesAlong(points)
	order := make([]int, len(points))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return place[order[a]] < place[order[b]] })
	left = -1
	if len(order)%2 == 1 { // leave out the one farthest from both neighbours
		worst, at := -1.0, 0
		for i, unit := range order {
			d := math.Inf(1)
			for _, j := range []int{i - 1, i + 1} {
				if j >= 0 && j < len(order) {
					d = min(d, points[unit].Distance(points[order[j]]))
				}
			}
			if d > worst {
				worst, at = d, i
			}
		}
		left = order[at]
		order = append(order[:at:at], order[at+1:]...)
	}
	for i := 0; i < len(order); i += 2 {
		pairs = append(pairs, [2]int{order[i], order[i+1]})
	}
	cost := func(ps [][2]int) (sum float64) {
		for _, p := range ps {
			sum += sq(points[p[0]].Distance(points[p[1]]))
		}
		return sum
	}
	const half = windowUnits / 4 // of a window, in pairs
	for range 20 {
		before := cost(pairs)
		middle := func(p [2]int) float64 { return place[p[0]] + place[p[1]] }
		sort.SliceStable(pairs, func(a, b int) bool { return middle(pairs[a]) < middle(pairs[b]) })
		for from := 0; from < len(pairs); from += half {
			window := pairs[from:min(from+2*half, len(pairs))]
			var set []int
			for _, p := range window {
				set = append(set, p[0], p[1])
			}
			better, _ := pairExactly(points, set)
			sort.SliceStable(better, func(a, b int) bool { return middle(better[a]) < middle(better[b]) })
			copy(window, better)
		}
		if cost(pairs) > before*(1-1e-6) {
			break
		}
	}
	return pairs, left
}

// placesAlong returns the place of each unit along the direction in which the units
// differ most, in units of the limits: the first principal component.
func placesAlong(points []PairPoint) []float64 {
	k := len(points[0].x)
	mean := make([]float64, k)
	for _, p := range points {
		for i, x := range p.x {
			mean[i] += x / p.limits[i] / float64(len(points))
		}
	}
	cov := mat.NewSymDense(k, nil)
	d := mat.NewVecDense(k, nil)
	for _, p := range points {
		for i, x := range p.x {
			d.SetVec(i, x/p.limits[i]-mean[i])
		}
		cov.SymRankOne(cov, 1, d)
	}
	var eig mat.EigenSym
	direction := make([]float64, k)
	direction[0] = 1
	if eig.Factorize(cov, true) {
		var v mat.Dense
		eig.VectorsTo(&v)
		for i := range direction {
			direction[i] = v.At(i, k-1)
		}
	}
	place := make([]float64, len(points))
	for u, p := range points {
		for i, x := range p.x {
			place[u] += direction[i] * x / p.limits[i]
		}
	}
	return place
}

// finish sorts the pairs, the best first, and adds up.
func finish(points []PairPoint, pairs [][2]int, left int, exact bool) Assignment {
	a := Assignment{Pairs: pairs, Left: left, Exact: exact}
	distance := map[[2]int]float64{}
	for _, p := range pairs {
		distance[p] = points[p[0]].Distance(points[p[1]])
		a.Cost += sq(distance[p])
	}
	sort.SliceStable(a.Pairs, func(i, j int) bool { return distance[a.Pairs[i]] < distance[a.Pairs[j]] })
	return a
}
