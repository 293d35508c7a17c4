package ring

import "math"

// The formulas below are those of handbooks, for two sweeps. The fit gets its values from
// all sweeps at once.

// massFromFrequencies returns Mms in kg from the fall of the resonance from fs
// to fsLoaded (Hz) under the added mass dM (kg), theory (2.5):
//
//	Mms = dM / ( (fs/fsLoaded)^2 - 1 )
//
// It takes the compliance as equal in both sweeps; a suspension that creeps or
// drifts makes it wrong by 4 times the drift of fs at dM = Mms. Creep makes it
// low by 1.5 to 7 %.
//
// Source: university course notes (read).
func massFromFrequencies(fs, fsLoaded, dM float64) float64 {
	r := fs / fsLoaded
	return dM / (r*r - 1)
}

// massErrorGain returns 2r/(r-1), r = (fs/fsLoaded)^2: by how much a relative
// error of one of the two frequencies counts in massFromFrequencies, theory
// (2.7). Derived.
func massErrorGain(fs, fsLoaded float64) float64 {
	r := fs / fsLoaded * (fs / fsLoaded)
	return 2 * r / (r - 1)
}

// massFromFrequenciesStd returns the relative standard uncertainty of
// massFromFrequencies from those of the added mass and of the two independent
// frequencies, theory (2.7):
//
//	(u(Mms)/Mms)^2 = (u(dM)/dM)^2 + (2r/(r-1))^2 ( (u(fs)/fs)^2 + (u(fs')/fs')^2 )
//
// Derived by the law of propagation, JCGM 100.
func massFromFrequenciesStd(fs, fsLoaded, relMass, relFs, relFsLoaded float64) float64 {
	return math.Hypot(relMass, massErrorGain(fs, fsLoaded)*math.Hypot(relFs, relFsLoaded))
}
