package spectra

import (
	"math"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
)

const (
	pointsPerOctave = 48   // of the resulting impedance, where the length of the recording allows it
	weakestBand     = 1e-4 // energy per octave relative to the strongest band, below which there is no signal
	weakestBeside   = 0.1  // the same relative to the bands beside it: the edge of the signal
)

// Point is the ratio of the channels at one frequency.
type Point struct {
	Freq  float64    // Hz
	Ratio complex128 // channel 2 over channel 1
	noise float64    // variance of the noise in one cell
	Gain  float64    // variance of ratio for unit noise
	Split float64    // further variance of ratio that is not in noise
	dof   int        // complex degrees of freedom behind noise
	Power float64    // energy of channel 1, per octave
}

// Variance returns the variance of the complex ratio.
func (p Point) Variance() float64 { return p.noise*p.Gain + p.Split }

// Clear says whether the noise of the ratio is a small part of it.
func (p Point) Clear() bool { return p.Variance() < WorstRelative*WorstRelative*dsp.SqAbs(p.Ratio) }

// band is a stretch of bins of one level with its local fits, for each cut of
// the level.
type band struct {
	centre float64 // Hz
	half   float64 // Hz, from the centre to the last bin
	rate   float64 // Hz, of the level
	from   int     // first bin
	n      int     // bins
	cuts   [numCuts]bandFits
}

// bandFits are one fit over all bins, and one for each mains frequency that
// leaves out the bins of its harmonics; nil where there are none.
type bandFits [1 + len(MainsHz)]*localFit

// solve returns the outcome of fit i from the cut that shows the band better.
func (b *band) solve(i int) (local, bool) {
	l, ok := b.cuts[plain][i].solve()
	if b.cuts[overlapping][i] != nil {
		if other, fine := b.cuts[overlapping][i].solve(); fine && (!ok || other.gain < l.gain) {
			return other, true
		}
	}
	return l, ok
}

// hum says whether the band holds harmonics of a mains frequency.
func (b *band) hum(mains int) bool { return b.cuts[plain][1+mains] != nil }

// plan divides a level into bands.
func plan(l *level) []band {
	var bands []band
	step := math.Exp2(1.0 / pointsPerOctave)
	last := min(int(l.hi/l.binHz), l.size/2-1)
	for j := max(1, int(math.Ceil(l.lo/l.binHz))); ; {
		n := max(minCells, int(math.Round(float64(j)*(step-1))))
		if j+n-1 > last {
			break
		}
		b := band{rate: l.binHz * float64(l.size), centre: (float64(j) + float64(n-1)/2) * l.binHz, half: float64(n-1) / 2 * l.binHz, from: j, n: n}
		for cut := range numCuts {
			if cut == overlapping && !l.overlaps {
				break
			}
			b.cuts[cut][0] = newLocalFit(n, nil)
			for m, hz := range MainsHz {
				if skip := humBins(j, n, l.binHz, hz); skip != nil {
					b.cuts[cut][1+m] = newLocalFit(n, skip)
				}
			}
		}
		bands = append(bands, b)
		j += n
	}
	return bands
}

// Local sends a recording through the pyramid and estimates the ratio of the
// channels by local fits along the frequency axis, whatever the signal was. Swap takes the
// channels the other way round. It keeps no Stretches.
func Local(rec *bench.Recording, swap bool) (*Result, error) {
	return newPyramid(rec.Frames, rec.Rate).estimate(blocks{rec, swap})
}

// estimate is [Local] on a pyramid that is made.
func (p *pyramid) estimate(src blocks) (*Result, error) {
	bands := make(map[*level][]band)
	for i := range p.levels {
		bands[&p.levels[i]] = plan(&p.levels[i])
	}
	err := p.run(src, func(l *level, cut, half int, x, y []complex128) {
		for i := half; i < len(bands[l]); i += 2 {
			b := &bands[l][i]
			for _, f := range b.cuts[cut] {
				if f != nil {
					f.add(x[b.from:b.from+b.n], y[b.from:b.from+b.n])
				}
			}
		}
	})
	if err != nil {
		return nil, err
	}
	var all []band
	for i := len(p.levels) - 1; i >= 0; i-- {
		all = append(all, bands[&p.levels[i]]...)
	}
	found := findHum(all)
	var points []Point
	strongest := 0.0
	for _, b := range all {
		fit := 0
		if found.Mains >= 0 && b.hum(found.Mains) {
			fit = 1 + found.Mains
		}
		if l, ok := b.solve(fit); ok {
			q := Point{Freq: b.centre + l.at*b.half, Ratio: l.ratio, noise: l.noise, Gain: l.gain, Split: l.split, dof: l.dof,
				Power: l.total / (b.rate * b.rate) * b.centre}
			strongest = max(strongest, q.Power)
			points = append(points, q)
		}
	}
	points = withSignal(points, strongest)
	poolNoise(points)
	e := &Result{Rec: src.rec, Swap: src.swap, Points: points, Hum: found, Stats: p.stats, Low: p.low, Middle: p.middle}
	for i := range p.levels {
		e.Stretches = append(e.Stretches, p.levels[i].stretches)
	}
	return e, nil
}

// withSignal returns the points whose bands hold signal. Beyond the edge of a
// signal there is only noise, whose ratio means nothing.
func withSignal(points []Point, strongest float64) []Point {
	var kept []Point
	for i, p := range points {
		beside := 0.0
		for _, k := range []int{i - 1, i + 1} {
			if k >= 0 && k < len(points) {
				beside = max(beside, points[k].Power)
			}
		}
		if p.Power > weakestBand*strongest && p.Power > weakestBeside*beside {
			kept = append(kept, p)
		}
	}
	return kept
}
