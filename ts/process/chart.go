package process

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	gonum "gonum.org/v1/gonum/stat"

	"conewright/ts/internal/stat"
	"conewright/ts/notice"
	"conewright/ts/study"
)

// Chart is a centre line with its limits, made from a stretch of the process that is taken
// as steady, to hold further points against.
type Chart struct {
	Centre, Lo, Hi float64
	// Std is the standard deviation of a point; 0 for a chart of the scatter, which has
	// a skewed distribution, and for prediction limits.
	Std    float64
	Points []float64 // that the chart was made from
}

// Charts are the two charts of a process: where it is and how much it scatters.
type Charts struct {
	Location, Scatter Chart
	// Within is the variance of single units within a group, or from one unit to the next, with the degrees
	// of freedom that give a standard deviation of equal relative scatter.
	Within study.Spread
}

// Individuals makes the charts of single units in their order: of the values, and of
// the moving ranges |x_i - x_(i-1)|.
//
//	limits  mean +- 3 MR/d2(2),   0 to D4(2) MR,   MR the mean of the moving ranges
//
// Source: textbook; checked against a published example. Theory (8.18).
func Individuals(values []float64) (Charts, error) {
	if err := finite(values, 3); err != nil {
		return Charts{}, err
	}
	moving := make([]float64, len(values)-1)
	for i := range moving {
		moving[i] = math.Abs(values[i+1] - values[i])
	}
	c, err := constantsFor(2)
	if err != nil {
		return Charts{}, err
	}
	mean := gonum.Mean(moving, nil)
	std := mean / c.d2
	return charts(values, std, std, Chart{mean, c.rangeLo * mean, c.rangeHi * mean, 0, moving},
		movingDof(len(moving), c))
}

// movingDof returns the degrees of freedom of the mean of m moving ranges. Neighbours
// share a value, and their correlation is -1/2 before the sign is lost:
//
//	cov(|u|,|v|) = (4/pi)( sqrt(3)/2 + pi/12 ) - 4/pi     in units of the variance of a value
//
// Source: absolute moments of the bivariate normal distribution (from memory); rest derived.
func movingDof(m int, c constants) float64 {
	n := float64(m)
	common := 4 / math.Pi * (math.Sqrt(3)/2 + math.Pi/12 - 1)
	variance := (n*c.d3*c.d3 + 2*(n-1)*common) / (n * n)
	return dofOf(variance / (c.d2 * c.d2))
}

// MeansAndRanges makes the charts of groups of equal size: of their means and ranges.
//
//	limits  mean +- A2 R,   D3 R to D4 R,   R the mean range
//
// Source: textbook; checked against a published example. Theory (8.18).
func MeansAndRanges(groups [][]float64) (Charts, error) {
	c, err := constantsOf(groups)
	if err != nil {
		return Charts{}, err
	}
	means, ranges := each(groups, mean), each(groups, func(g []float64) float64 { return floats.Max(g) - floats.Min(g) })
	r := gonum.Mean(ranges, nil)
	std := r / c.d2
	return charts(means, std, std/math.Sqrt(float64(len(groups[0]))), Chart{r, c.rangeLo * r, c.rangeHi * r, 0, ranges},
		dofOf(c.d3*c.d3/(c.d2*c.d2*float64(len(groups)))))
}

// MeansAndStds makes the charts of groups of equal size: of their means and standard
// deviations.
//
//	limits  mean +- A3 s,   B3 s to B4 s,   s the mean standard deviation
//
// Source: textbook; checked against a published example. Theory (8.18).
func MeansAndStds(groups [][]float64) (Charts, error) {
	c, err := constantsOf(groups)
	if err != nil {
		return Charts{}, err
	}
	means, stds := each(groups, mean), each(groups, func(g []float64) float64 { return gonum.StdDev(g, nil) })
	s := gonum.Mean(stds, nil)
	std := s / c.c4
	return charts(means, std, std/math.Sqrt(float64(len(groups[0]))), Chart{s, c.stdLo * s, c.stdHi * s, 0, stds},
		dofOf((1/(c.c4*c.c4)-1)/float64(len(groups))))
}

// Prediction makes a chart from a few values, in place of the limits of Individuals that hold
// only for many: the next single value lies within with the confidence.
//
//	mean +- t((1+confidence)/2, n-1) s sqrt(1 + 1/n)
//
// Source: textbook. Theory (8.19).
func Prediction(values []float64, confidence float64) (Chart, error) {
	if err := finite(values, 2); err != nil {
		return Chart{}, err
	}
	if err := probability("confidence", confidence); err != nil {
		return Chart{}, err
	}
	m, v := gonum.MeanVariance(values, nil)
	if v == 0 {
		return Chart{}, notice.New("process-no-scatter", nil)
	}
	n := float64(len(values))
	arm := study.Spread{Variance: v * (1 + 1/n), Dof: n - 1}.HalfWidth(confidence)
	return Chart{m, m - arm, m + arm, 0, slices.Clone(values)}, nil
}

func mean(group []float64) float64 { return gonum.Mean(group, nil) }

func each(groups [][]float64, f func([]float64) float64) []float64 {
	out := make([]float64, len(groups))
	for i, g := range groups {
		out[i] = f(g)
	}
	return out
}

// charts puts charts together; std is that of a unit, ofPoint that of a point.
func charts(points []float64, std, ofPoint float64, scatter Chart, dof float64) (Charts, error) {
	if std == 0 {
		return Charts{}, notice.New("process-no-scatter", nil)
	}
	centre := mean(points)
	location := Chart{centre, centre - 3*ofPoint, centre + 3*ofPoint, ofPoint, slices.Clone(points)}
	return Charts{location, scatter, study.Spread{Variance: std * std, Dof: dof}}, nil
}

// constantsOf returns the constants for groups, which must be equal in size.
func constantsOf(groups [][]float64) (constants, error) {
	if len(groups) < 2 {
		return constants{}, notice.New("process-too-few", notice.Facts{"values": len(groups), "least": 2})
	}
	for i, g := range groups {
		if len(g) != len(groups[0]) {
			return constants{}, notice.New("process-groups-differ", notice.Facts{"group": i + 1, "size": len(g), "first": len(groups[0])})
		}
		if err := finite(g, 2); err != nil {
			return constants{}, err
		}
	}
	return constantsFor(len(groups[0]))
}

// dofOf returns the degrees of freedom of a standard deviation with the given variance
// relative to the square of its expectation: 1/c4^2 - 1 = relative.
func dofOf(relative float64) float64 {
	lo, hi := -5., 30. // logarithms
	for range 60 {
		mid := (lo + hi) / 2
		if c := stat.C4(math.Exp(mid)); 1/(c*c)-1 > relative {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Exp((lo + hi) / 2)
}
