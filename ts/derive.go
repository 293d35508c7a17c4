package ts

import "math"

// The formulas below are those of handbooks, for one value at a time. The fit
// gets its values from all sweeps at once; these serve as cross-checks that use
// different parts of the data and fail in different ways.

// SdFromDiameter returns the area of a cone in m^2 from its effective diameter
// in m, measured from the middle of the surround to the middle of the opposite
// one, theory (2.1). A relative error of the diameter counts twice in the area
// and four times in Vas.
//
// Source: laboratory notes of a university course (read).
func SdFromDiameter(diameter float64) float64 { return math.Pi / 4 * diameter * diameter }

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

// massFromQ returns Mms in kg from the change of Qes/Fs under the added mass dM
// (kg), theory (2.6):
//
//	Mms = dM / ( (Qes'/Fs')/(Qes/Fs) Re/Re' - 1 )
//
// Qes/(2 pi Fs Re) = Mms/BL^2 does not contain the compliance, so a suspension
// that drifts between the sweeps does no harm. Derived from theory (1.4).
func massFromQ(fs, qes, re, fsLoaded, qesLoaded, reLoaded, dM float64) float64 {
	return dM / (cmesFrom(fsLoaded, qesLoaded, reLoaded)/cmesFrom(fs, qes, re) - 1)
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

// cmesFrom returns the motional capacitance Mms/BL^2 in F, Qes/(2 pi Fs Re),
// theory (1.4). It depends on the mass and not on the compliance.
func cmesFrom(fs, qes, re float64) float64 { return qes / (2 * math.Pi * fs * re) }

// lcesFrom returns the motional inductance BL^2 Cms in H, Re/(2 pi Fs Qes),
// theory (1.4). It depends on the compliance and not on the mass.
func lcesFrom(fs, qes, re float64) float64 { return re / (2 * math.Pi * fs * qes) }

// vasFrom returns Vas in m^3, rho c^2 Sd^2 Cms, from the stiffness of the air
// (Pa), the area (m^2) and the compliance (m/N), theory (2.2).
//
// Source: university course notes (read).
func vasFrom(airStiffness, sd, cms float64) float64 { return airStiffness * sd * sd * cms }

// vasFromFrequencies returns Vas in m^3 from the rise of the resonance from fs
// to fc (Hz) on a closed box of volume vb (m^3), vb ((fc/fs)^2 - 1), theory
// (2.9). It takes the moving mass as equal in both sweeps.
//
// Source: Small, J. Audio Eng. Soc. 20(10), 1972, by way of university course
// notes (read).
func vasFromFrequencies(fs, fc, vb float64) float64 { return vb * ((fc/fs)*(fc/fs) - 1) }

// vasFromQ returns Vas in m^3 from the change of Fs Qes on a closed box of
// volume vb (m^3), theory (2.10):
//
//	Vas = vb ( (fc Qec)/(fs Qes) Re/Re' - 1 )
//
// Fs Qes/Re does not contain the mass, so the air that moves with the cone, and
// is not the same in a box, does no harm.
//
// Source: complete procedure in a public newsgroup, 2003 (read); the ratio of
// the resistances added here.
func vasFromQ(fs, qes, re, fc, qec, reBox, vb float64) float64 {
	return vb * (lcesFrom(fs, qes, re)/lcesFrom(fc, qec, reBox) - 1)
}

// referenceEfficiency returns eta0, acoustic power into half space over
// electrical power into Re, above resonance and without inductance, theory (2.11):
//
//	eta0 = rho/(2 pi c) (BL Sd/Mms)^2/Re
//
// BL in T m, Sd in m^2, Mms in kg, Re in ohm.
//
// Source: university course notes (read).
func referenceEfficiency(bl, sd, mms, re float64, air Air) float64 {
	a := bl * sd / mms
	return air.Density() / (2 * math.Pi * air.SoundSpeed()) * a * a / re
}

// airMass returns the mass in kg of the air that moves with a cone of area sd
// (m^2), both sides together, theory (2.13), a = sqrt(Sd/pi):
//
//	baffle: (16/3) rho a^3      free air: (8/3) rho a^3
//
// It is part of Mms. Between the two mountings Mms differs by half of the first.
//
// Source: university course notes (read), after Beranek, Acoustics.
func airMass(sd float64, m Mounting, air Air) float64 {
	a := math.Sqrt(sd / math.Pi)
	free := 8. / 3 * air.Density() * a * a * a
	if m == Baffle {
		return 2 * free
	}
	return free
}
