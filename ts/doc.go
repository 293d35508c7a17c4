// Package ts holds the physics of a moving-coil driver and the judgement of
// its repair: the electrical impedance of a driver, the fit of that impedance
// to measured sweeps, the uncertainty of every value, and the comparison of a
// driver with what it was and with what it should be.
//
// The package is pure. It opens no file, reads no clock, knows no flag and no
// network: a sweep goes in as an [Impedance], a decision comes out as a value.
// All quantities are in SI base units (ohm, hertz, kilogram, metre per newton);
// bench units such as grams and millimetres per newton exist only on screen.
//
// The main path is short:
//
//	fitted, err := ts.Fit(sweeps, conditions) // Impedance -> Parameters
//	checked, err := ts.Check(fitted.Parameters, spec)
//	compared, err := ts.Compare(before, after, ts.CompareOptions{Spec: &spec})
//
// Symbols are those of the trade and of IEC 60268-5: Re, Fs, Qms, Qes, Qts,
// Mms, Cms, Rms, BL, Vas, Sd. docs/theory.md numbers every equation; comments
// in the code refer to those numbers.
package ts
