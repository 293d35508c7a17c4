// Package sweeps is how an impedance comes to be: test signals, two-channel
// recordings and text tables, the bench with its wiring and resistor, the
// estimator that turns two channels into an impedance with its noise, and a
// virtual bench that records a driver which exists only as numbers.
//
// The main path is one call, [Open]: it finds out what a file is from its
// content and returns a ts.Impedance, whatever the file was.
package sweeps
