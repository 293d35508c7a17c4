// Package study takes the scatter of planned repeats apart: how much of it comes
// from sweeping again, from clamping again, from another session, from another
// operator, and how well each is known.
//
// Use NewDesign and Analyse for repeats that lie within each other. Common practice
// enters as a Spread on few degrees of freedom for each level, so that real repeats soon rule.
// Where every operator measures every part, package gauge does.
//
// The numbers have no unit of their own: variances are in the square of the unit of the values.
// Values that are positive and scatter in proportion belong in as logarithms.
package study

// Interval is a closed interval; an end may be infinite.
type Interval struct{ Lo, Hi float64 }

// Contains says whether x lies in the interval.
func (i Interval) Contains(x float64) bool { return i.Lo <= x && x <= i.Hi }
