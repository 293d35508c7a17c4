package sweeps

import (
	"math"

	"conewright/ts"
	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	pointsPerOctave = 48   // of the resulting impedance, where the length of the recording allows it
	lowestHz        = 2.0  // below, nothing is of use and sound cards hear nothing
	highestHz       = 20e3 // above, nothing is of use
	worstRelative   = 0.2  // points with more relative noise than this are left out
	weakestBand     = 1e-5 // power of a band relative to the strongest, below which there is no signal
)

// Estimate turns a recording into an impedance with its noise.
func Estimate(rec *Recording, b Bench) (ts.Impedance, error) {
	n := smooth5Below(rec.Frames)
	ch1, ch2 := make([]float64, n), make([]float64, n)
	if err := rec.Read(ch1, ch2, 0); err != nil {
		return ts.Impedance{}, err
	}
	if b.SwapChannels {
		ch1, ch2 = ch2, ch1
	}
	fft := fourier.NewFFT(n)
	x, y := fft.Coefficients(nil, ch1), fft.Coefficients(nil, ch2)
	points := ratios(x, y, rec.Rate/float64(n), lowestHz, min(highestHz, 0.46*rec.Rate))
	return impedance(points, b, rec.Source)
}

// point is the ratio of the channels at one frequency.
type point struct {
	freq     float64    // Hz
	ratio    complex128 // channel 2 over channel 1
	variance float64    // of ratio, complex
	dof      int        // complex degrees of freedom behind variance
}

// ratios fits the ratio of the spectra band by band from lo to hi (Hz).
func ratios(x, y []complex128, binHz, lo, hi float64) []point {
	var points []point
	var power []float64
	strongest := 0.0
	half := math.Exp2(0.5 / pointsPerOctave)
	for j := max(1, int(math.Ceil(lo/binHz))); j < len(x); {
		top := int(math.Ceil(float64(j) * half * half))
		n := max(minCells, top-j)
		if float64(j+n)*binHz > hi || j+n > len(x) {
			break
		}
		var f localFit
		f.add(x[j:j+n], y[j:j+n], legendre(n))
		centre := (float64(j) + float64(n-1)/2) * binHz
		if l, ok := f.solve(); ok {
			perOctave := f.power * centre / float64(n) // power per bin times frequency
			strongest = max(strongest, perOctave)
			points = append(points, point{centre, l.ratio, l.noise * l.gain, l.dof})
			power = append(power, perOctave)
		}
		j += n
	}
	kept := points[:0]
	for i, p := range points {
		if power[i] > weakestBand*strongest {
			kept = append(kept, p)
		}
	}
	return kept
}

// impedance turns ratios into ohms.
func impedance(points []point, b Bench, source string) (ts.Impedance, error) {
	var freq, sigma []float64
	var z []complex128
	for _, p := range points {
		v := b.Wiring.Impedance(p.ratio, b.Resistor)
		// The variance of a complex number is shared by its two parts.
		s := math.Sqrt(p.variance / 2 * sqAbs(b.Wiring.Slope(p.ratio, b.Resistor)))
		if !(s < worstRelative*math.Sqrt(sqAbs(v))) {
			continue
		}
		freq = append(freq, p.freq)
		z = append(z, v-complex(b.Leads, 0))
		sigma = append(sigma, s)
	}
	if len(freq) == 0 {
		return ts.Impedance{}, &BenchError{Code: "no-signal", File: source, Msg: "the two channels have no signal in common",
			Advice: "check that the test signal was playing and that both channels were recorded"}
	}
	out, err := ts.NewImpedance(freq, z, sigma)
	if err != nil {
		return ts.Impedance{}, err
	}
	out.Source = source
	return out, nil
}
