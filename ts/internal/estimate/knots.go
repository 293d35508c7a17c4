package estimate

import "math"

// knots lays out B-splines over the logarithm of frequency: wide ones, a knot every wideStep octaves, and among them
// narrow ones. A curve is a sum of both. They are numbered by their middles, so that those that
// overlap have close numbers: five numbers a wide knot, the wide one and the narrow ones from there on.
type knots struct {
	first, count int         // first wide knot, and the number of splines of a curve
	at           [][]support // [sweep][point]
}

// support are the splines that are not zero at a point: four wide and four narrow ones, numbered from first on.
type support struct {
	first int
	ahead [8]uint8 // below width
	value [8]float64
}

// spline is the number of one of them.
func (s *support) spline(j int) int { return s.first + int(s.ahead[j]) }

// column holds the values of one spline at the points where it is not zero, from first on.
type column struct {
	first int
	value []float64
}

// of returns the part of v, one number a point, where the spline is not zero.
func (c *column) of(v []float64) []float64 { return v[c.first : c.first+len(c.value)] }

// columns turns the values at points of increasing frequency into those of each spline.
func columns(points []support, count int) []column {
	all, lengths := make([]column, count), make([]int, count)
	for i := range points {
		for j := range points[i].value {
			lengths[points[i].spline(j)]++
		}
	}
	values := make([]float64, len(points)*len(support{}.value))
	for n, length := range lengths {
		all[n].value, values = values[:0:length], values[length:]
	}
	for i := range points {
		for j, v := range points[i].value {
			c := &all[points[i].spline(j)]
			if len(c.value) == 0 {
				c.first = i
			}
			c.value = append(c.value, v)
		}
	}
	return all
}

const (
	perKnot    = narrow + 1
	splineSize = 0.479365 // mean square over frequency of a sum of such splines with coefficients of variance 1
)

// newKnots lays out the splines for sweeps at the frequencies given, Hz.
func newKnots(freq ...[]float64) *knots {
	lo, hi := math.Inf(1), 0.0
	for _, f := range freq {
		lo, hi = min(lo, f[0]), max(hi, f[len(f)-1])
	}
	k := &knots{first: int(math.Floor(math.Log2(lo)/wideStep)) - 1}
	k.count = perKnot * (int(math.Floor(math.Log2(hi)/wideStep)) + 3 - k.first)
	for _, f := range freq {
		at := make([]support, len(f))
		for i, v := range f {
			at[i] = k.support(v)
		}
		k.at = append(k.at, at)
	}
	return k
}

// support returns the splines at f (Hz).
func (k *knots) support(f float64) (s support) {
	u := math.Log2(f) / wideStep
	at := math.Floor(u)
	s.first = perKnot * (int(at) - 1 - k.first)
	set := func(j, spline int, v float64) { s.ahead[j], s.value[j] = uint8(spline-s.first), v }
	for j, v := range cubic(u - at) {
		set(j, perKnot*(int(at)-1+j-k.first), v)
	}
	at = math.Floor(narrow * u)
	for j, v := range cubic(narrow*u - at) {
		n := int(at) - 1 + j - narrow*k.first
		set(4+j, n/narrow*perKnot+1+n%narrow, v)
	}
	return s
}

// middle returns the frequency in Hz of the middle of a spline.
func (k *knots) middle(spline int) float64 {
	u := float64(k.first + spline/perKnot)
	if j := spline % perKnot; j > 0 {
		u += float64(j-1) / narrow
	}
	return math.Exp2(u * wideStep)
}

// wide says whether a spline is one of the wide ones.
func wide(spline int) bool { return spline%perKnot == 0 }

// cubic returns the four uniform cubic B-splines at u, 0 to 1. Textbook.
func cubic(u float64) [4]float64 {
	v := 1 - u
	return [4]float64{v * v * v / 6, (3*u*u*u - 6*u*u + 4) / 6, (3*v*v*v - 6*v*v + 4) / 6, u * u * u / 6}
}
