package contact

import (
	"math"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

const (
	ringing = 1.0 // s that are read before a gap, so that the driver's ringing is known, and
	after   = 0.5 // s behind it; over as much at either end what was read fades
)

// gaps are a recording with stretches of one channel that are filled.
type gaps struct {
	whole   *bench.Recording
	channel int        // of whole that is replaced, from 0
	mean    [2]float64 // of the channels on amplifier and node
	list    []gap
}

// gap is a stretch that is replaced.
type gap struct {
	from    int       // frame
	samples []float64 // of channel 2, what stands in
	driven  []float64 // of channel 1, the stretch and what lies before it
	lead    int       // samples of driven before the stretch
}

// cut returns the recording with gaps at the intervals, still to be filled.
func cut(e *spectra.Result, intervals []spectra.Interval) (*gaps, error) {
	whole := e.Rec
	g := &gaps{whole: whole, channel: e.Number(1) - 1, mean: [2]float64{e.Stats[0].Mean(), e.Stats[1].Mean()}}
	for _, m := range intervals {
		from, to := max(0, int(m.From*whole.Rate)), min(whole.Frames, int(m.To*whole.Rate)+1)
		lo, hi := max(0, from-int(ringing*whole.Rate)), min(whole.Frames, to+int(after*whole.Rate))
		ch := [2][]float64{make([]float64, hi-lo), make([]float64, hi-lo)}
		if err := whole.Read(ch[0], ch[1], lo); err != nil {
			return nil, err
		}
		driven := ch[1-g.channel]
		floats.AddConst(-g.mean[0], driven)
		// Cut off sharply, a sweep would sound at all frequencies: errors of the
		// ratio far from where it is would come into the gap, and go round.
		if n := min(int(after*whole.Rate), from-lo); lo > 0 {
			ramp(driven[:n], 0, 1)
		}
		if hi < whole.Frames {
			ramp(driven[to-lo:], 1, 0)
		}
		g.list = append(g.list, gap{from: from, samples: make([]float64, to-from), driven: driven, lead: from - lo})
	}
	return g, nil
}

// ramp changes the level of x smoothly from one factor to another.
func ramp(x []float64, from, to float64) {
	for i := range x {
		x[i] *= from + (to-from)*(1-math.Cos(math.Pi*(float64(i)+0.5)/float64(len(x))))/2
	}
}

// fill puts in what follows from channel 1 and the ratio h.
func (g *gaps) fill(h ratioCurve) {
	for _, q := range g.list {
		n := dsp.Smooth5(2 * len(q.driven))
		x := make([]float64, n)
		copy(x, q.driven)
		fft := fourier.NewFFT(n)
		s := fft.Coefficients(nil, x)
		for k := range s {
			s[k] *= h.at(float64(k)*g.whole.Rate/float64(n)) / complex(float64(n), 0)
		}
		fft.Sequence(x, s)
		copy(q.samples, x[q.lead:])
		floats.AddConst(g.mean[1], q.samples)
	}
}

// values returns all that stands in as one list, set is its inverse.
func (g *gaps) values() []float64 {
	var all []float64
	for _, q := range g.list {
		all = append(all, q.samples...)
	}
	return all
}

func (g *gaps) set(all []float64) {
	for _, q := range g.list {
		all = all[copy(q.samples, all):]
	}
}

func (g *gaps) recording() *bench.Recording {
	return g.whole.With(g)
}

func (g *gaps) ReadFrames(ch1, ch2 []float64, from int) error {
	if err := g.whole.Read(ch1, ch2, from); err != nil {
		return err
	}
	to := [2][]float64{ch1, ch2}[g.channel]
	for _, q := range g.list {
		if at := q.from - from; at < len(to) && at+len(q.samples) > 0 {
			copy(to[max(0, at):], q.samples[max(0, -at):])
		}
	}
	return nil
}
