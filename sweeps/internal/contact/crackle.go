// Package contact finds the moments at which a contact opened and leaves them
// out.
package contact

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

// A contact that opens for some milliseconds spoils every frequency of a
// periodic signal or of noise, and those that a sweep passes at that moment.
// But it spoils little time: what channel 2 should have heard then follows from
// channel 1 and from the ratio that the rest of the recording tells. Put in its
// place, the moment counts for nothing, and the ratio is estimated again.
//
// Source: estimation with missing data, Dempster, Laird, Rubin, J. R. Statist.
// Soc. B 39, 1977 (expectation and maximisation in turn; from memory).
const (
	burstOut     = 8.0  // times the usual size of the residual nearby, as its standard deviation
	burstPart    = 0.15 // of the rms of channel 2 nearby
	kinkOut      = 6.0  // times the usual kink nearby, and
	kinkPart     = 0.05 // of the rms of channel 2, and
	kinkSteps    = 8.0  // of the converter: rounding makes kinks of up to four
	burstJoin    = 0.05 // s between two jumps that are taken as one moment
	burstAround  = 3    // samples of the outline that go with a moment on either side: its filters smear it
	burstLongest = 0.5  // s
	burstShare   = 0.05 // of the recording, beyond which nothing is left out
	burstMost    = 20   // moments, and
	burstSamples = 1e5  // samples, which bound the memory of patches
	burstEdge    = 0.3  // s at either end of the recording that cannot be judged: what was before is not known
	mendStages   = 3
	mendRounds   = 12
	mendFarthest = 1.5  // size of what stands in, relative to that of the step before, that an extrapolation is trusted for
	mendSettled  = 0.1  // change of the ratio that needs no further round, in standard deviations
	mostLost     = 0.3  // share of what is known of a point, as an amplitude, that may lie in a moment
	doubtAround  = 0.3  // s on either side of a patch that tell how well it is known
	blindDoubt   = 0.02 // of a patch at frequencies where that cannot be told, relative
	ringing      = 1.0  // s that are read before a patch, so that the driver's ringing is known, and
	after        = 0.5  // s behind it; over as much at either end what was read fades
)

// Mend finds moments at which channel 2 contradicts channel 1 and estimates the
// ratio again without them. It returns e itself where there are none.
func Mend(e *spectra.Heard, b bench.Bench) (*spectra.Heard, error) {
	if e.Vitals[0].Clipped() > 0 {
		return e, nil // clipped peaks look like jumps, and are told of themselves
	}
	heard := e
	moments := kinks(heard, b.Wiring)
	for _, s := range heard.Stretches {
		moments = append(moments, strays(s)...)
	}
	if moments = join(moments); len(moments) == 0 {
		moments = join(jumps(heard, curveOf(e, true)))
	}
	for stage := 0; len(moments) > 0; stage++ {
		if stage == mendStages || tooMany(heard, moments) {
			e.Shaky = len(moments)
			break
		}
		mended, err := without(heard, moments, b)
		if err != nil {
			return nil, err
		}
		if mended == nil {
			e.Shaky = len(moments)
			break
		}
		if mended.Vitals[1].Clipped() > 0 {
			return heard, nil // a contact that opens at a peak looks clipped, but nowhere else
		}
		e = mended
		// With a ratio that is right, moments show that were hidden before.
		more := join(append(jumps(heard, curveOf(e, true)), moments...))
		if covers(moments, more) {
			break
		}
		moments = more
	}
	return e, nil
}

// without estimates the ratio without the moments, round after round, until what
// is put in their place follows from the ratio that results. Points of which the
// moments took too much are left out. It returns nil where the ratio is not known
// well enough for that.
func without(e *spectra.Heard, moments []spectra.Moment, b bench.Bench) (*spectra.Heard, error) {
	h := curveOf(e, true)
	if !h.known() {
		return nil, nil
	}
	p, err := cut(e, moments)
	if err != nil {
		return nil, err
	}
	p.fill(h)
	var quick acceleration
	for round := range mendRounds {
		next, err := spectra.Hear(p.recording(), b)
		var unfit *fault.BenchError
		switch {
		case errors.As(err, &unfit):
			return nil, nil
		case err != nil:
			return nil, err
		}
		settled, before := h.near(next.Points), h
		h = curveOf(next, false)
		if !h.known() {
			return nil, nil
		}
		if settled || round == mendRounds-1 {
			next.Jumped = moments
			if next.Lines == nil { // every period of a periodic signal tells of every line
				for i, pt := range next.Points { // what the last round still changed is not sure
					next.Points[i].Split += dsp.SqAbs(before.at(pt.Freq) - pt.Ratio)
				}
				next.Points = p.unspoiled(next.Points, doubts(next, moments, h))
			}
			return next, nil
		}
		last := p.values()
		p.fill(h)
		plain := p.values()
		if far := quick.next(last, plain); largest(far) < mendFarthest*max(largest(last), largest(plain)) {
			p.set(far)
		} else { // extrapolated beyond reason: start anew from here
			quick = acceleration{}
		}
	}
	return nil, nil
}

// tooMany says whether the moments are more than a poor contact leaves behind.
func tooMany(e *spectra.Heard, all []spectra.Moment) bool {
	var sum float64
	for _, m := range all {
		sum += m.To - m.From
	}
	return len(all) > burstMost || sum*e.Rec.Rate > burstSamples || sum > burstShare*float64(e.Rec.Frames)/e.Rec.Rate
}

// jumps looks for short moments at which the outline of channel 2 is far from
// what channel 1 and the ratio h make of it.
func jumps(e *spectra.Heard, h ratioCurve) []spectra.Moment {
	rate := e.Low[0].Rate
	rest := rest(e, h)
	if rest == nil {
		return nil
	}
	heard := e.Low[1].Samples
	on, off := played(e)
	from, to := int(on*rate), min(int(off*rate), len(rest))
	if e.Lines != nil {
		from, to = int(e.Lines.Start*rate), int((e.Lines.Start+e.Lines.Period*float64(e.Lines.Count))*rate)
		dropRepeating(e, rest, rate)
	}
	size := max(1, int(spectra.BlockSeconds*rate))
	const beside = 10 // blocks on either side that tell what is usual
	blocks := len(rest) / size
	usual, power := make([]float64, blocks), make([]float64, blocks)
	for i := range blocks {
		usual[i] = dsp.Median(unsigned(rest[i*size : (i+1)*size]))
		power[i] = floats.Dot(heard[i*size:(i+1)*size], heard[i*size:(i+1)*size]) / float64(size)
	}
	var all []spectra.Moment
	for i := range blocks {
		lo, hi := max(0, i-beside), min(blocks, i+beside+1)
		limit := max(burstOut*dsp.Median(usual[lo:hi])/0.6745, burstPart*math.Sqrt(dsp.Median(power[lo:hi])))
		for k := max(from, i*size); k < min(to, (i+1)*size); k++ {
			if math.Abs(rest[k]) <= limit {
				continue
			}
			at := float64(k) / rate
			all = append(all, spectra.Moment{From: at - burstAround/rate, To: at + burstAround/rate})
		}
	}
	return all
}

// kinks looks for moments at which channel 2 bends far more sharply than nearby
// and channel 1 does not, unless it hears the contact too: corners that a contact
// makes. They show where the ratio itself has followed a contact, as in a sweep,
// and jumps sees nothing.
func kinks(e *spectra.Heard, w bench.Wiring) []spectra.Moment {
	const beside = 40 // stretches on either side that tell what is usual
	sharp, driven := e.Vitals[1].Kinks, e.Vitals[0].Kinks
	// More than so many times the median of those around it: counting those that
	// are smaller tells it without sorting.
	standsOut := func(kinks []float32, i int, times float64) bool {
		near := kinks[max(0, i-beside):min(len(kinks), i+beside+1)]
		bound, smaller := float32(float64(kinks[i])/times), 0
		for _, k := range near {
			if k < bound {
				smaller++
			}
		}
		return smaller > len(near)/2
	}
	on, off := played(e)
	least := max(kinkPart*e.Vitals[1].Rms(), kinkSteps*e.Vitals[1].Finest)
	var all []spectra.Moment
	for i, k := range sharp {
		at := float64(i) * spectra.KinkSeconds
		if at < on || at > off || float64(k) <= least || !standsOut(sharp, i, kinkOut) {
			continue
		}
		if w != bench.Probes && standsOut(driven, i, kinkOut/2) {
			continue
		}
		all = append(all, spectra.Moment{From: at - spectra.KinkSeconds, To: at + 2*spectra.KinkSeconds})
	}
	return all
}

// covers says whether each of some moments lies within one of all, but for a
// stretch of kinkSeconds.
func covers(all, some []spectra.Moment) bool {
	return !slices.ContainsFunc(some, func(m spectra.Moment) bool {
		return !slices.ContainsFunc(all, func(a spectra.Moment) bool {
			return m.From >= a.From-spectra.KinkSeconds && m.To <= a.To+spectra.KinkSeconds
		})
	})
}

// join returns the moments in order, those close together made one, without
// those that are too long for a contact.
func join(all []spectra.Moment) []spectra.Moment {
	slices.SortFunc(all, func(a, b spectra.Moment) int { return cmp.Compare(a.From, b.From) })
	var out []spectra.Moment
	for _, m := range all {
		if n := len(out); n > 0 && m.From <= out[n-1].To+burstJoin {
			out[n-1].To = max(out[n-1].To, m.To)
			continue
		}
		out = append(out, m)
	}
	return slices.DeleteFunc(out, func(m spectra.Moment) bool { return m.To-m.From > burstLongest })
}

// largest returns the largest of some values, whatever their sign.
func largest(x []float64) float64 { return floats.Norm(x, math.Inf(1)) }

func unsigned(x []float64) []float64 {
	a := make([]float64, len(x))
	for i, v := range x {
		a[i] = math.Abs(v)
	}
	return a
}

// played returns when the signal begins and ends, in seconds, without the edges
// of the recording.
func played(e *spectra.Heard) (on, off float64) {
	active := e.Vitals[0].Active()
	first, last := slices.Index(active, true), len(active)-1
	for last > first && !active[last] {
		last--
	}
	end := float64(e.Rec.Frames)/e.Rec.Rate - burstEdge
	return max(float64(first)*spectra.BlockSeconds, burstEdge), min(float64(last+1)*spectra.BlockSeconds, end)
}

// rest returns the outline of channel 2 without what follows from channel 1, nil
// where the ratio h is not known well enough.
func rest(e *spectra.Heard, h ratioCurve) []float64 {
	rate := e.Low[0].Rate
	x, y := e.Low[0].Samples, e.Low[1].Samples
	n := min(len(x), len(y))
	if n == 0 || !h.known() {
		return nil
	}
	size := dsp.Smooth5(n + int(ringing*rate))
	fft := fourier.NewFFT(size)
	padded := make([]float64, size)
	transform := func(v []float64) []complex128 {
		clear(padded)
		copy(padded, v[:n])
		floats.AddConst(-floats.Sum(v[:n])/float64(n), padded[:n])
		return fft.Coefficients(nil, padded)
	}
	fx, fy := transform(x), transform(y)
	for k := range fy {
		f := float64(k) * rate / float64(size)
		if f < spectra.LowestHz || f > spectra.Usable*rate {
			fy[k] = 0 // of other frequencies that fold back the ratio is another
			continue
		}
		fy[k] -= h.at(f) * fx[k]
	}
	out := fft.Sequence(padded, fy)[:n]
	floats.Scale(1/float64(size), out)
	return out
}

// dropRepeating takes out of the rest what comes back in every period: it is
// the driver's distortion, which may well be spiky.
func dropRepeating(e *spectra.Heard, rest []float64, rate float64) {
	l := e.Lines
	at := dsp.Resampler(slices.Clone(rest))
	first, period := l.Start*rate, l.Period*rate
	same := make([]float64, l.Count)
	for k := range int(period) {
		for m := range same {
			same[m] = at(first + float64(m)*period + float64(k))
		}
		usual := dsp.Median(same)
		if l.Count == 2 { // of two that differ, the smaller is the usual
			usual = same[0]
			if math.Abs(same[1]) < math.Abs(same[0]) {
				usual = same[1]
			}
		}
		for m := range same {
			if i := int(math.Round(first + float64(m)*period + float64(k))); i < len(rest) {
				rest[i] = same[m] - usual
			}
		}
	}
}

// UnsteadyContact says where the contact was not steady.
func UnsteadyContact(e *spectra.Heard) (string, bool) {
	switch {
	case e.Shaky == 1:
		return fmt.Sprintf("the contact was not steady: channel %d jumps once, and that moment could not be left out", e.Number(1)), true
	case e.Shaky > 0:
		return fmt.Sprintf("the contact was not steady: channel %d jumps %d times, and not all of those moments could be left out", e.Number(1), e.Shaky), true
	case len(e.Jumped) == 1:
		return fmt.Sprintf("the contact was not steady: %.1f s from the start channel %d jumps, and that moment was left out", e.Jumped[0].From, e.Number(1)), true
	case len(e.Jumped) > 1:
		return fmt.Sprintf("the contact was not steady: %d times, first %.1f s from the start, channel %d jumps, and those moments were left out", len(e.Jumped), e.Jumped[0].From, e.Number(1)), true
	case len(e.Unsteady) > 0:
		return "the contact was not steady: at " + someHz(e.Unsteady) + " the curve jumps, and those points were left out", true
	}
	return "", false
}

// someHz lists frequencies for a sentence.
func someHz(f []float64) string {
	var words []string
	for _, v := range f[:min(3, len(f))] {
		words = append(words, fmt.Sprintf("%.4g", v))
	}
	text := strings.Join(words, ", ") + " Hz"
	if len(f) > 3 {
		text += fmt.Sprintf(" and %d more", len(f)-3)
	}
	return text
}
