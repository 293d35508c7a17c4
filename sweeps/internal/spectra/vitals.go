package spectra

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// vitals are the vital signs of one channel, taken while it streams by.
type vitals struct {
	rate        float64
	frames      int
	sum, square float64
	tops        [2]tops   // positive and negative peaks
	squares     []float64 // mean square of stretches of blockSeconds
	means       []float64 // their means
	filling     [2]float64
	filled      int
	Kinks       []float32  // largest second difference in stretches of kinkSeconds
	before      [2]float64 // the last two samples
	kink        float64
	kinkFilled  int
	Finest      float64 // smallest change from one sample to the next, 0 while there was none
}

// BlockSeconds is the length of the stretches whose power is kept.
const BlockSeconds = 0.05

// KinkSeconds is the length of the stretches whose sharpest kink is kept: a
// contact opens for about as long.
const KinkSeconds = 0.005

// kinkLimit bounds the memory of kinks: one hour.
const kinkLimit = 720000

// blockLimit bounds the memory of vitals: ten hours.
const blockLimit = 720000

func newVitals(rate float64) *vitals { return &vitals{rate: rate} }

// push takes in samples. It goes from one end of a stretch to the next, so that
// the inner loops are short.
func (v *vitals) push(x []float64) {
	v.frames += len(x)
	block, stretch := max(1, int(BlockSeconds*v.rate)), max(1, int(KinkSeconds*v.rate))
	for len(x) > 0 {
		n := min(len(x), block-v.filled, stretch-v.kinkFilled)
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
		if v.kinkFilled += n; v.kinkFilled == stretch {
			if len(v.Kinks) < kinkLimit {
				v.Kinks = append(v.Kinks, float32(v.kink))
			}
			v.kink, v.kinkFilled = 0, 0
		}
		x = x[n:]
	}
}

// see looks at the samples of one stretch: at peaks, and at how sharply the
// channel bends, because contacts make corners that no test signal has at low
// frequencies. It also keeps the finest change, which is the step of the
// converter.
func (v *vitals) see(x []float64) {
	a, b := v.before[0], v.before[1]
	if len(v.Kinks)%finestEvery == 0 {
		v.refine(b, x)
	}
	kink, high, low := v.kink, v.tops[0].interest, -v.tops[1].interest
	for _, s := range x {
		if k := math.Abs(s - 2*b + a); k > kink {
			kink = k
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
	v.kink, v.before = kink, [2]float64{a, b}
}

// finestEvery is of how many stretches one is asked for the finest change: a
// step is the same everywhere.
const finestEvery = 10

// refine takes the finest change among the samples x after the sample b.
func (v *vitals) refine(b float64, x []float64) {
	for _, s := range x {
		if step := math.Abs(s - b); step > 0 && (step < v.Finest || v.Finest == 0) {
			v.Finest = step
		}
		b = s
	}
}

// Steps returns how many steps of the converter the highest peak is away from
// rest.
func (v *vitals) Steps() float64 { return v.Peak() / max(v.Finest, 1e-12) }

// Mean returns the constant part, rms that of the rest.
func (v *vitals) Mean() float64 { return v.sum / float64(v.frames) }

func (v *vitals) Rms() float64 {
	m := v.Mean()
	return math.Sqrt(max(0, v.square/float64(v.frames)-m*m))
}

func (v *vitals) Peak() float64 { return max(v.tops[0].peak, v.tops[1].peak) }

// Clipped returns how many samples stick to the highest or the lowest level.
func (v *vitals) Clipped() int { return v.tops[0].clipped() + v.tops[1].clipped() }

// sticks says whether the sample s is one of those that clipped counts.
func (v *vitals) sticks(s float64) bool {
	t := &v.tops[0]
	if s < 0 {
		t, s = &v.tops[1], -s
	}
	return s > t.peak-4*topWidth && t.clipped() > 0
}

// tops counts samples near the highest level.
type tops struct {
	peak     float64
	interest float64 // lower levels are not counted
	count    [topBins]int
}

const (
	topWidth = 1.0 / 4096 // of a bin, fraction of full scale
	topBins  = 4096 + 512 // up to an eighth above full scale
)

// topBin returns the bin of a level. Float samples may be far above full scale,
// farther than an int reaches.
func topBin(level float64) int { return int(min(level/topWidth, topBins-1)) }

func (t *tops) see(level float64) {
	if level > t.peak {
		t.peak = level
		t.interest = 0.9 * level
	}
	t.count[topBin(level)]++
}

// clipped returns how many samples stick to the peak, 0 when the peak looks
// like that of any wave. Where a wave turns by itself, the time it spends within
// a distance d of its peak grows like the root of d, so the nearest four bins
// hold at most 2.4 times what the next four hold; a clipped wave jumps from its
// plateau. Theory (6.16), derived.
func (t *tops) clipped() int {
	const near, most, fewest = 4, 10, 20
	top := topBin(t.peak)
	if t.peak < 0.02 || top < 2*near {
		return 0
	}
	var stuck, next int
	for i := range near {
		stuck += t.count[top-i]
		next += t.count[top-near-i]
	}
	if stuck < fewest || stuck <= most*next {
		return 0
	}
	return stuck
}

// Blocks returns the power of each block about the mean of the recording.
func (v *vitals) Blocks() []float64 {
	m := v.Mean()
	power := make([]float64, len(v.squares))
	for i, s := range v.squares {
		power[i] = max(1e-30, s-2*m*v.means[i]+m*m)
	}
	return power
}

// Active says for each block whether there is signal in it: its power is within
// 30 dB of what it is where it is loud.
func (v *vitals) Active() []bool {
	power := v.Blocks()
	sorted := slices.Clone(power)
	slices.Sort(sorted)
	on := make([]bool, len(power))
	for i, b := range power {
		on[i] = b > 1e-3*sorted[len(sorted)*9/10]
	}
	return on
}

const (
	steadyDip = 0.1 // power of the quietest stretches relative to the median
)

const (
	dipShare = 0.01 // share of a recording that is taken as its quietest stretches
)

// Steady says whether a channel is never much quieter than usual, as noise is,
// but no signal with a pause before or after it.
func (v *vitals) Steady() bool {
	power := v.Blocks()
	if len(power) == 0 {
		return false
	}
	slices.Sort(power)
	return power[int(dipShare*float64(len(power)))] > steadyDip*power[len(power)/2]
}
