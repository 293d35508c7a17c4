package friction

import (
	"math"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// With returns p with the friction that was found, so that it can be held against a limit. Where none was named it is zero
// with an interval up to the least that would have been.
func (f Found) With(p param.Parameters) param.Parameters {
	if f.Rubs {
		return with(p, param.Friction, f.Force, (f.Force-f.Low)/normal95, (f.High-f.Force)/normal95)
	}
	return with(p, param.Friction, 0, 0, f.Least/normal95)
}

// Distortion is what a driver adds to its current at its resonance.
type Distortion struct {
	Share, Std float64 // of the current: root of the sum of squares of the orders that were followed
}

const (
	aroundFs = 1. / 6 // octaves to either side of the resonance that are averaged over
	// apartWithin is how well an order is told from the others, relative: 0.3 dB (tests against an integration in time).
	apartWithin = 0.035
)

// DistortionOf returns the distortion of the first sweep in free air that has harmonics, averaged as a power over a third of
// an octave around the resonance, without the power of the noise; false where no sweep has any. The fit is that of the same
// sweeps.
func DistortionOf(sweeps []measured.Sweep, f *fitted.Result) (Distortion, bool) {
	fs, ok := f.Parameters.Get(param.Fs)
	if !ok {
		return Distortion{}, false
	}
	for i, s := range sweeps {
		h := s.Impedance.Harmonics
		if s.Load.Kind != measured.Free || h == nil || s.Impedance.MagnitudeOnly || len(f.Curves[i].Freq) < 2 {
			continue
		}
		l := linear{freq: f.Curves[i].Freq, z: f.Curves[i].Measured}
		var power, variance float64
		n := 0
		for k, g := range h.Freq {
			if math.Abs(math.Log2(g/fs.Value)) > aroundFs || l.outside(g) {
				continue
			}
			n++
			z := l.at(l.z, g)
			perAmpere := (real(z)*real(z) + imag(z)*imag(z)) / (h.Voltage[k] * h.Voltage[k])
			for _, o := range h.Orders {
				if k >= len(o.Current) {
					break
				}
				c, quiet := o.Current[k], o.Noise[k]*o.Noise[k]
				size := real(c)*real(c) + imag(c)*imag(c)
				power += (size - 2*quiet) * perAmpere
				// Of |c|^2 with noise of this variance in each part; neighbours share their noise.
				variance += 4 * quiet * (max(0, size-2*quiet) + quiet) * perAmpere * perAmpere
			}
		}
		if n == 0 {
			continue
		}
		power, variance = power/float64(n), variance/float64(n)
		// From power to amplitude; without any the noise is all there is.
		share := math.Sqrt(max(0, power))
		std := math.Sqrt(math.Sqrt(variance))
		if share > std {
			std = math.Sqrt(variance) / (2 * share)
		}
		return Distortion{share, math.Hypot(std, apartWithin*share)}, true
	}
	return Distortion{}, false
}

// With returns p with the distortion.
func (d Distortion) With(p param.Parameters) param.Parameters {
	return with(p, param.Distortion, d.Share, min(d.Share/normal95, d.Std), d.Std)
}

// normal95 is the half-width of a 95 % interval in standard deviations.
const normal95 = 1.96

// with returns p with one more value, whose error has to do with no other's; down and up are its standard uncertainties
// to either side.
func with(p param.Parameters, id param.ID, value, down, up float64) param.Parameters {
	n := len(p.IDs)
	variance := (down*down + up*up) / 2
	if p.Noise != nil {
		noise := mat.NewSymDense(n+1, nil)
		for a := range n {
			for b := a; b < n; b++ {
				noise.SetSym(a, b, p.Noise.At(a, b))
			}
		}
		p.Noise = noise
	}
	components := make([]param.Component, 0, len(p.Components)+1)
	for _, c := range p.Components {
		c.Effect = append(slices.Clone(c.Effect), 0)
		components = append(components, c)
	}
	effect := make([]float64, n+1)
	effect[n] = math.Sqrt(variance)
	p.Components = append(components, param.Component{Source: id.String(), Part: param.ModelPart, Own: true, Effect: effect})
	skew := make([][2]float64, n+1)
	copy(skew, p.Skew)
	skew[n] = [2]float64{down*down - variance, up*up - variance}
	p.IDs, p.Scaled, p.Origin, p.Skew = append(slices.Clone(p.IDs), id), append(slices.Clone(p.Scaled), value), append(slices.Clone(p.Origin), param.FromFit), skew
	return p
}
