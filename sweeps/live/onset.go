package live

import (
	"math"
	"slices"
)

// onset finds the moment when the sweep comes back.
type onset struct {
	block   int // samples of a block
	fill    [2]struct{ sum, square float64 }
	filled  int
	powers  []float64 // of the blocks, both channels
	loud    int       // blocks in a row
	quiet   [2][]float64
	at      int // first sample of the sweep
	known   bool
	samples int
}

const (
	onsetBlock = 0.01 // s
	onsetSkip  = 10   // blocks
	onsetFloor = 10   // blocks that the noise is told from
	onsetLoud  = 3    // blocks in a row
	onsetRatio = 25   // power over that of the noise
	onsetPower = 1e-10
)

func newOnset(rate float64) onset { return onset{block: int(onsetBlock * rate)} }

// push takes in samples until the sweep has begun.
func (o *onset) push(ch1, ch2 []float64) {
	for i := range ch1 {
		if o.known {
			return
		}
		o.samples++
		if len(o.powers) >= onsetSkip {
			o.quiet[0], o.quiet[1] = append(o.quiet[0], ch1[i]), append(o.quiet[1], ch2[i])
		}
		for c, x := range [2]float64{ch1[i], ch2[i]} {
			o.fill[c].sum += x
			o.fill[c].square += x * x
		}
		if o.filled++; o.filled == o.block {
			o.judge()
		}
	}
}

// judge ends a block.
func (o *onset) judge() {
	power := 0.0
	for c := range o.fill {
		mean := o.fill[c].sum / float64(o.block)
		power += o.fill[c].square/float64(o.block) - mean*mean
		o.fill[c].sum, o.fill[c].square = 0, 0
	}
	o.filled = 0
	o.powers = append(o.powers, power)
	n := len(o.powers)
	if n < onsetSkip+onsetFloor {
		return
	}
	heard := slices.Clone(o.powers[onsetSkip : n-o.loud])
	slices.Sort(heard)
	if power < max(onsetPower, onsetRatio*heard[len(heard)/2]) {
		o.loud = 0
		return
	}
	if o.loud++; o.loud == onsetLoud {
		o.known, o.at = true, (n-onsetLoud)*o.block
		for c := range o.quiet {
			o.quiet[c] = o.quiet[c][:max(0, o.at-onsetSkip*o.block)]
		}
	}
}

// noise returns the rms of channel c before the sweep.
func (o *onset) noise(c int) float64 {
	x := o.quiet[c]
	if len(x) == 0 {
		return 0
	}
	var sum, square float64
	for _, v := range x {
		sum += v
		square += v * v
	}
	n := float64(len(x))
	return math.Sqrt(max(0, square/n-sum*sum/n/n))
}

// tone returns the amplitude of a tone at f (Hz) in channel c before the sweep, through
// Hann's window, which keeps 50 and 60 Hz apart after 0.4 s.
func (o *onset) tone(c int, f, rate float64) float64 {
	x := o.quiet[c]
	var mean float64
	for _, v := range x {
		mean += v / float64(len(x))
	}
	var sum complex128
	for i, v := range x {
		w := 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(x)))
		s, co := math.Sincos(2 * math.Pi * f * float64(i) / rate)
		sum += complex(w*(v-mean)*co, -w*(v-mean)*s)
	}
	return 2 * math.Hypot(real(sum), imag(sum)) / float64(len(x))
}
