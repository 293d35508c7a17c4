package spectra

import (
	"math"
	"slices"

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
	loud  bool       // noise is not that of the neighbours: hum, interference
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
type bandFits [1 + len(MainsHz)]*LocalFit

// solve returns the outcome of fit i from the cut that shows the band better.
func (b *band) solve(i int) (local, bool) {
	l, ok := b.cuts[plain][i].solve()
	if b.cuts[bridges][i] != nil {
		if other, fine := b.cuts[bridges][i].solve(); fine && (!ok || other.gain < l.gain) {
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
			if cut == bridges && !l.bridged {
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

// Listen sends a recording through the pyramid and estimates the ratio of the
// channels by local fits along the frequency axis, whatever the signal was.
func Listen(src *Blocks) (*Heard, error) {
	return newPyramid(src.Rec.Frames, src.Rec.Rate).listen(src)
}

func (p *pyramid) listen(src *Blocks) (*Heard, error) {
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
	e := &Heard{Rec: src.Rec, Swap: src.Swap, Points: points, Hum: found, Vitals: p.vitals, Low: p.low}
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

// Steady leaves out points that their neighbours on both sides contradict: a
// contact that opened while a sweep passed by. The impedance of a driver is a
// smooth curve; a cubic through two points on either side tells its value. It
// returns what is left and the frequencies that went.
func Steady(points []Point) (kept []Point, gone []float64) {
	const (
		widest    = 1.018 // ratio of neighbouring frequencies up to which the curve is that smooth
		tolerance = 0.02  // of the ratio
		most      = 40
		reach     = 5 // neighbours on either side that go with a point: the same moment spoiled them
	)
	bad := make(map[float64]bool)
	kept = slices.Clone(points)
	for len(gone) < most {
		worst, at := 1.0, -1
		for i := 2; i+2 < len(kept); i++ {
			if kept[i+2].Freq > math.Pow(widest, 4)*kept[i-2].Freq {
				continue
			}
			var w [5]float64 // Lagrange's weights at point i of the four others
			var guess complex128
			variance := kept[i].Variance()
			for a := range w {
				if a == 2 {
					continue
				}
				w[a] = 1
				for b := range w {
					if b != 2 && b != a {
						w[a] *= math.Log(kept[i].Freq/kept[i-2+b].Freq) / math.Log(kept[i-2+a].Freq/kept[i-2+b].Freq)
					}
				}
				guess += complex(w[a], 0) * kept[i-2+a].Ratio
				variance += w[a] * w[a] * kept[i-2+a].Variance()
			}
			// Where the curve bends much within the five points, less is sure.
			bend := math.Sqrt(dsp.SqAbs(guess - (kept[i-1].Ratio+kept[i+1].Ratio)/2))
			size := math.Sqrt(dsp.SqAbs(guess))
			off := math.Sqrt(dsp.SqAbs(kept[i].Ratio-guess)) / (6*math.Sqrt(variance) + tolerance*size + bend)
			if off > worst {
				worst, at = off, i
			}
		}
		if at < 0 {
			break
		}
		gone = append(gone, kept[at].Freq)
		for i := max(0, at-reach); i <= min(len(kept)-1, at+reach); i++ {
			bad[kept[i].Freq] = true
		}
		kept = slices.Delete(kept, at, at+1)
	}
	slices.Sort(gone)
	kept = slices.DeleteFunc(kept, func(p Point) bool { return bad[p.Freq] })
	return kept, gone
}

// pooledDof is the number of complex degrees of freedom that a noise figure
// should rest on: 8 % uncertainty of the standard deviation.
const pooledDof = 40

// poolNoise replaces the noise of each point by the mean over its neighbours,
// because a noise figure of few degrees of freedom is itself uncertain while
// the noise of sound cards is smooth in frequency. The noise of the ratio is
// Ny - H Nx; dividing it by 1+|H|^2 takes the shape of the driver out. A point
// that is clearly louder than its neighbours keeps its own figure. Theory (6.11).
func poolNoise(points []Point) {
	scaled := make([]float64, len(points))
	for i, p := range points {
		scaled[i] = p.noise / (1 + dsp.SqAbs(p.Ratio))
	}
	pooled := slices.Clone(scaled)
	for i := range points {
		dof := points[i].dof
		sum := scaled[i] * float64(dof)
		for d := 1; dof < pooledDof && d <= pooledDof/2; d++ {
			for _, k := range []int{i - d, i + d} {
				if k < 0 || k >= len(points) {
					continue
				}
				sum += scaled[k] * float64(points[k].dof)
				dof += points[k].dof
			}
		}
		mean := sum / float64(dof)
		// One in a thousand exponential sums of own dof would exceed this.
		own := float64(points[i].dof)
		if limit := 1 + 3.1/math.Sqrt(own) + 3/own; scaled[i] > limit*mean {
			points[i].loud = true
			continue
		}
		pooled[i] = mean
	}
	for i := range points {
		points[i].noise = pooled[i] * (1 + dsp.SqAbs(points[i].Ratio))
	}
}
