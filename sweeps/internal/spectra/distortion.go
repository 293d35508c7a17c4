package spectra

import (
	"math"

	"conewright/sweeps/internal/dsp"
)

// Distortion is what a multitone says about the driver's non-linearity, up to
// distortionTop: power that appeared on lines where nothing was played,
// relative to that of the tones, both as root of sums of squares.
type Distortion struct {
	Even, Odd float64 // relative amplitude
	Noise     float64 // what noise alone would have shown on as many lines
}

// Total returns the relative amplitude of even and odd distortion together.
func (d Distortion) Total() float64 { return math.Hypot(d.Even, d.Odd) }

const (
	distortionTop   = 1000.0 // Hz
	fewestFreeLines = 10     // of either kind
)

// distortion listens on the lines between the tones. What channel 1 has there
// is taken out with the ratio at the nearest tone, so that distortion of the
// amplifier does not count. It is nil where too few lines are free, as in noise
// that repeats itself. Theory (6.10).
//
// Source: Pintelon and Schoukens, System Identification, 2nd ed., detection
// lines of odd multisines (from memory).
func (l *lines) distortion(on []bool) *Distortion {
	m := float64(l.Count)
	var power [2]float64 // even, odd
	var noise [2]float64
	var free [2]int
	var tones float64
	var h complex128
	first, last := -1, -1
	for k, is := range on {
		if is && float64(k) <= distortionTop*l.Period {
			if first < 0 {
				first = k
			}
			last = k
		}
	}
	for k := first; k >= 0 && k <= last; k++ {
		if on[k] {
			h, _ = l.ratio(k)
			tones += dsp.SqAbs(l.y[k]) / (m * m)
			continue
		}
		if isHum(float64(k) / l.Period) {
			continue
		}
		d := l.y[k] - h*l.x[k]
		mean := dsp.SqAbs(d) / (m * m)
		scatter := l.yy[k] + dsp.SqAbs(h)*l.xx[k] - 2*real(conj(h)*l.yx[k]) - m*mean
		power[k%2] += mean
		noise[k%2] += max(0, scatter) / (m - 1) / m
		free[k%2]++
	}
	if free[0] < fewestFreeLines || free[1] < fewestFreeLines || tones == 0 {
		return nil
	}
	share := func(i int) float64 { return math.Sqrt(max(0, power[i]-noise[i]) / tones) }
	return &Distortion{Even: share(0), Odd: share(1), Noise: math.Sqrt((noise[0] + noise[1]) / tones)}
}

// isHum says whether f (Hz) is near a harmonic of a mains frequency.
func isHum(f float64) bool {
	for _, hz := range MainsHz {
		h := math.Round(f / hz)
		if h >= 1 && math.Abs(f-h*hz) < 0.6+0.1*h {
			return true
		}
	}
	return false
}
