// Package bounds checks numbers that come into package ts from outside: a value that
// cannot be what it is called, because it is no number or in another unit, is refused by
// name.
package bounds

import (
	"math"

	"conewright/ts/notice"
)

// Range is what a quantity can be, in SI units, both ends included. The ends lie far
// outside of anything on a bench, but a value in another unit falls outside of them: a
// temperature in Celsius, a pressure in hPa, an area in cm2, a mass in grams.
// Judgement of this project.
type Range struct {
	Of     string // the name of the quantity in a notice
	Lo, Hi float64
}

// The ranges.
var (
	Temperature = Range{"temperature", 200, 400} // K
	Pressure    = Range{"pressure", 20e3, 200e3} // Pa
	Humidity    = Range{"humidity", 0, 1}        // relative
	Area        = Range{"area", 1e-6, 5}         // m^2
	Mass        = Range{"mass", 1e-7, 5}         // kg
	Volume      = Range{"volume", 1e-6, 10}      // m^3
	Resistance  = Range{"resistance", 1e-3, 1e5} // ohm
	Length      = Range{"length", 1e-6, 5}       // m
	Frequency   = Range{"frequency", 1e-4, 1e7}  // Hz
	Density     = Range{"density", 10, 30e3}     // kg/m^3
	Confidence  = Range{"confidence", 0.5, 1 - 1e-9}
	Quality     = Range{"quality-factor", 1e-3, 1e5}
)

// Holds says whether a value lies in the range.
func (r Range) Holds(v float64) bool { return v >= r.Lo && v <= r.Hi }

// Number refuses a value outside of the range.
func (r Range) Number(v float64) error {
	if r.Holds(v) {
		return nil
	}
	return notice.New("bad-value", notice.Facts{"of": r.Of, "value": v, "low": r.Lo, "high": r.Hi})
}

// Known refuses a value outside of the range, and a standard uncertainty that is none
// or larger than the value.
func (r Range) Known(v, std float64) error {
	if err := r.Number(v); err != nil {
		return err
	}
	if std >= 0 && std <= v {
		return nil
	}
	return notice.New("bad-value", notice.Facts{"of": r.Of, "value": v, "std": std})
}

// Given refuses like [Range.Known] what was entered; a value of zero was not.
func (r Range) Given(v, std float64) error {
	if v == 0 && std >= 0 && !math.IsInf(std, 0) {
		return nil
	}
	return r.Known(v, std)
}

// Finite says whether all numbers are.
func Finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// First returns the first error, nil if there is none.
func First(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
