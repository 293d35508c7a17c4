package process

import (
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/notice"
)

// constants are the factors of control charts for groups of n units, from their
// definitions and not rounded.
type constants struct {
	d2, d3           float64 // expectation and standard deviation of the range, in standard deviations
	c4               float64 // expectation of the standard deviation of the group
	rangeLo, rangeHi float64 // D3 and D4 of the tables: limits of the range, in mean ranges
	stdLo, stdHi     float64 // B3 and B4: limits of the standard deviation, in its mean
}

// mostInGroup is the size of the largest group that has constants.
const mostInGroup = 1000

// constantsFor returns the constants for groups of n units:
//
//	D3, D4 = 1 -+ 3 d3/d2,  B3, B4 = 1 -+ 3 sqrt(1-c4^2)/c4,  not below 0
//
// Source: textbook; checked against published tables. Theory (8.17).
func constantsFor(n int) (constants, error) {
	if n < 2 || n > mostInGroup {
		return constants{}, notice.New("process-group-size", notice.Facts{"size": n, "least": 2, "most": mostInGroup})
	}
	c := constants{c4: stat.C4(float64(n - 1))}
	c.d2, c.d3 = stat.RangeOf(n)
	r, s := 3*c.d3/c.d2, 3*math.Sqrt(1-c.c4*c.c4)/c.c4
	c.rangeLo, c.rangeHi = max(0, 1-r), 1+r
	c.stdLo, c.stdHi = max(0, 1-s), 1+s
	return c, nil
}
