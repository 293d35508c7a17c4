package connected

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/notice"
)

const (
	// apartBetter is how much smaller than that of a driver the rms below the resonance must be with a difference of the coupling.
	apartBetter = 0.5
	// apartOff is the rms in ln Z of a driver below the resonance under which nothing is tried: noise and what follows no law leave
	// that much.
	apartOff = 0.005
	// leastApart is the least change of the impedance, at the lowest frequency, to be named: closed boxes with a leak look like up to 0.065
	// (60 of package truth).
	leastApart = 0.07
	// The lower limits of inputs with AC coupling (Hz). Common practice: 0.5 to 10 Hz.
	leastCorner, mostCorner = 0.3, 20
	// apartBelow is the factor of the resonance up to which is looked: above it coupling does little, and coils follow other laws.
	apartBelow = 1.5
	// Far below the resonance the reactance of a driver goes with frequency, but for creep: it over frequency, at the low end against
	// near the resonance, lies between these in open sweeps of drivers, 0.62 to 0.84, and nothing is tried there.
	leastSlope, mostSlope = 0.6, 1.2
	// slopeFrom is how far below the resonance a curve must begin for that.
	slopeFrom = 16
	// A curve that begins nearer to the resonance than this factor has too little of the coupling.
	apartFrom = 2.5
)

// apart finds inputs whose AC coupling differs, at the low end of a sweep in the fit of which that is no unknown: it would be taken
// for Re and for losses. Nil where it does not follow the curve far better than a driver.
func apart(z measured.Impedance) *notice.Notice {
	peaks := measured.Peaks(z)
	if z.MagnitudeOnly || len(peaks) == 0 || z.Freq[0] > peaks[0].Freq/apartFrom {
		return nil
	}
	t := thin(z, z.Freq[0], apartBelow*peaks[0].Freq, latePerOctave)
	if t.Len() < fewest {
		return nil
	}
	if fp := peaks[0].Freq; z.Freq[0] < fp/slopeFrom {
		if slope := reactanceSlope(t, z.Freq[0], 2*z.Freq[0]) / reactanceSlope(t, fp/4, fp/2); slope > leastSlope && slope < mostSlope {
			return nil
		}
	}
	starts, _ := guesses(t)
	driver, ok := circuit{OneDriver, [][]float64{{0.05}}, aCreepingDriver}.fit(t, hopeless, starts[0])
	if !ok || driver.rms < apartOff {
		return nil
	}
	best := driver
	for _, c := range couplings(driver.x[xMore]) {
		if s, ok := c.fit(t, min(hopeless, promising*driver.rms), driver.x[:xMore]); ok && s.rms < best.rms {
			best = s
		}
	}
	if best.rms > apartBetter*driver.rms || best.rms > follows || best.x[xR] < best.x[xRe]+math.Log(leastPeak) {
		return nil
	}
	fn, fd := corners(best.x[len(best.x)-2:])
	off := best.coupled(z.Freq[0])
	if max(fn, fd) > mostCorner || min(fn, fd) < leastCorner || off < leastApart {
		return nil
	}
	return notice.New("channels-coupled-apart", notice.Facts{"lower": min(fn, fd), "upper": max(fn, fd), "off": off, "from": z.Freq[0]})
}

// coupled is the relative change of the impedance at f Hz by what the coupling differs.
func (s solved) coupled(f float64) float64 {
	equal := slices.Clone(s.x)
	equal[len(equal)-1] = 0
	return cmplx.Abs(s.with(s.x)(pointAt(f), nil)/s.with(equal)(pointAt(f), nil) - 1)
}

// reactanceSlope is the median of the reactance over frequency (ohm/Hz) from lo to hi Hz, not a number where nothing was measured.
func reactanceSlope(z measured.Impedance, lo, hi float64) float64 {
	var all []float64
	for i, f := range z.Freq {
		if f >= lo && f <= hi {
			all = append(all, imag(z.Z[i])/f)
		}
	}
	if len(all) == 0 {
		return math.NaN()
	}
	return median(all)
}

// couplings are the circuits with inputs whose AC coupling differs, either way round, around 2 Hz; creep
// is where that of the suspension starts.
func couplings(creep float64) []circuit {
	var both, alone [][]float64
	for _, a := range []float64{-0.05, 0.05} {
		alone = append(alone, []float64{creep, math.Log(2), a})
		both = append(both, []float64{creep, 0, math.Log(2), a}) // about 30 ohm
	}
	driver := seen{xMore + 1, aCreepingDriver}
	return []circuit{{Coupling, both, driver.resistorFirst(coupling)}, {Coupling, both, driver.driverFirst(coupling)}, {Coupling, alone, driver.probes(coupling)}}
}
