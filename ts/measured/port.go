package measured

import (
	"slices"

	"conewright/ts/notice"
)

// Port is what one looks at the curve of a driver in a vented box for: its two peaks and the dip between
// them, and what these say of driver and box without losses, theory (10.7).
type Port struct {
	Lower, Upper Peak    // of |Z|
	Peak         Outline // the upper of them
	Driver       Outline // Re, and Fs, Qms and Res of the driver in the box
	Tuning       float64 // Hz, fb
	Alpha        float64 // stiffness of the air in the box over that of the suspension
}

// heightLost is how much higher the peak of a driver is alone than in a box with usual losses, about.
const heightLost = 1.2

// leastPortPeak is how far the smaller of two peaks of a vented box must rise, as logarithm of |Z|.
const leastPortPeak = 0.05

// PortOf reads a vented box off a curve. It refuses one without two peaks and a dip.
//
//	fb at the dip     fs = fL fH/fb     alpha = (fH^2 - fb^2)(fb^2 - fL^2)/(fL fH)^2
//	1/Cmes = 1/C1 + 1/C2,  C = Q/(w R) of each peak
//
// Source: Small, J. Audio Eng. Soc. 21, 1973, 363 (from memory; derived again, and checked against a circuit
// simulator); the last line is Foster's theorem (from memory).
func PortOf(z Impedance) (Port, error) {
	refuse := func(code string, facts notice.Facts) (Port, error) {
		return Port{}, notice.New(code, facts).In(z.Source)
	}
	n := z.Len()
	if n < minPoints {
		return refuse("too-few-points", notice.Facts{"points": n, "least": minPoints})
	}
	mag := magnitudes(z)
	if i := slices.IndexFunc(mag, func(m float64) bool { return !(m > 0) }); i >= 0 {
		return refuse("zero-impedance", notice.Facts{"frequency": z.Freq[i]})
	}
	peaks := findPeaks(mag)
	if len(peaks) < 2 || peaks[1].prominence < leastPortPeak {
		return refuse("no-second-peak", notice.Facts{"from": z.Freq[0], "to": z.Freq[n-1]})
	}
	low, high := peaks[0], peaks[1]
	if low.index > high.index {
		low, high = high, low
	}
	between := mag[low.index : high.index+1]
	dip := low.index + slices.Index(between, slices.Min(between))
	fl, fh, fb := z.Freq[low.index], z.Freq[high.index], z.Freq[dip]
	c := func(o Outline) float64 { return o.Qms / (o.Fs * o.Res) } // times 2 pi, F
	lower, upper := outlineAt(z, mag, low.index), outlineAt(z, mag, high.index)
	cmes := 1 / (1/c(lower) + 1/c(upper))
	fs := fl * fh / fb
	res := heightLost * max(lower.Res, upper.Res)
	return Port{
		Lower: Peak{fl, mag[low.index], low.prominence}, Upper: Peak{fh, mag[high.index], high.prominence},
		Peak:   upper,
		Driver: Outline{Re: min(lower.Re, upper.Re), Fs: fs, Res: res, Qms: min(max(fs*cmes*res, 0.5), 30)},
		Tuning: fb,
		Alpha:  max(0.05, (fh*fh-fb*fb)*(fb*fb-fl*fl)/(fl*fl*fh*fh)),
	}, nil
}
