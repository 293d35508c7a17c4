package spectra

import (
	"slices"
	"sync"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	LowestHz  = 2.0     // below, nothing is of use and sound cards record nothing
	highestHz = 20e3    // above, nothing is of use
	pushBlock = 1 << 12 // samples on their way through the filters, which stay in the processor's cache
)

// pyramid looks at a recording at several sample rates at once, each an
// eighth of the one above, so that low frequencies are resolved finely and high
// ones cheaply. The recording goes through it as a stream: memory does not grow
// with its length.
type pyramid struct {
	entry  [2][]*dsp.Halfband // from the recorder's rate to the highest level, each channel
	levels []level
	stats  [2]*Stats
	low    [2]lowRate
	middle [2]lowRate
}

// longest segment of each level, in samples: 0.7 s, 5 s and 90 s at 48 kHz.
var longestSegment = [...]int{1 << 15, 1 << 15, 1 << 16}

// Usable is the part of a level's sample rate that its filters leave intact.
const Usable = 0.4

// newPyramid returns a pyramid for a recording of so many frames at rate (Hz).
func newPyramid(frames int, rate float64) *pyramid {
	p := &pyramid{stats: [2]*Stats{newStats(rate), newStats(rate)}}
	for rate/2*0.42 >= highestHz {
		for c := range p.entry {
			p.entry[c] = append(p.entry[c], dsp.NewHalfband(highestHz/rate))
		}
		rate /= 2
		frames /= 2
	}
	top := 0.46 * rate
	if len(p.entry[0]) > 0 {
		top = 0.42 * rate
	}
	hi := min(highestHz, top)
	atMiddle := 0 // frames at the middle rate
	for i, longest := range longestSegment {
		var l level
		if i > 0 {
			for range 3 {
				for c := range l.channel {
					l.channel[c].down = append(l.channel[c].down, dsp.NewHalfband(hi/rate))
				}
				rate /= 2
				frames /= 2
			}
		}
		if i == 1 {
			atMiddle = frames
		}
		// The filters need a few samples beyond the end.
		n := frames - 64
		if n < 2*minCells {
			break
		}
		l.left = (n + longest - 1) / longest
		l.overlaps = l.left > 1
		l.size = dsp.Smooth5Below(n / l.left)
		l.binHz = rate / float64(l.size)
		l.hi = hi
		l.lo = LowestHz
		if i < len(longestSegment)-1 {
			l.lo = Usable * rate / 8
			l.share = bandShare
		}
		for c := range l.channel {
			l.channel[c].fft = fourier.NewFFT(l.size)
		}
		p.levels = append(p.levels, l)
		hi = l.lo
	}
	if n := len(p.levels); n > 0 {
		p.levels[n-1].lo, p.levels[n-1].share = LowestHz, 0
		for c := range p.low {
			p.low[c].Rate = p.levels[n-1].binHz * float64(p.levels[n-1].size)
			if n > 1 && atMiddle <= middleLimit {
				p.middle[c] = lowRate{p.levels[1].binHz * float64(p.levels[1].size), make([]float64, 0, atMiddle)}
			}
		}
	}
	return p
}

// visitor is called with the spectra of both channels for every segment of every
// level and cut, for both halves of its work at once. The spectra belong to the
// pyramid and change after it returns.
type visitor func(l *level, cut, half int, x, y []complex128)

// run sends the recording through the pyramid.
func (p *pyramid) run(src blocks, visit visitor) error {
	return src.each(func(ch [2][]float64) {
		Both(func(c int) { p.push(c, ch[c]) })
		for i := range p.levels {
			p.levels[i].segments(visit)
		}
	})
}

// Both runs do for both channels, or both halves of a work, at once.
func Both(do func(c int)) {
	var wg sync.WaitGroup
	wg.Go(func() { do(1) })
	do(0)
	wg.Wait()
}

// push sends samples of one channel down the levels, in pieces that stay in the
// processor's cache on their way.
func (p *pyramid) push(c int, x []float64) {
	for piece := range slices.Chunk(x, pushBlock) {
		p.pushPiece(c, piece)
	}
}

func (p *pyramid) pushPiece(c int, x []float64) {
	p.stats[c].push(x)
	for _, h := range p.entry[c] {
		x = h.Push(x)
	}
	for i := range p.levels {
		l := &p.levels[i]
		ch := &l.channel[c]
		for _, h := range ch.down {
			x = h.Push(x)
		}
		if i == len(p.levels)-1 && len(p.low[c].Samples) < lowRateLimit {
			p.low[c].Samples = append(p.low[c].Samples, x...)
		}
		if i == 1 && p.middle[c].Rate > 0 {
			p.middle[c].Samples = append(p.middle[c].Samples, x...)
		}
		if l.left > 0 {
			ch.samples = append(ch.samples, x...)
		}
	}
}
