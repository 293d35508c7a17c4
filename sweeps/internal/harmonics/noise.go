package harmonics

import (
	"math"
	"slices"

	"conewright/sweeps/internal/dsp"
)

// noise is the power of the noise in a separated signal, for a window whose squares add up to one.
type noise struct {
	binHz float64
	power []float64
}

// Where noise is listened to: after the sweep has passed a frequency only the driver's ringing is left there, and that is
// in the ratio of the channels.
const (
	quietFrom   = 0.5  // s after the sweep
	quietLong   = 0.3  // s of a window
	quietStep   = 0.15 // s from one to the next
	quietCount  = 8    // of windows
	quietSpread = 0.08 // octaves to either side that are averaged over
)

// quiet returns the time (s from the start of the samples) at which all has been heard that tells of the noise up to top (Hz).
func (s sweep) quiet(top float64) float64 {
	return s.time(top*math.Exp2(quietSpread)) + quietFrom + (quietCount-1)*quietStep + quietLong
}

// floor returns the noise of a recording of so many seconds, up to the frequency top (Hz). Near the highest frequencies the
// recording may end before the last windows do; they are left out there.
func (x separated) floor(seconds, top float64) noise {
	var out noise
	var heard []float64
	c := window{before: quietLong / 2, after: quietLong / 2}.cutter(x.rate)
	for k := range quietCount {
		from := quietFrom + float64(k)*quietStep
		r := c.cut(x, from+quietLong/2)
		if out.power == nil {
			out = noise{r.binHz, make([]float64, len(r.bins))}
			heard = make([]float64, len(r.bins))
		}
		for i := 1; i < len(r.bins); i++ {
			// The last frequency that is heard at all takes what there is.
			if f := float64(i) * r.binHz; k == 0 || x.time(f)+from+quietLong < seconds {
				out.power[i] += dsp.SqAbs(r.bins[i]) / r.power
				heard[i]++
			}
		}
	}
	sum := make([]float64, len(out.power)+1)
	for i, p := range out.power {
		sum[i+1] = sum[i] + p/max(1, heard[i])
	}
	spread := math.Exp2(quietSpread)
	wide := int(1 / quietLong / out.binHz) // what one window tells apart
	smooth := slices.Clone(out.power)
	for i := range smooth {
		lo := max(1, min(int(float64(i)/spread), i-wide))
		hi := min(len(smooth)-1, max(int(math.Ceil(float64(i)*spread)), i+wide))
		smooth[i] = (sum[hi+1] - sum[lo]) / float64(max(1, hi+1-lo))
	}
	out.power = smooth
	return out
}

// at returns the power at f (Hz).
func (n noise) at(f float64) float64 {
	return max(n.power[min(int(math.Round(f/n.binHz)), len(n.power)-1)], math.SmallestNonzeroFloat64)
}
