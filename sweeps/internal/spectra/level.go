package spectra

import (
	"math"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
)

// level is one sample rate of a pyramid. It cuts its samples into segments of
// equal length and hands on their spectra. A sweep that passes a frequency just
// where one segment ends and the next begins cannot be told from leakage there,
// so segments between which the spectrum changes much are overlapped by a further
// one that reaches from the middle of the first to the middle of the second;
// each frequency is then taken from the cut that shows it better. Segments without
// signal in the band of the level are passed over, see bandShare.
type level struct {
	lo, hi   float64 // Hz, the band that is taken from this level
	binHz    float64 // spacing of the spectrum
	size     int     // samples of a segment
	left     int     // segments still to come
	overlaps bool    // more than one segment
	share    float64 // of the power of a segment, in the band, below which it holds no signal
	active   bool    // the last segment held signal
	channel  [2]levelChannel
	power    [powerGroups]float64 // of the last segment, in groups of bins

	passed        int // samples of the segments so far
	keepStretches bool
	stretches     []Stretch
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
	plain       = iota // segment after segment
	overlapping        // half a segment later, where needed
	numCuts
)

const (
	powerGroups = 16  // of bins, by which spectra of segments are compared
	bigChange   = 0.1 // ratio of powers that asks for an overlapping segment
)

// segments transforms and hands on the segments that are complete. It does all of
// one kind before the next kind, so that the two cores wait for each other seldom.
func (l *level) segments(visit visitor) {
	samples, from := l.channel[0].samples, l.channel[0].kept
	var plains, overlaps []int // where they begin
	var news []bool            // whether signal comes or goes with a segment
	var active []bool
	for ; l.left > 0 && from+l.size <= len(samples); from += l.size {
		now := bandPower(samples[from:from+l.size]) >= l.share
		news = append(news, now != l.active)
		active = append(active, now)
		if now {
			plains = append(plains, from)
		}
		l.active = now
		l.left--
	}
	if len(active) == 0 {
		return
	}
	if l.share > 0 && l.keepStretches {
		l.keep(plains, l.passed-l.channel[0].kept)
	}
	l.passed += len(active) * l.size
	l.transform(plains)
	next := 0
	for i, now := range active {
		changed := news[i]
		if now {
			changed = l.changes(l.channel[0].spectra[next]) || changed
			next++
		}
		if begin := l.channel[0].kept + i*l.size; changed && begin > 0 {
			overlaps = append(overlaps, begin-l.size/2)
		}
	}
	l.show(visit, plain, len(plains))
	if len(overlaps) > 0 {
		l.transform(overlaps)
		l.show(visit, overlapping, len(overlaps))
	}
	for c := range l.channel {
		ch := &l.channel[c]
		// Half a segment is all that an overlapping segment looks back on.
		ch.samples = ch.samples[:copy(ch.samples, ch.samples[from-l.size/2:])]
		ch.kept = l.size / 2
	}
}

// transform makes the spectra of the segments that begin at the samples from.
func (l *level) transform(from []int) {
	Both(func(c int) {
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
	Both(func(half int) {
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
