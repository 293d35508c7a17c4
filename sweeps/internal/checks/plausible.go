package checks

import (
	"math"
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// Implausible refuses impedances that no driver has.
func Implausible(z measured.Impedance, b bench.Bench) error {
	var negative, judged int
	worst, at := 0.0, 0.0
	for i, v := range z.Z {
		if z.Freq[i] > 5000 {
			break
		}
		judged++
		size := math.Sqrt(dsp.SqAbs(v))
		if re := real(v); re < -5*z.Sigma[i] && re < -0.02*size {
			negative++
			if re/size < worst {
				worst, at = re/size, z.Freq[i]
			}
		}
	}
	if 10*negative > judged && negative > 2 {
		return notice.New("negative-resistance", notice.Facts{"points": negative, "of": judged, "frequency": at}).In(z.Source)
	}
	if upsideDown(z) {
		now, try := b.Wiring, "swap"
		switch {
		case now == bench.ResistorFirst:
			try = bench.DriverFirst.String()
		case now == bench.DriverFirst:
			try = bench.ResistorFirst.String()
		case neverBelow(z, 0.95*b.Resistor): // R + R^2/Z, and not R^2/Z
			try = bench.ResistorFirst.String()
		case b.SwapChannels:
			try = "no-swap"
		}
		return notice.New("wrong-wiring", notice.Facts{"wiring": now.String(), "try": try}).In(z.Source)
	}
	return nil
}

// upsideDown says whether z looks like R^2 over the impedance of a driver: a
// deep dip below 500 Hz instead of a peak, and capacitive at its upper end.
func upsideDown(z measured.Impedance) bool {
	var size []float64
	for i, f := range z.Freq {
		if f > 8 && f < 500 {
			size = append(size, math.Sqrt(dsp.SqAbs(z.Z[i])))
		}
	}
	if len(size) < 20 {
		return false
	}
	peak := prominence(size)
	for i := range size {
		size[i] = 1 / size[i]
	}
	dip := prominence(size)
	var top float64
	for i := z.Len() * 7 / 8; i < z.Len(); i++ {
		top += imag(z.Z[i]) / math.Sqrt(dsp.SqAbs(z.Z[i]))
	}
	return dip > 1.5 && dip > 1.5*peak && top < 0
}

// neverBelow says whether |z| stays above the limit (ohm).
func neverBelow(z measured.Impedance, limit float64) bool {
	return !slices.ContainsFunc(z.Z, func(v complex128) bool { return dsp.SqAbs(v) < limit*limit })
}

// prominence returns by what factor the highest point of x stands above the
// lowest points on its two sides.
func prominence(x []float64) float64 {
	n := len(x)
	right := make([]float64, n+1) // lowest from i on
	right[n] = math.Inf(1)
	for i := n - 1; i >= 0; i-- {
		right[i] = min(right[i+1], x[i])
	}
	best, left := 0.0, math.Inf(1)
	for i, v := range x {
		if i > 0 && i < n-1 {
			best = max(best, min(v/left, v/right[i+1]))
		}
		left = min(left, v)
	}
	return best
}
