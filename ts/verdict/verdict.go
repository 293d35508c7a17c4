// Package verdict judges a driver by a spec sheet: limits, the probability of
// being within them, the decision with its guard band, limits that contradict each other,
// and the measurement that would decide what is open.
package verdict

import "conewright/ts/param"

// Verdict is the answer to "is it right?". The zero value is Undecided.
type Verdict uint8

// The verdicts.
const (
	Undecided Verdict = iota
	InSpec
	OutOfSpec
)

// String returns the word used in JSON and on screen.
func (v Verdict) String() string { return param.Word(v, "undecided", "in-spec", "out-of-spec") }

// Worst joins verdicts: one failure decides, then one open question.
func Worst(a, b Verdict) Verdict {
	switch {
	case a == OutOfSpec || b == OutOfSpec:
		return OutOfSpec
	case a == Undecided || b == Undecided:
		return Undecided
	}
	return InSpec
}
