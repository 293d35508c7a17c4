package driver

import (
	"math"

	"conewright/ts/param"
)

// The formulas below are those of handbooks, for one value at a time. The fit
// gets its values from all sweeps at once.

// SdFromDiameter returns the area of a cone in m^2 from its effective diameter
// in m, measured from the middle of the surround to the middle of the opposite
// one, theory (2.1). A relative error of the diameter counts twice in the area
// and four times in Vas.
//
// Source: laboratory notes of a university course (read).
func SdFromDiameter(diameter float64) float64 { return math.Pi / 4 * diameter * diameter }

// MassFromFrequencies returns Mms in kg from the fall of the resonance from fs
// to fsLoaded (Hz) under the added mass dM (kg), theory (2.5):
//
//	Mms = dM / ( (fs/fsLoaded)^2 - 1 )
//
// It takes the compliance as equal in both sweeps; a suspension that creeps or
// drifts makes it wrong by 4 times the drift of fs at dM = Mms. Creep makes it
// low by 1.5 to 7 %.
//
// Source: university course notes (read).
func MassFromFrequencies(fs, fsLoaded, dM float64) float64 {
	r := fs / fsLoaded
	return dM / (r*r - 1)
}

// MassErrorGain returns 2r/(r-1), r = (fs/fsLoaded)^2: by how much a relative
// error of one of the two frequencies counts in massFromFrequencies, theory
// (2.7). Derived.
func MassErrorGain(fs, fsLoaded float64) float64 {
	r := fs / fsLoaded * (fs / fsLoaded)
	return 2 * r / (r - 1)
}

// MassFromFrequenciesStd returns the relative standard uncertainty of
// massFromFrequencies from those of the added mass and of the two independent
// frequencies, theory (2.7):
//
//	(u(Mms)/Mms)^2 = (u(dM)/dM)^2 + (2r/(r-1))^2 ( (u(fs)/fs)^2 + (u(fs')/fs')^2 )
//
// Derived by the law of propagation, JCGM 100.
func MassFromFrequenciesStd(fs, fsLoaded, relMass, relFs, relFsLoaded float64) float64 {
	return math.Hypot(relMass, MassErrorGain(fs, fsLoaded)*math.Hypot(relFs, relFsLoaded))
}

// AirMass returns the mass in kg of the air that moves with a cone of area sd
// (m^2), both sides together, theory (2.13), a = sqrt(Sd/pi):
//
//	baffle: (16/3) rho a^3      free air: (8/3) rho a^3
//
// It is part of Mms. Between the two mountings Mms differs by half of the first.
//
// Source: university course notes (read), after Beranek, Acoustics.
func AirMass(sd float64, m param.Mounting, air Air) float64 {
	a := math.Sqrt(sd / math.Pi)
	free := 8. / 3 * air.Density() * a * a * a
	if m == param.Baffle {
		return 2 * free
	}
	return free
}
