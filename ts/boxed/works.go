package boxed

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/notice"
)

// Works is what decides the impedance in an octave, as far as the curve itself shows.
type Works string

// What works in an octave.
const (
	DriverAndBox Works = "driver-and-box"
	CoilOfDriver Works = "coil" // with leads and contacts: one driver alone
	LowestBranch Works = "lowest-branch"
	UpperBranch  Works = "upper-branches"
)

// How a curve is read; judgement.
const (
	clearPeak      = 0.1   // logarithm of its height over the valleys beside it
	clearCrossover = 0.25  // the same of a peak between two branches: a second resonance of a driver has less
	boxReach       = 10.0  // between the two peaks of a vented box, at most
	boxHighest     = 450.0 // Hz, of them
	// byResonance is the factor above the resonance up to which it decides.
	byResonance = 2.5
	// belowCoil is the part of the least impedance below the resonance that no driver by itself falls under above it.
	belowCoil = 0.75
)

// outlineOf reads where a driver with its box ends, and where in a whole loudspeaker the lowest branch ends: at the peak between it and what
// plays above it. resonance is 0 where no peak is clear, crossover where there is none. several says that more than one driver is connected:
// branches side by side have a peak between them, or less than the resistance of the coil.
func outlineOf(z measured.Impedance) (resonance, crossover float64, several bool) {
	peaks := slices.DeleteFunc(measured.Peaks(z), func(p measured.Peak) bool { return p.Prominence < clearPeak })
	slices.SortFunc(peaks, func(a, b measured.Peak) int { return cmp.Compare(a.Freq, b.Freq) })
	if len(peaks) == 0 || peaks[0].Freq > boxHighest {
		return 0, 0, false
	}
	resonance = peaks[0].Freq
	rest := peaks[1:]
	if len(rest) > 0 && rest[0].Freq < min(boxReach*resonance, boxHighest) {
		resonance, rest = rest[0].Freq, rest[1:]
	}
	below, above := math.Inf(1), math.Inf(1) // least of |Z| to either side of the resonance, or of the upper of two
	for i, f := range z.Freq {
		if v := cmplx.Abs(z.Z[i]); f < resonance {
			below = min(below, v)
		} else {
			above = min(above, v)
		}
	}
	several = above < belowCoil*below
	if i := slices.IndexFunc(rest, func(p measured.Peak) bool { return several || p.Prominence > clearCrossover }); i >= 0 {
		return resonance, rest[i].Freq, true
	}
	return resonance, 0, several
}

// works says for each octave what works there, and returns the crossover.
func works(bands []Band, z measured.Impedance) (crossover float64) {
	resonance, crossover, several := outlineOf(z)
	for i := range bands {
		switch f := bands[i].Freq; {
		case resonance == 0:
		case f < byResonance*resonance:
			bands[i].Works = DriverAndBox
		case !several:
			bands[i].Works = CoilOfDriver
		case f < crossover:
			bands[i].Works = LowestBranch
		case crossover > 0:
			bands[i].Works = UpperBranch
		}
	}
	return crossover
}

// Several says whether more than one driver is connected, by the shape of the curve: a whole loudspeaker, swept at its terminals.
func Several(z measured.Impedance) bool {
	_, _, several := outlineOf(z)
	return several
}

// CompareWhole says where two whole loudspeakers differ, and what works there. Without the list of their parts nothing more is known.
func CompareWhole(z [2]measured.Impedance) (*Compared, error) {
	p := ratio(z[0], z[1], math.Inf(1))
	if len(p.freq) < 8 {
		return nil, notice.New("cabinet-no-overlap", nil)
	}
	c := &Compared{Which: 1, Size: p.rms(), Rms: p.rms(), Bands: p.bands()}
	c.Crossover = works(c.Bands, z[0])
	return c, nil
}
