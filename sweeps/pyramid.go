package sweeps

import (
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	lowestHz  = 2.0  // below, nothing is of use and sound cards hear nothing
	highestHz = 20e3 // above, nothing is of use
	readBlock = 1 << 15
)

// A pyramid looks at a recording at several sample rates at once, each an
// eighth of the one above, so that low frequencies are resolved finely and high
// ones cheaply. The recording goes through it as a stream: memory does not grow
// with its length.
type pyramid struct {
	entry  [2][]*halfband // from the recorder's rate to the highest level, each channel
	levels []level
	vitals [2]*vitals
	low    [2]outline
}

// level is one sample rate of a pyramid. It cuts its samples into segments of
// equal length and hands on their spectra. A sweep that passes a frequency just
// where one segment ends and the next begins cannot be told from leakage there,
// so a level with several segments is cut twice, the second time half a segment
// later, and each frequency is taken from the cut that shows it better.
type level struct {
	lo, hi  float64 // Hz, the band that is taken from this level
	binHz   float64 // spacing of the spectrum
	size    int     // samples of a segment
	cuts    int     // 1 or 2
	channel [2]levelChannel
}

type levelChannel struct {
	down []*halfband // from the level above; none for the highest
	fft  *fourier.FFT
	cut  [2]segments
}

// segments are those of one channel and one cut.
type segments struct {
	wait    int            // samples to pass over before the first
	left    int            // segments still to come
	pending []float64      // samples of the one that is being filled
	spectra [][]complex128 // of those that are complete
	ready   int            // how many of spectra have not been handed on
}

// longest segment of each level, in samples: 0.7 s, 5 s and 90 s at 48 kHz.
var longestSegment = [...]int{1 << 15, 1 << 15, 1 << 16}

// usable is the part of a level's sample rate that its filters leave intact.
const usable = 0.4

// newPyramid returns a pyramid for a recording of so many frames at rate (Hz).
func newPyramid(frames int, rate float64) *pyramid {
	p := &pyramid{vitals: [2]*vitals{newVitals(rate), newVitals(rate)}}
	for rate/2*0.42 >= highestHz {
		for c := range p.entry {
			p.entry[c] = append(p.entry[c], newHalfband(highestHz/rate))
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
					l.channel[c].down = append(l.channel[c].down, newHalfband(hi/rate))
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
		count := (n + longest - 1) / longest
		l.size = smooth5Below(n / count)
		l.cuts = min(count, 2)
		l.binHz = rate / float64(l.size)
		l.hi = hi
		l.lo = lowestHz
		if i < len(longestSegment)-1 {
			l.lo = usable * rate / 8
		}
		for c := range l.channel {
			l.channel[c].fft = fourier.NewFFT(l.size)
			for cut := range l.cuts {
				wait := cut * l.size / 2
				l.channel[c].cut[cut] = segments{wait: wait, left: (n - wait) / l.size, pending: make([]float64, 0, l.size)}
			}
		}
		p.levels = append(p.levels, l)
		hi = l.lo
	}
	if n := len(p.levels); n > 0 {
		p.levels[n-1].lo = lowestHz
		for c := range p.low {
			p.low[c].rate = p.levels[n-1].binHz * float64(p.levels[n-1].size)
		}
	}
	return p
}

// run sends the recording through the pyramid and calls visit with the spectra
// of both channels for every segment of every level and cut. The spectra belong
// to the pyramid and change after visit returns.
func (p *pyramid) run(src *blocks, visit func(l *level, cut int, x, y []complex128)) error {
	return src.each(func(ch [2][]float64) {
		var wg sync.WaitGroup
		for c := range ch {
			wg.Add(1)
			go func() {
				defer wg.Done()
				p.push(c, ch[c])
			}()
		}
		wg.Wait()
		for i := range p.levels {
			l := &p.levels[i]
			for cut := range l.cuts {
				a, b := &l.channel[0].cut[cut], &l.channel[1].cut[cut]
				for s := range a.ready {
					visit(l, cut, a.spectra[s], b.spectra[s])
				}
				a.ready, b.ready = 0, 0
			}
		}
	})
}

// push sends samples of one channel down the levels.
func (p *pyramid) push(c int, x []float64) {
	p.vitals[c].push(x)
	for _, h := range p.entry[c] {
		x = h.push(nil, x)
	}
	for i := range p.levels {
		l := &p.levels[i]
		ch := &l.channel[c]
		for _, h := range ch.down {
			x = h.push(nil, x)
		}
		if i == len(p.levels)-1 && len(p.low[c].samples) < outlineLimit {
			p.low[c].samples = append(p.low[c].samples, x...)
		}
		for cut := range l.cuts {
			ch.cut[cut].push(x, ch.fft)
		}
	}
}

// push adds samples and transforms the segments that they complete.
func (s *segments) push(x []float64, fft *fourier.FFT) {
	skip := min(s.wait, len(x))
	s.wait -= skip
	for x = x[skip:]; len(x) > 0 && s.left > 0; {
		n := min(len(x), cap(s.pending)-len(s.pending))
		s.pending = append(s.pending, x[:n]...)
		x = x[n:]
		if len(s.pending) < cap(s.pending) {
			return
		}
		if s.ready == len(s.spectra) {
			s.spectra = append(s.spectra, make([]complex128, len(s.pending)/2+1))
		}
		fft.Coefficients(s.spectra[s.ready], s.pending)
		s.ready++
		s.left--
		s.pending = s.pending[:0]
	}
}

// blocks reads a recording from start to end.
type blocks struct {
	rec  *Recording
	swap bool
}

// each calls do for consecutive stretches of the recording. The slices are
// reused.
func (b blocks) each(do func(ch [2][]float64)) error {
	buf := [2][]float64{make([]float64, readBlock), make([]float64, readBlock)}
	for from := 0; from < b.rec.Frames; from += readBlock {
		n := min(readBlock, b.rec.Frames-from)
		ch := [2][]float64{buf[0][:n], buf[1][:n]}
		if err := b.rec.Read(ch[0], ch[1], from); err != nil {
			return err
		}
		if b.swap {
			ch[0], ch[1] = ch[1], ch[0]
		}
		do(ch)
	}
	return nil
}
