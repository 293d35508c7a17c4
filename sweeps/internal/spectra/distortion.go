package spectra

import (
	"math"

	"conewright/sweeps/internal/dsp"
	"conewright/ts/measured"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	distortionTop   = 1000.0 // Hz
	fewestFreeLines = 10     // of either kind
	byChance        = 1e-3   // of recordings in which noise alone passes the floor
)

// distortion says what appeared, up to distortionTop, on the lines between the tones, relative to these. What channel 1 has there
// is taken out with the ratio at the nearest tone, so that distortion of the
// amplifier does not count. It is nil where too few lines are free, as in noise
// that repeats itself. Theory (6.10).
//
// Source: Pintelon and Schoukens, System Identification, 2nd ed., detection
// lines of odd multisines (from memory).
func (l *lines) distortion(on []bool) *measured.FreeLines {
	m := float64(l.Count)
	var power [2]float64 // even, odd
	var noise, squares [2]float64
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
		v := max(0, scatter) / (m - 1) / m
		noise[k%2] += v
		squares[k%2] += v * v
		free[k%2]++
	}
	if free[0] < fewestFreeLines || free[1] < fewestFreeLines || tones == 0 {
		return nil
	}
	of := func(i int) measured.FreeLine {
		f := measured.FreeLine{Share: math.Sqrt(max(0, power[i]-noise[i]) / tones)}
		if noise[i] > 0 {
			// As many lines as have these unequal variances; each has 2 degrees of freedom, and 2(m-1) in its variance.
			n := noise[i] * noise[i] / squares[i] * m / (m - 1)
			f.Floor = math.Sqrt(noise[i] * (distuv.F{D1: 2 * n, D2: 2 * n * (m - 1)}.Quantile(1-byChance) - 1) / tones)
		}
		return f
	}
	return &measured.FreeLines{Even: of(0), Odd: of(1)}
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
