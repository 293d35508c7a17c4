package ring

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// printed compares got with a number as a source prints it: equal after rounding to the
// same number of decimals.
func printed(t *testing.T, what string, got float64, want string) {
	t.Helper()
	decimals := len(want) - strings.IndexByte(want, '.') - 1
	if s := fmt.Sprintf("%.*f", decimals, got); s != want {
		t.Errorf("%s = %s, want %s (%.9g)", what, s, want, got)
	}
}

// How the error of the added-mass formula grows as the fall of the resonance
// shrinks, and how large a mass a fall needs. Derived; testdata/handbook/derived.txt.
func TestMassErrorGain(t *testing.T) {
	for _, row := range []struct {
		fall                  float64
		r, mass, gain, second string
	}{
		{0.10, "1.2346", "0.235", "10.5", "8.5"},
		{0.20, "1.5625", "0.5625", "5.56", "3.56"},
		{0.25, "1.7778", "0.778", "4.57", "2.57"},
		{0.30, "2.0408", "1.041", "3.92", "1.92"},
		{0.40, "2.7778", "1.778", "3.125", "1.125"},
		{0.50, "4.0000", "3.000", "2.67", "0.67"},
	} {
		fs, fsLoaded := 1.0, 1-row.fall
		gain := massErrorGain(fs, fsLoaded)
		printed(t, "r", fs*fs/(fsLoaded*fsLoaded), row.r)
		printed(t, "dM/Mms", 1/massFromFrequencies(fs, fsLoaded, 1), row.mass)
		printed(t, "2r/(r-1)", gain, row.gain)
		printed(t, "2/(r-1)", gain-2, row.second)

		// The formula against the derivative of what it describes.
		const h = 1e-6
		slope := (massFromFrequencies(fs*(1+h), fsLoaded, 1) - massFromFrequencies(fs*(1-h), fsLoaded, 1)) / (2 * h) / massFromFrequencies(fs, fsLoaded, 1)
		if math.Abs(math.Abs(slope)/gain-1) > 1e-6 {
			t.Errorf("fall %v: relative slope %v, gain %v", row.fall, slope, gain)
		}
		want := math.Sqrt(0.01*0.01 + slope*slope*(0.002*0.002+0.003*0.003))
		if got := massFromFrequenciesStd(fs, fsLoaded, 0.01, 0.002, 0.003); math.Abs(got/want-1) > 1e-6 {
			t.Errorf("fall %v: relative uncertainty %v, want %v", row.fall, got, want)
		}
	}
}

// Creep makes the formula from frequencies low, always, and that from Qes/Fs
// less so. Source: derived, with compliance C0 (1 - lambda log10(f/fs)) and no
// losses: the resonances are where w^2 C(w) times the mass is one.
func TestMassFromFrequenciesCreepBias(t *testing.T) {
	for _, row := range []struct{ lambda, dM, ratio float64 }{
		{0.05, 1, 0.985}, {0.10, 1, 0.970}, {0.15, 1, 0.955}, {0.20, 1, 0.941},
		{0.10, 2.6, 0.962}, {0.15, 2.6, 0.944},
	} {
		lo, hi := 0.1, 1.0 // f/fs of the loaded resonance
		for range 100 {
			mid := (lo + hi) / 2
			if mid*mid*(1-row.lambda*math.Log10(mid))*(1+row.dM) < 1 {
				lo = mid
			} else {
				hi = mid
			}
		}
		printed(t, fmt.Sprintf("Mms/true at lambda %v, dM %v", row.lambda, row.dM),
			massFromFrequencies(1, lo, row.dM), fmt.Sprintf("%.3f", row.ratio))
	}
}
