package spectra

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Stats are the statistics of one channel, taken while it streams by.
type Stats struct {
	Bends  []float32 // largest second difference in stretches of StretchSeconds
	Finest float64   // smallest change from one sample to the next, 0 while there was none

	rate          float64
	frames        int
	sum, square   float64
	tops          [2]tops   // positive and negative peaks
	squares       []float64 // mean square of stretches of BlockSeconds
	means         []float64 // their means
	filling       [2]float64
	filled        int
	before        [2]float64 // the last two samples
	bend          float64
	stretchFilled int
}

const (
	// BlockSeconds is the length of the stretches whose power is kept.
	BlockSeconds = 0.05
	// StretchSeconds is the length of the stretches whose sharpest bend is kept: a
	// contact opens for about as long.
	StretchSeconds = 0.005

	blockLimit   = 720000 // bounds the memory of blocks: ten hours
	stretchLimit = 120000 // and that of stretches

	// WatchedSeconds is how much of a recording contacts that open are looked for in: ten minutes.
	WatchedSeconds = stretchLimit * StretchSeconds

	finestEvery = 10 // of how many stretches one is asked for the finest change: a step is the same everywhere

	steadyDip = 0.1  // power of the quietest stretches relative to the median
	dipShare  = 0.01 // share of a recording that is taken as its quietest stretches
)

func newStats(rate float64) *Stats { return &Stats{rate: rate} }

// push takes in samples. It goes from one end of a stretch to the next, so that
// the inner loops are short.
func (v *Stats) push(x []float64) {
	v.frames += len(x)
	block, stretch := max(1, int(BlockSeconds*v.rate)), max(1, int(StretchSeconds*v.rate))
	for len(x) > 0 {
		n := min(len(x), block-v.filled, stretch-v.stretchFilled)
		v.see(x[:n])
		sum, square := floats.Sum(x[:n]), floats.Dot(x[:n], x[:n])
		v.sum += sum
		v.square += square
		v.filling[0] += sum
		v.filling[1] += square
		if v.filled += n; v.filled == block {
			if len(v.squares) < blockLimit {
				v.means = append(v.means, v.filling[0]/float64(block))
				v.squares = append(v.squares, v.filling[1]/float64(block))
			}
			v.filling, v.filled = [2]float64{}, 0
		}
		if v.stretchFilled += n; v.stretchFilled == stretch {
			if len(v.Bends) < stretchLimit {
				v.Bends = append(v.Bends, float32(v.bend))
			}
			v.bend, v.stretchFilled = 0, 0
		}
		x = x[n:]
	}
}

// see looks at the samples of one stretch: at peaks, and at how sharply the
// channel bends, because contacts make corners that no test signal has at low
// frequencies. It also keeps the finest change, which is the step of the
// converter.
func (v *Stats) see(x []float64) {
	a, b := v.before[0], v.before[1]
	if len(v.Bends)%finestEvery == 0 {
		v.refine(b, x)
	}
	bend, high, low := v.bend, v.tops[0].interest, -v.tops[1].interest
	for _, s := range x {
		if k := math.Abs(s - 2*b + a); k > bend {
			bend = k
		}
		a, b = b, s
		if s > high {
			v.tops[0].see(s)
			high = v.tops[0].interest
		} else if s < low {
			v.tops[1].see(-s)
			low = -v.tops[1].interest
		}
	}
	v.bend, v.before = bend, [2]float64{a, b}
}

// refine takes the finest change among the samples x after the sample b.
func (v *Stats) refine(b float64, x []float64) {
	for _, s := range x {
		if step := math.Abs(s - b); step > 0 && (step < v.Finest || v.Finest == 0) {
			v.Finest = step
		}
		b = s
	}
}

// Steps returns how many steps of the converter the highest peak is away from
// rest.
func (v *Stats) Steps() float64 { return v.Peak() / max(v.Finest, 1e-12) }

// Mean returns the constant part.
func (v *Stats) Mean() float64 { return v.sum / float64(v.frames) }

// Rms returns the root of the mean square of the rest.
func (v *Stats) Rms() float64 {
	m := v.Mean()
	return math.Sqrt(max(0, v.square/float64(v.frames)-m*m))
}

// Peak returns the size of the largest sample.
func (v *Stats) Peak() float64 { return max(v.tops[0].peak, v.tops[1].peak) }

// Clipped returns how many samples stick to the highest or the lowest level.
func (v *Stats) Clipped() int { return v.tops[0].clipped() + v.tops[1].clipped() }

// Share returns n samples as a share of all.
func (v *Stats) Share(n int) float64 { return float64(n) / float64(v.frames) }

// sticks says whether the sample s is one of those that Clipped counts.
func (v *Stats) sticks(s float64) bool {
	t := &v.tops[0]
	if s < 0 {
		t, s = &v.tops[1], -s
	}
	return s > t.peak-4*topWidth && t.clipped() > 0
}

// Blocks returns the power of each block about the mean of the recording.
func (v *Stats) Blocks() []float64 {
	m := v.Mean()
	power := make([]float64, len(v.squares))
	for i, s := range v.squares {
		power[i] = max(1e-30, s-2*m*v.means[i]+m*m)
	}
	return power
}

// Active says for each block whether there is signal in it: its power is within
// 30 dB of what it is where it is loud.
func (v *Stats) Active() []bool {
	power := v.Blocks()
	sorted := slices.Clone(power)
	slices.Sort(sorted)
	on := make([]bool, len(power))
	for i, b := range power {
		on[i] = b > 1e-3*sorted[len(sorted)*9/10]
	}
	return on
}

// Steady says whether a channel is never much quieter than usual, as noise is,
// but no signal with a pause before or after it.
func (v *Stats) Steady() bool {
	power := v.Blocks()
	if len(power) == 0 {
		return false
	}
	slices.Sort(power)
	return power[int(dipShare*float64(len(power)))] > steadyDip*power[len(power)/2]
}
