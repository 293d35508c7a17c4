package contact

import (
	"math"

	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

const (
	residualOut    = 8.0  // times the usual size of the residual nearby, as its standard deviation
	residualPart   = 0.15 // of the rms of channel 2 nearby
	residualAround = 3    // samples at the low rate that go with an interval on either side: the filters smear it
	residualBeside = 10   // blocks on either side that tell what is usual
)

// residuals looks for short intervals in which channel 2, at the low rate, is far from
// what channel 1 and the ratio h make of it.
func residuals(e *spectra.Result, h ratioCurve) []spectra.Interval {
	rate := e.Low[0].Rate
	rest := residual(e, h)
	if rest == nil {
		return nil
	}
	recorded := e.Low[1].Samples
	on, off := played(e)
	from, to := int(on*rate), min(int(off*rate), len(rest))
	if e.Lines != nil {
		from, to = int(e.Lines.Start*rate), int((e.Lines.Start+e.Lines.Period*float64(e.Lines.Count))*rate)
	}
	size := max(1, int(spectra.BlockSeconds*rate))
	blocks := len(rest) / size
	usual, power := make([]float64, blocks), make([]float64, blocks)
	for i := range blocks {
		usual[i] = dsp.Median(unsigned(rest[i*size : (i+1)*size]))
		power[i] = floats.Dot(recorded[i*size:(i+1)*size], recorded[i*size:(i+1)*size]) / float64(size)
	}
	var all []spectra.Interval
	for i := range blocks {
		lo, hi := max(0, i-residualBeside), min(blocks, i+residualBeside+1)
		limit := max(residualOut*dsp.Median(usual[lo:hi])/0.6745, residualPart*math.Sqrt(dsp.Median(power[lo:hi])))
		for k := max(from, i*size); k < min(to, (i+1)*size); k++ {
			if math.Abs(rest[k]) <= limit {
				continue
			}
			at := float64(k) / rate
			all = append(all, spectra.Interval{From: at - residualAround/rate, To: at + residualAround/rate})
		}
	}
	return all
}

func unsigned(x []float64) []float64 {
	a := make([]float64, len(x))
	for i, v := range x {
		a[i] = math.Abs(v)
	}
	return a
}

// residual returns channel 2 at the low rate without what follows from channel 1, nil
// where the ratio h is not known well enough.
func residual(e *spectra.Result, h ratioCurve) []float64 {
	rate := e.Low[0].Rate
	x, y := e.Low[0].Samples, e.Low[1].Samples
	n := min(len(x), len(y))
	if n == 0 || !h.known() {
		return nil
	}
	size := dsp.Smooth5(n + int(ringing*rate))
	fft := fourier.NewFFT(size)
	padded := make([]float64, size)
	transform := func(v []float64) []complex128 {
		clear(padded)
		copy(padded, v[:n])
		floats.AddConst(-floats.Sum(v[:n])/float64(n), padded[:n])
		return fft.Coefficients(nil, padded)
	}
	fx, fy := transform(x), transform(y)
	for k := range fy {
		f := float64(k) * rate / float64(size)
		if f < spectra.LowestHz || f > spectra.Usable*rate {
			fy[k] = 0 // of other frequencies that fold back the ratio is another
			continue
		}
		fy[k] -= h.at(f) * fx[k]
	}
	out := fft.Sequence(padded, fy)[:n]
	floats.Scale(1/float64(size), out)
	return out
}
