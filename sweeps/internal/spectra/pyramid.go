package spectra

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	LowestHz  = 2.0     // below, nothing is of use and sound cards hear nothing
	highestHz = 20e3    // above, nothing is of use
	readBlock = 1 << 18 // frames at a time: few enough blocks that two cores seldom wait for each other
	pushBlock = 1 << 12 // samples on their way through the filters, which stay in the processor's cache
)

// A pyramid looks at a recording at several sample rates at once, each an
// eighth of the one above, so that low frequencies are resolved finely and high
// ones cheaply. The recording goes through it as a stream: memory does not grow
// with its length.
type pyramid struct {
	entry  [2][]*dsp.Halfband // from the recorder's rate to the highest level, each channel
	levels []level
	vitals [2]*vitals
	low    [2]outline
}

// level is one sample rate of a pyramid. It cuts its samples into segments of
// equal length and hands on their spectra. A sweep that passes a frequency just
// where one segment ends and the next begins cannot be told from leakage there,
// so segments between which the spectrum changes much are bridged by a further
// one that reaches from the middle of the first to the middle of the second;
// each frequency is then taken from the cut that shows it better. Segments without
// signal in the band of the level are passed over, see bandShare.
type level struct {
	lo, hi  float64 // Hz, the band that is taken from this level
	binHz   float64 // spacing of the spectrum
	size    int     // samples of a segment
	left    int     // segments still to come
	bridged bool    // more than one segment
	share   float64 // of the power of a segment, in the band, below which it holds no signal
	heard   bool    // the last segment held signal
	channel [2]levelChannel
	power   [powerGroups]float64 // of the last segment, in groups of bins

	passed    int // samples of the segments so far
	stretches []Stretch
}

// levelChannel is one channel of a level.
type levelChannel struct {
	down    []*dsp.Halfband // from the level above; none for the highest
	fft     *fourier.FFT
	samples []float64 // of the last segment, then of the one that is being filled
	kept    int       // samples of the last segment
	spectra [][]complex128
}

// The cuts of a level.
const (
	plain   = iota // segment after segment
	bridges        // half a segment later, where needed
	numCuts
)

const (
	powerGroups = 16  // of bins, by which spectra of segments are compared
	bigChange   = 0.1 // ratio of powers that asks for a bridge
)

// longest segment of each level, in samples: 0.7 s, 5 s and 90 s at 48 kHz.
var longestSegment = [...]int{1 << 15, 1 << 15, 1 << 16}

// Usable is the part of a level's sample rate that its filters leave intact.
const Usable = 0.4

// newPyramid returns a pyramid for a recording of so many frames at rate (Hz).
func newPyramid(frames int, rate float64) *pyramid {
	p := &pyramid{vitals: [2]*vitals{newVitals(rate), newVitals(rate)}}
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
		// The filters swallow a few samples at the end.
		n := frames - 64
		if n < 2*minCells {
			break
		}
		l.left = (n + longest - 1) / longest
		l.bridged = l.left > 1
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
		}
	}
	return p
}

// visitor is called with the spectra of both channels for every segment of every
// level and cut, for both halves of its work at once. The spectra belong to the
// pyramid and change after it returns.
type visitor func(l *level, cut, half int, x, y []complex128)

// run sends the recording through the pyramid.
func (p *pyramid) run(src *Blocks, visit visitor) error {
	return src.each(func(ch [2][]float64) {
		both(func(c int) { p.push(c, ch[c]) })
		for i := range p.levels {
			p.levels[i].segments(visit)
		}
	})
}

// both runs do for both channels, or both halves of a work, at once.
func both(do func(c int)) {
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
	p.vitals[c].push(x)
	for _, h := range p.entry[c] {
		x = h.Push(x)
	}
	for i := range p.levels {
		l := &p.levels[i]
		ch := &l.channel[c]
		for _, h := range ch.down {
			x = h.Push(x)
		}
		if i == len(p.levels)-1 && len(p.low[c].Samples) < outlineLimit {
			p.low[c].Samples = append(p.low[c].Samples, x...)
		}
		if l.left > 0 {
			ch.samples = append(ch.samples, x...)
		}
	}
}

// segments transforms and hands on the segments that are complete. It does all of
// one kind before the next kind, so that the two cores wait for each other seldom.
func (l *level) segments(visit visitor) {
	samples, from := l.channel[0].samples, l.channel[0].kept
	var plains, bridged []int // where they begin
	var news []bool           // whether signal comes or goes with a segment
	var heard []bool
	for ; l.left > 0 && from+l.size <= len(samples); from += l.size {
		now := bandPower(samples[from:from+l.size]) >= l.share
		news = append(news, now != l.heard)
		heard = append(heard, now)
		if now {
			plains = append(plains, from)
		}
		l.heard = now
		l.left--
	}
	if len(heard) == 0 {
		return
	}
	if l.share > 0 {
		l.keep(plains, l.passed-l.channel[0].kept)
	}
	l.passed += len(heard) * l.size
	l.transform(plains)
	next := 0
	for i, now := range heard {
		changed := news[i]
		if now {
			changed = l.changes(l.channel[0].spectra[next]) || changed
			next++
		}
		if begin := l.channel[0].kept + i*l.size; changed && begin > 0 {
			bridged = append(bridged, begin-l.size/2)
		}
	}
	l.show(visit, plain, len(plains))
	if len(bridged) > 0 {
		l.transform(bridged)
		l.show(visit, bridges, len(bridged))
	}
	for c := range l.channel {
		ch := &l.channel[c]
		// Half a segment is all that a bridge looks back on.
		ch.samples = ch.samples[:copy(ch.samples, ch.samples[from-l.size/2:])]
		ch.kept = l.size / 2
	}
}

// transform makes the spectra of the segments that begin at the samples from.
func (l *level) transform(from []int) {
	both(func(c int) {
		ch := &l.channel[c]
		for i, f := range from {
			if i == len(ch.spectra) {
				ch.spectra = append(ch.spectra, make([]complex128, l.size/2+1))
			}
			ch.fft.Coefficients(ch.spectra[i], ch.samples[f:f+l.size])
		}
	})
}

// show hands on the first n spectra.
func (l *level) show(visit visitor, cut, n int) {
	both(func(half int) {
		for i := range n {
			visit(l, cut, half, l.channel[0].spectra[i], l.channel[1].spectra[i])
		}
	})
}

// changes says whether the spectrum x differs much from that of the segment
// before, in any group of bins.
func (l *level) changes(x []complex128) bool {
	last := l.power
	l.power = [powerGroups]float64{}
	lo, hi := max(1, int(l.lo/l.binHz)), min(len(x)-1, int(l.hi/l.binHz))
	step := math.Log(float64(hi)/float64(lo)) / powerGroups
	at := lo
	changed := false
	for g := range l.power {
		end := int(float64(lo) * math.Exp(step*float64(g+1)))
		for ; at < end; at++ {
			l.power[g] += dsp.SqAbs(x[at])
		}
		if a, b := l.power[g], last[g]; a < bigChange*b || b < bigChange*a {
			changed = true
		}
	}
	return changed
}

// Blocks reads a recording from start to end.
type Blocks struct {
	Rec  *bench.Recording
	Swap bool
}

// each calls do for consecutive stretches of the recording. The slices are
// reused.
func (b Blocks) each(do func(ch [2][]float64)) error {
	buf := [2][]float64{make([]float64, readBlock), make([]float64, readBlock)}
	for from := 0; from < b.Rec.Frames; from += readBlock {
		n := min(readBlock, b.Rec.Frames-from)
		ch := [2][]float64{buf[0][:n], buf[1][:n]}
		var failed [2]error
		both(func(half int) {
			lo, hi := half*n/2, (half+1)*n/2
			failed[half] = b.Rec.Read(ch[0][lo:hi], ch[1][lo:hi], from+lo)
		})
		if err := cmp.Or(failed[0], failed[1]); err != nil {
			return err
		}
		if b.Swap {
			ch[0], ch[1] = ch[1], ch[0]
		}
		do(ch)
	}
	return nil
}
