package spectra

import (
	"math"
	"slices"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
)

// lines are the spectra of a periodic signal, collected period by period. The
// index is the number of the line, in units of one over the period.
type lines struct {
	Period float64 // s
	Start  float64 // s from the start of the recording
	Count  int     // periods
	x, y   []complex128
	xx, yy []float64    // sums of |X|^2, |Y|^2
	yx     []complex128 // sum of Y X*
}

// collect reads the periods of a repetition. When the player's clock is not the
// recorder's, a period is not a whole number of samples; the recording is then
// brought onto the player's clock.
func collect(src blocks, r repetition) (*lines, error) {
	rate := src.rec.Rate
	var entry [2][]*dsp.Halfband
	for rate/2*0.42 >= highestHz {
		for c := range entry {
			entry[c] = append(entry[c], dsp.NewHalfband(highestHz/rate))
		}
		rate /= 2
	}
	long := r.period * rate
	n := dsp.Smooth5Below(int(math.Round(long)))
	if other := dsp.Smooth5(int(math.Round(long))); math.Abs(float64(other)-long) < math.Abs(float64(n)-long) {
		n = other
	}
	step := long / float64(n)
	start := math.Round(r.start * rate)
	if math.Abs(long-float64(n)) < 0.02 {
		step = 1
	}
	top := min(n/2, int(min(highestHz, 0.46*src.rec.Rate)*r.period)+1)
	l := &lines{Period: r.period, Start: r.start, Count: r.count, x: make([]complex128, top), y: make([]complex128, top),
		xx: make([]float64, top), yy: make([]float64, top), yx: make([]complex128, top)}

	var sampler [2]*dsp.Retime
	var fft [2]*fourier.FFT
	var spectra [2][]complex128
	for c := range sampler {
		sampler[c] = dsp.NewRetime(start, step)
		fft[c] = fourier.NewFFT(n)
		spectra[c] = make([]complex128, n/2+1)
	}
	done := 0
	var pending [2][]float64
	err := src.each(func(ch [2][]float64) {
		if done == r.count {
			return // the rest is not looked at: it would only fill the memory
		}
		Both(func(c int) {
			for x := range slices.Chunk(ch[c], pushBlock) {
				for _, h := range entry[c] {
					x = h.Push(x)
				}
				pending[c] = sampler[c].Push(pending[c], x)
			}
		})
		for len(pending[0]) >= n && done < r.count {
			Both(func(c int) { fft[c].Coefficients(spectra[c], pending[c][:n]) })
			l.add(spectra)
			done++
			for c := range pending {
				pending[c] = append(pending[c][:0], pending[c][n:]...)
			}
		}
	})
	l.Count = done
	return l, err
}

func (l *lines) add(s [2][]complex128) {
	for k := range l.x {
		x, y := s[0][k], s[1][k]
		l.x[k] += x
		l.y[k] += y
		l.xx[k] += dsp.SqAbs(x)
		l.yy[k] += dsp.SqAbs(y)
		l.yx[k] += y * conj(x)
	}
}

// ratio returns H = sum Y / sum X of a line and the variance of the noise
// Y - H X of one period:
//
//	var N = (sum |Y|^2 + |H|^2 sum |X|^2 - 2 Re(H* sum Y X*)) / (M-1)
//
// Noise that both channels share is in the last term. Theory (6.8), (6.9).
//
// Source: Pintelon and Schoukens, System Identification, 2nd ed. (from memory).
func (l *lines) ratio(k int) (h complex128, noise float64) {
	h = l.y[k] / l.x[k]
	rss := l.yy[k] + dsp.SqAbs(h)*l.xx[k] - 2*real(conj(h)*l.yx[k])
	floor := 1e-15 * l.yy[k]
	return h, max(rss, floor) / float64(l.Count-1)
}

// excited says for each line whether the signal has a tone there: it is well
// above its own noise and not far below the strongest line nearby, within about
// a sixth of an octave.
func (l *lines) excited() []bool {
	m := float64(l.Count)
	strongest := make(map[int]float64)
	for k := 1; k < len(l.x); k++ {
		b := neighbourhood(k)
		strongest[b] = max(strongest[b], dsp.SqAbs(l.x[k]))
	}
	on := make([]bool, len(l.x))
	for k := 1; k < len(on); k++ {
		b := neighbourhood(k)
		near := max(strongest[b-1], strongest[b], strongest[b+1])
		power := dsp.SqAbs(l.x[k])
		noise := max(0, l.xx[k]-power/m) / (m - 1) // of one period
		on[k] = power > 0.05*near && power > 30*m*noise
	}
	dropEven(on)
	return on
}

// dropEven takes out even lines where nearly all are odd, as in the multitones
// that are made here: they are hum or distortion that looks like a tone.
func dropEven(on []bool) {
	const nearly = 0.9
	var count [2]float64
	for k, is := range on {
		if is {
			count[k%2]++
		}
	}
	if count[1] < nearly*(count[0]+count[1]) {
		return
	}
	for k := 0; k < len(on); k += 2 {
		on[k] = false
	}
}

// neighbourhood numbers stretches of lines: twelve lines or a sixth of an
// octave, whichever is wider.
func neighbourhood(k int) int {
	const even = 104 // line from which a sixth of an octave is wider
	if k < even {
		return k / 12
	}
	return even/12 + 1 + int(6*math.Log2(float64(k)/even))
}

// points returns the ratio at every excited line.
func (l *lines) points(on []bool) []Point {
	var points []Point
	m := float64(l.Count)
	strongest := 0.0
	for k := 1; k < len(l.x); k++ {
		f := float64(k) / l.Period
		if !on[k] || f < LowestHz {
			continue
		}
		h, noise := l.ratio(k)
		mean := dsp.SqAbs(l.x[k]) / (m * m)
		strongest = max(strongest, mean)
		points = append(points, Point{Freq: f, Ratio: h, noise: noise, Gain: 1 / (m * mean), dof: l.Count - 1, Power: mean})
	}
	poolNoise(points)
	return points
}
