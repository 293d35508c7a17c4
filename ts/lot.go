package ts

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Trait says how one quantity is spread over the units of a lot. All values are
// in SI.
type Trait struct {
	ID                     ParamID
	N                      int // units in which it is known
	Mean, SD               float64
	Min, Median, Max       float64
	SigmasToLo, SigmasToHi float64 // from the mean to each limit; +Inf without a limit or without spread
	Drift                  LotDrift
	Outliers               []int // positions in the lot, in order
}

// LotDrift is the straight line through the values in the order of measurement.
type LotDrift struct {
	Change float64 // from the first unit to the last, along the line
	Std    float64 // standard uncertainty of Change
	P      float64 // probability of a change this large without any drift; 1 with too few units to tell
}

// Limits of what is pointed out about a lot.
const (
	driftAt      = 0.01 // P below this: the drift is real
	outlierAt    = 3.5  // modified z-score
	fewestToTell = 8    // units, for drift and outliers
)

// Real says that the drift is hardly by chance.
func (d LotDrift) Real() bool { return d.P < driftAt }

// NewTrait describes the values of one quantity (SI) in the order of measurement;
// NaN stands for a unit in which it is not known. Limit is that of the spec
// sheet, or nil. The spread is that of the values as measured: it holds the
// differences between the units and the noise of the measurement alike, so the
// sigmas to a limit err to the safe side.
//
// A unit is an outlier by its modified z-score:
//
//	M = 0.6745 |x - median| / MAD > 3.5,   MAD = median |x - median|
//
// Source: Iglewicz and Hoaglin, "How to Detect and Handle Outliers", ASQC 1993
// (from memory). The drift is that of the units without the outliers, by ordinary
// least squares with Student's t for two degrees of freedom less than units.
func NewTrait(id ParamID, values []float64, limit *Limit) Trait {
	t := Trait{ID: id, SigmasToLo: math.Inf(1), SigmasToHi: math.Inf(1), Drift: LotDrift{P: 1}}
	var x []float64
	for _, v := range values {
		if !math.IsNaN(v) {
			x = append(x, v)
		}
	}
	t.N = len(x)
	if t.N == 0 {
		return t
	}
	t.Mean, t.Median, t.Min, t.Max = stat.Mean(x, nil), medianOf(x), slices.Min(x), slices.Max(x)
	if t.N < 2 {
		return t
	}
	t.SD = stat.StdDev(x, nil)
	if limit != nil && t.SD > 0 {
		t.SigmasToLo, t.SigmasToHi = (t.Mean-limit.Lo)/t.SD, (limit.Hi-t.Mean)/t.SD
	}
	if t.N < fewestToTell {
		return t
	}
	t.Outliers = outliers(values, t.Median, x)
	var order, sound []float64
	for i, v := range values {
		if !math.IsNaN(v) && !slices.Contains(t.Outliers, i) {
			order, sound = append(order, float64(i)), append(sound, v)
		}
	}
	if len(sound) >= fewestToTell {
		t.Drift = lotDrift(order, sound)
	}
	return t
}

// lotDrift fits a line through x over the order of measurement.
func lotDrift(order, x []float64) LotDrift {
	a, b := stat.LinearRegression(order, x, nil, false)
	var rest, spread float64
	middle := stat.Mean(order, nil)
	for i, o := range order {
		rest += (x[i] - a - b*o) * (x[i] - a - b*o)
		spread += (o - middle) * (o - middle)
	}
	dof := float64(len(x) - 2)
	length := order[len(order)-1] - order[0]
	d := LotDrift{Change: b * length, Std: math.Sqrt(rest/dof/spread) * length, P: 1}
	if d.Std > 0 {
		d.P = 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Survival(math.Abs(d.Change)/d.Std)
	} else if d.Change != 0 {
		d.P = 0
	}
	return d
}

// outliers returns the positions of values with a large modified z-score.
func outliers(values []float64, median float64, x []float64) []int {
	away := make([]float64, len(x))
	for i, v := range x {
		away[i] = math.Abs(v - median)
	}
	mad := medianOf(away)
	var found []int
	for i, v := range values {
		if mad > 0 && 0.6745*math.Abs(v-median)/mad > outlierAt { // false for NaN
			found = append(found, i)
		}
	}
	return found
}

// medianOf leaves its argument as it is.
func medianOf(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}
