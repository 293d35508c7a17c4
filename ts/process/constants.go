package process

import (
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/notice"
)

// Constants are the factors of control charts for groups of n units, from their
// definitions and not rounded.
type Constants struct {
	D2, D3           float64 // expectation and standard deviation of the range, in standard deviations
	C4               float64 // expectation of the standard deviation of the group
	A2, A3           float64 // limits of the mean, in mean ranges and in mean standard deviations
	RangeLo, RangeHi float64 // D3 and D4 of the tables: limits of the range, in mean ranges
	StdLo, StdHi     float64 // B3 and B4: limits of the standard deviation, in its mean
}

// MostInGroup is the size of the largest group that has constants.
const MostInGroup = 1000

// ConstantsFor returns the constants for groups of n units:
//
//	A2 = 3/(d2 sqrt n),  A3 = 3/(c4 sqrt n)
//	D3, D4 = 1 -+ 3 d3/d2,  B3, B4 = 1 -+ 3 sqrt(1-c4^2)/c4,  not below 0
//
// Source: textbook; checked against published tables. Theory (8.20).
func ConstantsFor(n int) (Constants, error) {
	if n < 2 || n > MostInGroup {
		return Constants{}, notice.New("process-group-size", notice.Facts{"size": n, "least": 2, "most": MostInGroup})
	}
	c := Constants{C4: stat.C4(float64(n - 1))}
	c.D2, c.D3 = stat.RangeOf(n)
	root := math.Sqrt(float64(n))
	c.A2, c.A3 = 3/(c.D2*root), 3/(c.C4*root)
	r, s := 3*c.D3/c.D2, 3*math.Sqrt(1-c.C4*c.C4)/c.C4
	c.RangeLo, c.RangeHi = max(0, 1-r), 1+r
	c.StdLo, c.StdHi = max(0, 1-s), 1+s
	return c, nil
}
