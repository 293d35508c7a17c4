package contact

import (
	"math"
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/interp"
)

// ratioCurve is the ratio of the channels as a smooth curve over frequency.
type ratioCurve struct {
	freq   []float64          // Hz, of the points that it goes through
	re, im interp.AkimaSpline // over the logarithm of the frequency
}

// ratioCurve returns the ratio at the points that are clear, if so asked without
// those that their neighbours contradict.
func curveOf(e *spectra.Heard, doubting bool) ratioCurve {
	points := e.Points
	if doubting && e.Lines == nil {
		points, _ = spectra.Steady(points)
	}
	var c ratioCurve
	var lnf, re, im []float64
	for _, p := range points {
		if n := len(c.freq); p.Clear() && (n == 0 || p.Freq > c.freq[n-1]) {
			c.freq = append(c.freq, p.Freq)
			lnf = append(lnf, math.Log(p.Freq))
			re = append(re, real(p.Ratio))
			im = append(im, imag(p.Ratio))
		}
	}
	if !c.known() || c.re.Fit(lnf, re) != nil || c.im.Fit(lnf, im) != nil {
		return ratioCurve{}
	}
	return c
}

// known says whether there are points enough for a curve.
func (c *ratioCurve) known() bool { return len(c.freq) >= spectra.FewestPoints }

// near says whether the points that are clear lie on the curve, but for a small
// part of their noise.
func (c *ratioCurve) near(points []spectra.Point) bool {
	return c.known() && !slices.ContainsFunc(points, func(p spectra.Point) bool {
		return p.Clear() && dsp.SqAbs(c.at(p.Freq)-p.Ratio) > mendSettled*mendSettled*p.Variance()
	})
}

// at returns the ratio at f (Hz), beyond the curve that of its end.
func (c *ratioCurve) at(f float64) complex128 {
	lnf := math.Log(min(max(f, c.freq[0]), c.freq[len(c.freq)-1]))
	return complex(c.re.Predict(lnf), c.im.Predict(lnf))
}

// patches are a recording with stretches of one channel replaced.
type patches struct {
	whole   *bench.Recording
	channel int        // of whole that is replaced, from 0
	mean    [2]float64 // of the channels that hear amplifier and node
	list    []patch
}

// patch is a stretch that is replaced.
type patch struct {
	from    int       // frame
	samples []float64 // of channel 2, what stands in
	driven  []float64 // of channel 1, the stretch and what lies before it
	lead    int       // samples of driven before the stretch
}

// cut returns the recording with patches at the moments, still to be filled.
func cut(e *spectra.Heard, moments []spectra.Moment) (*patches, error) {
	whole := e.Rec
	p := &patches{whole: whole, channel: e.Number(1) - 1, mean: [2]float64{e.Vitals[0].Mean(), e.Vitals[1].Mean()}}
	for _, m := range moments {
		from, to := max(0, int(m.From*whole.Rate)), min(whole.Frames, int(m.To*whole.Rate)+1)
		lo, hi := max(0, from-int(ringing*whole.Rate)), min(whole.Frames, to+int(after*whole.Rate))
		ch := [2][]float64{make([]float64, hi-lo), make([]float64, hi-lo)}
		if err := whole.Read(ch[0], ch[1], lo); err != nil {
			return nil, err
		}
		driven := ch[1-p.channel]
		floats.AddConst(-p.mean[0], driven)
		// Cut off sharply, a sweep would sound at all frequencies: errors of the
		// ratio far from where it is would come into the patch, and go round.
		if n := min(int(after*whole.Rate), from-lo); lo > 0 {
			glide(driven[:n], 0, 1)
		}
		if hi < whole.Frames {
			glide(driven[to-lo:], 1, 0)
		}
		p.list = append(p.list, patch{from: from, samples: make([]float64, to-from), driven: driven, lead: from - lo})
	}
	return p, nil
}

// glide changes the level of x smoothly from one factor to another.
func glide(x []float64, from, to float64) {
	for i := range x {
		x[i] *= from + (to-from)*(1-math.Cos(math.Pi*(float64(i)+0.5)/float64(len(x))))/2
	}
}

// fill puts in what follows from channel 1 and the ratio h.
func (p *patches) fill(h ratioCurve) {
	for _, q := range p.list {
		n := dsp.Smooth5(2 * len(q.driven))
		x := make([]float64, n)
		copy(x, q.driven)
		fft := fourier.NewFFT(n)
		s := fft.Coefficients(nil, x)
		for k := range s {
			s[k] *= h.at(float64(k)*p.whole.Rate/float64(n)) / complex(float64(n), 0)
		}
		fft.Sequence(x, s)
		copy(q.samples, x[q.lead:])
		floats.AddConst(p.mean[1], q.samples)
	}
}

// values returns all that stands in as one list, set is its inverse.
func (p *patches) values() []float64 {
	var all []float64
	for _, q := range p.list {
		all = append(all, q.samples...)
	}
	return all
}

func (p *patches) set(all []float64) {
	for _, q := range p.list {
		all = all[copy(q.samples, all):]
	}
}

func (p *patches) recording() *bench.Recording {
	return &bench.Recording{Rate: p.whole.Rate, Frames: p.whole.Frames, Source: p.whole.Source, Warnings: p.whole.Warnings, Src: p}
}

func (p *patches) ReadFrames(ch1, ch2 []float64, from int) error {
	if err := p.whole.Read(ch1, ch2, from); err != nil {
		return err
	}
	to := [2][]float64{ch1, ch2}[p.channel]
	for _, q := range p.list {
		if at := q.from - from; at < len(to) && at+len(q.samples) > 0 {
			copy(to[max(0, at):], q.samples[max(0, -at):])
		}
	}
	return nil
}

// doubts tells for each moment how far what stands in may be off, relative to
// channel 2: as if all that the ratio h fails to explain of what was heard around
// it came from there.
func doubts(e *spectra.Heard, moments []spectra.Moment, h ratioCurve) []float64 {
	rate := e.Low[0].Rate
	rest, power := rest(e, h), e.Vitals[1].Blocks()
	doubt := make([]float64, len(moments))
	for i, m := range moments {
		doubt[i] = blindDoubt
		lo, hi := max(0, int((m.From-doubtAround)/spectra.BlockSeconds)), min(len(power), int((m.To+doubtAround)/spectra.BlockSeconds))
		from, to := int(float64(lo)*spectra.BlockSeconds*rate), min(len(rest), int(float64(hi)*spectra.BlockSeconds*rate))
		if lo >= hi || from >= to {
			continue
		}
		all := floats.Sum(power[lo:hi]) / float64(hi-lo) * float64(to-from)
		heard, off := floats.Norm(e.Low[1].Samples[from:to], 2), floats.Norm(rest[from:to], 2)
		if heard*heard > 0.1*all { // the outline hears low frequencies only
			doubt[i] = off / math.Sqrt(all*(m.To-m.From)*rate/float64(to-from))
		}
	}
	return doubt
}

// unspoiled returns the points that are still known well without the patches,
// with the doubt of each patch. A sweep passes each frequency once, so a patch
// may hold all that was known of it. What a patch takes is its part of the
// spectrum of channel 1.
func (p *patches) unspoiled(points []spectra.Point, doubt []float64) []spectra.Point {
	var kept []spectra.Point
	for _, pt := range points {
		var lost, off float64
		for i, q := range p.list {
			part := powerAt(q.driven[q.lead:q.lead+len(q.samples)], pt.Freq/p.whole.Rate) / (p.whole.Rate * p.whole.Rate) / (pt.Power / pt.Freq)
			lost += part
			off += part * doubt[i] * doubt[i]
		}
		if lost < mostLost*mostLost {
			pt.Gain /= 1 - math.Sqrt(lost)
			pt.Split += off * dsp.SqAbs(pt.Ratio)
			kept = append(kept, pt)
		}
	}
	return kept
}

// powerAt returns the power of the Fourier transform of x at one frequency
// (fraction of the sample rate), by Goertzel's recursion.
func powerAt(x []float64, f float64) float64 {
	twice := 2 * math.Cos(2*math.Pi*f)
	var s1, s2 float64
	for _, v := range x {
		s1, s2 = v+twice*s1-s2, s1
	}
	return s1*s1 + s2*s2 - twice*s1*s2
}
