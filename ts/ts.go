// Package ts holds the physics of a moving-coil driver and the judgement of
// its repair: the fit of its electrical impedance to measured sweeps, the
// uncertainty of every value, and the comparison of a driver with what it was
// and with what it should be. This package has the five calls; what they take and give is
// in the packages below it, in the order of the work:
//
//	notice    what was found, as a code and facts: every warning and every error
//	param     what a value is: symbol, quantity, uncertainty and where it comes from
//	repeat    how far sweeps of one driver scatter that were taken again, or another day
//	driver    the physics: impedance of a driver, its coil, its air
//	measured  what goes in: impedances with their loads, and what is read off a curve at once
//	fitted    what a fit says
//	connected what hangs on the leads when it is not one driver alone
//	verdict   limits, the decision, the next step
//	change    two measurements of one driver: what changed, and why
//	lot       two drivers or many: do they match, what stands apart
//	ring      mass rings, and the line through several masses
//
// All of it is pure: no file, clock, option or network. All quantities are in SI base
// units (ohm, hertz, kilogram, metre per newton); bench units exist only on screen.
//
// Symbols are those of the trade and of IEC 60268-5: Re, Fs, Qms, Qes, Qts,
// Mms, Cms, Rms, BL, Vas, Sd. docs/theory.md numbers every equation; comments
// in the code refer to those numbers.
package ts

import (
	"conewright/ts/change"
	"conewright/ts/connected"
	"conewright/ts/fitted"
	"conewright/ts/internal/estimate"
	"conewright/ts/lot"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/verdict"
)

// Fit finds the parameters of one driver from sweeps of it: in free air, and
// with added masses or on a closed box when the mass, the compliance or the
// force factor are asked for. Several sweeps of one condition are repeats.
//
// Every model of the ladder is fitted to all sweeps at once by weighted least
// squares; models that the data cannot tell apart are averaged and their spread
// is part of the uncertainty. docs/theory.md, sections 3 and 4, has the equations.
//
// How the bench repeats is part of every uncertainty: as the conditions say, or as is usual.
//
// Fit refuses (with a [*notice.Notice]) sweeps that cannot be those of a single driver
// around its resonance. What the sweeps cannot give is absent from the result,
// with a notice among its warnings that says what would give it. Where the sweeps are hardly
// those of a driver alone, [connected.Judge] says what else is connected.
func Fit(sweeps []measured.Sweep, cond measured.Conditions) (*fitted.Result, error) {
	if cond.Repeatability == nil {
		cond.Repeatability = &repeat.Usual
	}
	result, err := estimate.Fit(sweeps, cond)
	return connected.Judge(sweeps, cond, result, err)
}

// Scatter says how far sweeps in free air of one untouched driver lie apart: the logarithms of
// Fs, Qms and Re of each, less those of the first. [repeat.Learn] makes of it how a bench repeats.
func Scatter(sweeps []measured.Sweep, cond measured.Conditions) ([][3]float64, error) {
	return estimate.Scatter(sweeps, cond)
}

// Check judges a driver against the limits of a spec sheet, see [verdict.Check].
func Check(p param.Parameters, spec verdict.Spec) (*verdict.Checked, error) {
	return verdict.Check(p, spec)
}

// Compare says what changed between two measurements of one driver, and why, see
// [change.Compare].
func Compare(before, after param.Parameters, opt change.Options) (*change.Compared, error) {
	return change.Compare(before, after, opt)
}

// Pair says whether two drivers match, see [lot.Pair].
func Pair(left, right param.Parameters, opt lot.PairOptions) (*lot.Paired, error) {
	return lot.Pair(left, right, opt)
}
