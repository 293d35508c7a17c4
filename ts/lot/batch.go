// Package lot is about two drivers or many: whether two match, which pairs of
// a lot fit best, and which units stand apart from the others.
package lot

import (
	"math"
	"sort"

	"conewright/ts/internal/stat"
	"conewright/ts/param"
	"conewright/ts/verdict"

	"gonum.org/v1/gonum/stat/distuv"
)

// Batch gathers many units of one kind in bounded memory: the spread of each
// quantity, its capability against the limits, outliers and the drift over the
// order of measurement. The zero value is an empty batch without limits.
type Batch struct {
	spec   verdict.Spec
	series [param.Count]*series
}

// NewBatch returns an empty batch; the limits of spec, if it has any, are for the
// capability.
func NewBatch(spec verdict.Spec) (*Batch, error) {
	if len(spec.Limits) > 0 {
		if err := spec.Check(); err != nil {
			return nil, err
		}
	}
	return &Batch{spec: spec}, nil
}

// Add takes in one unit, in the order of measurement, or refuses it as a whole. Memory
// does not grow with the number of units, only with the range that they cover.
func (b *Batch) Add(p param.Parameters) error {
	if err := p.Check(); err != nil {
		return err
	}
	for i, id := range p.IDs {
		b.seriesOf(id).add(p.Scaled[i])
	}
	return nil
}

// AddValues takes in one quantity (SI) of many units, in the order of measurement. What is not finite,
// or not positive though the quantity is, is no value and left out.
func (b *Batch) AddValues(id param.ID, values []float64) {
	s := b.seriesOf(id)
	for _, v := range values {
		if x := id.Scale(v); !math.IsNaN(x) && !math.IsInf(x, 0) {
			s.add(x)
		}
	}
}

func (b *Batch) seriesOf(id param.ID) *series {
	if b.series[id] == nil {
		b.series[id] = &series{bins: map[int]int{}}
	}
	return b.series[id]
}

// binWidth is the resolution of the median: 0.01 % for logarithms.
const binWidth = 1e-4

// mostBlocks is the number of block means that the trend is tested on.
const mostBlocks = 256

// series is one quantity over the units, on its scale.
type series struct {
	n        int
	mean, m2 float64 // running mean and sum of squared deviations
	bins     map[int]int
	blocks   []float64 // means of blocks of equal length
	length   int       // units a block
	sum      float64   // of the block that is filling
	filled   int
}

// add updates the running moments (Welford, Technometrics 4, 1962, from memory),
// the histogram and the blocks. Full, the blocks are joined two by two.
func (s *series) add(x float64) {
	s.n++
	d := x - s.mean
	s.mean += d / float64(s.n)
	s.m2 += d * (x - s.mean)
	s.bins[int(math.Round(x/binWidth))]++
	if s.length == 0 {
		s.length = 1
	}
	s.sum += x
	if s.filled++; s.filled < s.length {
		return
	}
	s.blocks = append(s.blocks, s.sum/float64(s.length))
	s.sum, s.filled = 0, 0
	if len(s.blocks) == mostBlocks {
		for i := range mostBlocks / 2 {
			s.blocks[i] = (s.blocks[2*i] + s.blocks[2*i+1]) / 2
		}
		s.blocks, s.length = s.blocks[:mostBlocks/2], 2*s.length
	}
}

// std returns the standard deviation of the units.
func (s *series) std() float64 {
	if s.n < 2 {
		return 0
	}
	return math.Sqrt(s.m2 / float64(s.n-1))
}

// weighted is a value that occurs count times.
type weighted struct {
	x     float64
	count int
}

// median returns the middle of values sorted here.
func median(v []weighted) float64 {
	sort.Slice(v, func(i, j int) bool { return v[i].x < v[j].x })
	total := 0
	for _, w := range v {
		total += w.count
	}
	at := func(k int) float64 { // the k-th value, from 0
		for _, w := range v {
			if k < w.count {
				return w.x
			}
			k -= w.count
		}
		return math.NaN()
	}
	return (at((total-1)/2) + at(total/2)) / 2
}

// robust returns the median and 1.4826 times the median deviation from it, which
// is the standard deviation of normal values but does not see outliers. The
// spread is never below what the histogram resolves.
func (s *series) robust() (middle, spread float64) {
	v := make([]weighted, 0, len(s.bins))
	for bin, count := range s.bins {
		v = append(v, weighted{float64(bin) * binWidth, count})
	}
	middle = median(v)
	for i := range v {
		v[i].x = math.Abs(v[i].x - middle)
	}
	return middle, math.Max(1.4826*median(v), binWidth)
}

// BatchValue is one quantity over a batch.
type BatchValue struct {
	ID           param.ID
	N            int
	Mean, Median float64 // SI; the mean is that of the logarithms where values are positive
	Std          float64 // relative to Mean for positive quantities, else SI: standard deviation
	RobustStd    float64 // the same from the median deviation, insensitive to outliers
	// Sigmas to each limit of the sheet: (limit - median)/RobustStd with the sign
	// that makes "inside" positive; infinite where there is no limit. The smaller
	// one over 3 is the capability index Cpk.
	LoSigmas, HiSigmas float64
	Limited            bool
	Trend              Trend
}

// Capability returns the smaller of the two distances to a limit, in sigmas.
func (v BatchValue) Capability() float64 { return math.Min(v.LoSigmas, v.HiSigmas) }

// Trend is the drift of a quantity over the order of measurement.
type Trend struct {
	// PerHundred is the change over 100 units: relative for positive quantities,
	// else SI. It is the median of all slopes between blocks.
	PerHundred float64
	Total      float64 // over the whole batch
	P          float64 // probability of an order this regular by chance; 1 if too few
}

// Drifts says whether the trend is more than chance, at 99 %.
func (t Trend) Drifts() bool { return t.P < 0.01 }

// Summary returns every quantity of the batch in printing order.
func (b *Batch) Summary() []BatchValue {
	var out []BatchValue
	for id, s := range b.series {
		if s == nil {
			continue
		}
		id := param.ID(id)
		middle, spread := s.robust()
		v := BatchValue{ID: id, N: s.n, Mean: id.Unscale(s.mean), Median: id.Unscale(middle), Std: s.std(), RobustStd: spread,
			LoSigmas: math.Inf(1), HiSigmas: math.Inf(1), Trend: s.trend()}
		if l, ok := b.spec.Limit(id); ok {
			lo, hi := l.Scaled()
			v.Limited = true
			v.LoSigmas, v.HiSigmas = (middle-lo)/spread, (hi-middle)/spread
		}
		out = append(out, v)
	}
	return out
}

// trend tests the block means for a monotonic drift with Kendall's tau and
// estimates its slope as the median of all slopes between two blocks.
//
//	S = sum over i<j of sign(x_j - x_i),  var S = n(n-1)(2n+5)/18,  z = (|S|-1)/sqrt(var S)
//
// Source: Mann, Econometrica 13, 1945; Kendall, Rank Correlation Methods; slope
// after Theil and Sen (all from memory); theory (5.16).
func (s *series) trend() Trend {
	n := len(s.blocks)
	if n < 8 {
		return Trend{P: 1}
	}
	total := 0
	var slopes []weighted
	for j, b := range s.blocks {
		for i, a := range s.blocks[:j] {
			switch {
			case b > a:
				total++
			case b < a:
				total--
			}
			slopes = append(slopes, weighted{(b - a) / float64(j-i), 1})
		}
	}
	variance := float64(n*(n-1)*(2*n+5)) / 18
	z := math.Max(math.Abs(float64(total))-1, 0) / math.Sqrt(variance)
	perUnit := median(slopes) / float64(s.length)
	return Trend{PerHundred: 100 * perUnit, Total: float64(s.n) * perUnit, P: 2 * stat.Of(0).Cdf(-z)}
}

// Outlier is one quantity in which a unit stands apart from its batch.
type Outlier struct {
	ID     param.ID
	Sigmas float64 // robust standard deviations from the median, signed
}

// outlierAt is the usual bound for the modified z-score: Iglewicz and Hoaglin,
// How to Detect and Handle Outliers, 1993 (from memory). The units that are too
// few to tell are not judged. In a large lot chance alone brings some unit beyond
// that bound, so that it grows until a healthy lot names a unit in one case of
// twenty (Bonferroni's inequality).
const (
	outlierAt   = 3.5
	fewestUnits = 8
)

// outlierIn is how far from the middle a unit of n must lie to stand apart.
func outlierIn(n int) float64 {
	return math.Max(outlierAt, distuv.UnitNormal.Quantile(1-0.05/(2*float64(n))))
}

// Outliers returns in what p stands apart from the batch, which may hold p: the
// median does not follow a single unit. The uncertainty of its sweeps counts, so that a
// poor measurement is not called a poor unit; how the bench repeats is in the spread of the
// units already.
func (b *Batch) Outliers(p param.Parameters) ([]Outlier, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	p = p.Alone()
	var out []Outlier
	for i, id := range p.IDs {
		s := b.series[id]
		if s == nil || s.n < fewestUnits {
			continue
		}
		middle, spread := s.robust()
		if d := (p.Scaled[i] - middle) / math.Hypot(spread, p.ScaledStd(i)); math.Abs(d) > outlierIn(s.n) {
			out = append(out, Outlier{id, d})
		}
	}
	return out, nil
}
