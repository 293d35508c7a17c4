// Package fitted is what a fit says of one driver: its parameters, the models
// behind them, how well they follow, and what to know before they are used.
package fitted

import (
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Result is the outcome of a fit. All fields always exist.
type Result struct {
	Parameters param.Parameters
	Model      ModelChoice
	Coil       driver.Coil // the coil of the model with the largest weight, with its values
	Quality    Quality
	Hand       measured.Hand // the three-point method, as a cross-check
	Methods    []MassMethod  // Mms by each method that the loads allow; empty for free air alone
	Curves     []Curve       // one for each sweep, in the order given
	Second     *Second       // a second resonance; nil: none was seen
	// Runs has for each sweep in free air, in the order given, how far the logarithms of Fs, Qms and
	// Re lie from the mean of all, with one coil for all of them; nil for a single one.
	Runs     [][3]float64
	Warnings []notice.Notice
}

// ModelChoice says which coil and suspension models stand behind the values.
type ModelChoice struct {
	Coil         string // the model with the largest weight: "plain", "lossy", "two-part"
	Creep        bool
	Alternatives []Alternative // every model tried, weights add up to 1
}

// Alternative is one model of the ladder with its weight in the average.
type Alternative struct {
	Coil   string
	Creep  bool
	Weight float64
	Chi2   float64
}

// Quality describes the residuals of the best model.
type Quality struct {
	ResidualRMSPercent float64    // of |Z|
	White              bool       // residuals show no structure beyond noise
	BandHz             [2]float64 // band that was fitted
	Points             int        // complex points, all sweeps together
	Outliers           int        // points down-weighted
	Chi2               float64
	DoF                int
}

// MassMethod is the moving mass by one way of computing it.
type MassMethod struct {
	Name  string  // "frequencies", "Qes/Fs", "joint fit"
	Value float64 // kg
	Std   float64 // kg
	// SweepStd is the part of Std that is not the uncertainty of the added mass, kg.
	SweepStd float64
}

// Curve is the fitted impedance at the frequencies of one sweep.
type Curve struct {
	Freq     []float64
	Measured []complex128
	Fitted   []complex128
	Sigma    []float64 // ohm, as used for the weights
	// Re is that of the fitted curve, ohm; 0 where magnitudes alone were fitted.
	Re float64
}
