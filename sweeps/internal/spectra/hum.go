package spectra

import (
	"math"
	"slices"

	"conewright/sweeps/internal/dsp"
)

// MainsHz are the frequencies of the world's mains.
var MainsHz = [...]float64{50, 60}

// humTop is the highest harmonic of the mains that is looked for, in Hz.
const humTop = 1000

// humExcess is the power around the harmonics of the mains, relative to that
// beside them, above which there is hum.
const humExcess = 3

// hum is the mains hum found in a recording.
type hum struct {
	Mains int     // index in mainsHz, -1 when there is none
	share float64 // power of hum relative to the noise in the bands concerned
}

// humBins says which of the n bins from j, binHz apart, hold hum from mains of
// hz, or nil when none does. The mains wander by a tenth of a hertz, their
// harmonic h by h times that.
func humBins(j, n int, binHz, hz float64) []bool {
	var skip []bool
	for i := range n {
		f := float64(j+i) * binHz
		h := math.Round(f / hz)
		if h < 1 || h*hz > humTop {
			continue
		}
		if math.Abs(f-h*hz) <= max(0.5+0.1*h, 8*binHz) {
			if skip == nil {
				skip = make([]bool, n)
			}
			skip[i] = true
		}
	}
	return skip
}

// findHum compares the noise of bands with and without the bins around the
// harmonics of the mains.
func findHum(bands []band) hum {
	best := hum{Mains: -1}
	for m := range MainsHz {
		var excess, expected float64
		for i := range bands {
			b := &bands[i]
			if !b.hum(m) {
				continue
			}
			with, ok := b.solve(0)
			if !ok {
				continue
			}
			// The quiet neighbourhood: the nearest bands that hold no hum.
			quiet, n := 0.0, 0
			for d := 1; n < 4 && d < 60; d++ {
				for _, k := range []int{i - d, i + d} {
					if k < 0 || k >= len(bands) || bands[k].hum(m) {
						continue
					}
					if l, ok := bands[k].solve(0); ok {
						quiet += l.noise / (1 + dsp.SqAbs(l.ratio))
						n++
					}
				}
			}
			if n == 0 {
				continue
			}
			excess += with.noise / (1 + dsp.SqAbs(with.ratio)) / (quiet / float64(n))
			expected++
		}
		if expected > 0 && excess/expected > humExcess && excess/expected > best.share {
			best = hum{Mains: m, share: excess / expected}
		}
	}
	return best
}

// hum compares what there is on the free lines around the harmonics of the mains
// with the free lines beside them. Local fits cannot do this for tones: between
// them there is nothing to fit.
func (l *lines) hum(on []bool) hum {
	const (
		beside = 0.25 // of the frequency, on either side
		fewest = 6    // free lines beside
	)
	power := make([]float64, len(l.x)) // of Y - H X, with H at the nearest tone below
	var h complex128
	for k := range power {
		if on[k] {
			h, _ = l.ratio(k)
			continue
		}
		power[k] = l.yy[k] + dsp.SqAbs(h)*l.xx[k] - 2*real(conj(h)*l.yx[k])
	}
	best := hum{Mains: -1}
	for m, hz := range MainsHz {
		var excess, harmonics float64
		for f := hz; f <= humTop; f += hz {
			at := int(math.Round(f * l.Period))
			reach := max(1, int(0.5*l.Period))
			var near float64
			var quiet []float64
			for k := int((1 - beside) * float64(at)); k <= int((1+beside)*float64(at)) && k < len(power); k++ {
				switch {
				case k < 1 || on[k]:
				case k >= at-reach && k <= at+reach:
					near = max(near, power[k])
				case !isHum(float64(k) / l.Period):
					quiet = append(quiet, power[k])
				}
			}
			if len(quiet) < fewest || near == 0 {
				continue
			}
			slices.Sort(quiet)
			// The largest of several is compared with the largest tenth.
			excess += near / max(quiet[len(quiet)*9/10], 1e-300)
			harmonics++
		}
		if harmonics > 0 && excess/harmonics > humExcess && excess/harmonics > best.share {
			best = hum{Mains: m, share: excess / harmonics}
		}
	}
	return best
}
