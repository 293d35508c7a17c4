package spectra

import (
	"math"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/ts/measured"
)

// converterError is the standard uncertainty of the ratio, relative, that is never
// claimed to be beaten: converters are linear to about -100 dB (common practice).
const converterError = 1e-5

// Impedance turns the ratios into ohms, with their noise and the errors of the bench. It
// holds no point where no ratio says anything.
func (e *Result) Impedance(b bench.Bench) (measured.Impedance, error) {
	var freq, sigma []float64
	var z, h []complex128
	for _, p := range e.Points {
		v := b.Impedance(p.Freq, p.Ratio)
		// The variance of a complex number is shared by its two parts.
		converters := converterError * converterError / 2 * dsp.SqAbs(p.Ratio)
		s := math.Sqrt((p.Variance()/2 + converters + b.CalibrationNoise(p.Freq, p.Ratio)) * dsp.SqAbs(b.Slope(p.Freq, p.Ratio)))
		if !(s > 0 && s < WorstRelative*math.Sqrt(dsp.SqAbs(v))) {
			continue
		}
		freq = append(freq, p.Freq)
		z = append(z, v)
		h = append(h, p.Ratio)
		sigma = append(sigma, s)
	}
	if len(freq) == 0 {
		return measured.Impedance{}, nil
	}
	out, err := measured.NewImpedance(freq, z, sigma)
	if err != nil {
		return measured.Impedance{}, err
	}
	out.Source = e.Rec.Source
	out.Systematic = b.Systematic(freq, h)
	return out, nil
}
