package lot

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"sync"

	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// PairPoints is what pairing needs of many units: of each the limited quantities
// on their scale and the covariance that is the unit's own, in one flat list, so
// that a lot may be large. Errors of the bench, which all units of a batch share,
// are left out: they cancel between any two.
type PairPoints struct {
	ids    []param.ParamID
	limits []float64 // on the scale
	flat   []float64 // a unit: its values, then the lower triangle of its covariance
}

// NewPairPoints returns an empty list for pairs that are held to limits.
func NewPairPoints(limits []PairLimit) *PairPoints {
	p := new(PairPoints)
	for _, l := range limits {
		p.ids = append(p.ids, l.ID)
		p.limits = append(p.limits, l.scaled())
	}
	return p
}

// stride is the length of a unit in the list.
func (p *PairPoints) stride() int {
	k := len(p.ids)
	return k + k*(k+1)/2
}

// Len returns the number of units.
func (p *PairPoints) Len() int {
	if len(p.ids) == 0 {
		return 0
	}
	return len(p.flat) / p.stride()
}

// Add appends a unit; false if it lacks one of the quantities.
func (p *PairPoints) Add(unit param.Parameters) bool {
	k := len(p.ids)
	at := make([]int, k)
	for i, id := range p.ids {
		if at[i] = unit.Index(id); at[i] < 0 {
			return false
		}
	}
	for _, i := range at {
		p.flat = append(p.flat, unit.Scaled[i])
	}
	for i := range k {
		for j := range i + 1 {
			v := 0.0
			if unit.Noise != nil {
				v = unit.Noise.At(at[i], at[j])
			}
			for _, c := range unit.Components {
				if c.Own || c.Part == param.RepeatPart {
					v += c.Effect[at[i]] * c.Effect[at[j]]
				}
			}
			p.flat = append(p.flat, v)
		}
	}
	return k > 0
}

// values returns the values of a unit.
func (p *PairPoints) values(unit int) []float64 {
	return p.flat[unit*p.stride():][:len(p.ids)]
}

// covariance returns the lower triangle of a unit.
func (p *PairPoints) covariance(unit int) []float64 {
	return p.flat[unit*p.stride():][len(p.ids):p.stride()]
}

// Distance returns the distance between two units, theory (5.15).
func (p *PairPoints) Distance(a, b int) float64 {
	var room [32]float64 // enough for six quantities without asking for memory
	both := append(room[:0], p.covariance(a)...)
	for i, v := range p.covariance(b) {
		both[i] += v
	}
	var space [8]float64
	d := append(space[:0], p.values(b)...)
	for i, x := range p.values(a) {
		d[i] -= x
	}
	return matchDistance(d, both, p.limits)
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
		at := loneliest(points, order)
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

// loneliest returns where in order the unit stands that is farthest from both of
// its neighbours.
func loneliest(points *PairPoints, order []int) int {
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

// cost is the sum of the squared distances.
func (p *PairPoints) cost(pairs [][2]int) (sum float64) {
	for _, pair := range pairs {
		sum += param.Sq(p.Distance(pair[0], pair[1]))
	}
	return sum
}

// placesAlong returns the place of each unit along the direction in which the units
// differ most, in units of the limits: the first principal component.
func placesAlong(points *PairPoints) []float64 {
	k, n := len(points.ids), points.Len()
	mean := make([]float64, k)
	for u := range n {
		for i, x := range points.values(u) {
			mean[i] += x / points.limits[i] / float64(n)
		}
	}
	cov := mat.NewSymDense(k, nil)
	d := mat.NewVecDense(k, nil)
	for u := range n {
		for i, x := range points.values(u) {
			d.SetVec(i, x/points.limits[i]-mean[i])
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
	place := make([]float64, n)
	for u := range place {
		for i, x := range points.values(u) {
			place[u] += direction[i] * x / points.limits[i]
		}
	}
	return place
}

// finish sorts the pairs, the best first, and adds up.
func finish(points *PairPoints, pairs [][2]int, left int, exact bool) Assignment {
	slices.SortStableFunc(pairs, func(a, b [2]int) int {
		return cmp.Compare(points.Distance(a[0], a[1]), points.Distance(b[0], b[1]))
	})
	return Assignment{Pairs: pairs, Left: left, Cost: points.cost(pairs), Exact: exact}
}
