package gates

import (
	"math"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/measured"
)

const (
	converterDoubt = 1e-5 // standard uncertainty of the ratio, relative, that is never claimed to be beaten: converters are linear to about -100 dB (common practice)
)

// NoSignal is the error for a recording without anything in common between its
// channels.
func NoSignal(source string) error {
	return &fault.BenchError{Code: "no-signal", File: source, Msg: "the two channels have no signal in common",
		Advice: "check that the test signal was playing and that both channels were recorded"}
}

// Impedance turns the ratios into ohms.
func Impedance(e *spectra.Heard, b bench.Bench) (measured.Impedance, error) {
	var freq, sigma []float64
	var z, h []complex128
	for _, p := range e.Points {
		v := b.Impedance(p.Freq, p.Ratio)
		// The variance of a complex number is shared by its two parts.
		doubt := converterDoubt * converterDoubt / 2 * dsp.SqAbs(p.Ratio)
		s := math.Sqrt((p.Variance()/2 + doubt + b.CalibrationNoise(p.Freq, p.Ratio)) * dsp.SqAbs(b.Slope(p.Freq, p.Ratio)))
		if !(s > 0 && s < spectra.WorstRelative*math.Sqrt(dsp.SqAbs(v))) {
			continue
		}
		freq = append(freq, p.Freq)
		z = append(z, v)
		h = append(h, p.Ratio)
		sigma = append(sigma, s)
	}
	if len(freq) == 0 {
		return measured.Impedance{}, unrelated(e, b.Wiring)
	}
	out, err := measured.NewImpedance(freq, z, sigma)
	if err != nil {
		return measured.Impedance{}, err
	}
	out.Source = e.Rec.Source
	out.Systematic = b.Systematic(freq, h)
	return out, nil
}
