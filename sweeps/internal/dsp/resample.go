package dsp

import "math"

// The interpolation kernel: a sinc of kernelHalf zeros on each side under a
// Kaiser window. It passes 0 to 0.41 of the sample rate within 1e-5.
const (
	kernelHalf = 32
	kernelBeta = 10
	kernelFine = 512 // table steps between two samples
)

var kernelTable = makeKernel()

func makeKernel() []float64 {
	t := make([]float64, kernelHalf*kernelFine+2)
	for i := range t {
		x := float64(i) / kernelFine
		r := x / kernelHalf
		if r > 1 {
			continue
		}
		t[i] = Sinc(x) * Bessel0(kernelBeta*math.Sqrt(1-r*r)) / Bessel0(kernelBeta)
	}
	return t
}

// kernelRows holds the kernel for each fraction of a sample: row j weighs the
// samples around a position j/kernelFine behind one of them.
var kernelRows = makeRows()

func makeRows() [kernelFine + 1][2 * kernelHalf]float64 {
	var rows [kernelFine + 1][2 * kernelHalf]float64
	for j := range rows {
		for i := range rows[j] {
			d := (i-(kernelHalf-1))*kernelFine - j
			rows[j][i] = kernelTable[max(d, -d)]
		}
	}
	return rows
}

// Resampler returns a function that gives the value of the band-limited signal
// at any position (in samples, from 0); outside the signal it is silent.
// Whole positions give the samples themselves.
func Resampler(x []float64) func(pos float64) float64 {
	return func(pos float64) float64 {
		i := int(math.Floor(pos))
		frac := pos - float64(i)
		if frac == 0 {
			if i < 0 || i >= len(x) {
				return 0
			}
			return x[i]
		}
		if i-kernelHalf+1 >= 0 && i+kernelHalf < len(x) {
			return interpolate(x[i-kernelHalf+1:i+kernelHalf+1], frac)
		}
		var edge [2 * kernelHalf]float64
		for k := range edge {
			if at := i - kernelHalf + 1 + k; at >= 0 && at < len(x) {
				edge[k] = x[at]
			}
		}
		return interpolate(edge[:], frac)
	}
}

// Retime takes samples of a stream at positions start, start+step, ... With a
// whole start and step 1 it only passes samples on.
type Retime struct {
	next float64 // position of the next output, relative to buf[0]
	step float64
	buf  []float64
}

// NewRetime returns a Retime that begins at the position start.
func NewRetime(start, step float64) *Retime {
	// Silence before the start gives the kernel something to look back on.
	return &Retime{next: start + kernelHalf, step: step, buf: make([]float64, kernelHalf)}
}

// Push takes in samples and appends to dst the outputs that they complete.
func (r *Retime) Push(dst, samples []float64) []float64 {
	r.buf = append(r.buf, samples...)
	for {
		i := int(r.next)
		if i+kernelHalf+1 > len(r.buf) {
			break
		}
		frac := r.next - float64(i)
		if frac == 0 {
			dst = append(dst, r.buf[i])
		} else {
			dst = append(dst, interpolate(r.buf[i-kernelHalf+1:i+kernelHalf+1], frac))
		}
		r.next += r.step
	}
	// Keep what the kernel still needs.
	keep := min(max(0, int(r.next)-kernelHalf), len(r.buf))
	n := copy(r.buf, r.buf[keep:])
	r.buf = r.buf[:n]
	r.next -= float64(keep)
	return dst
}

// interpolate returns the value frac (0 to 1) of a sample behind the middle of
// w, which holds 2 kernelHalf samples.
func interpolate(w []float64, frac float64) float64 {
	fine := frac * kernelFine
	j := int(fine)
	a := fine - float64(j)
	lo, hi := kernelRows[j], kernelRows[j+1]
	var p, q float64
	for i, v := range w {
		p += v * lo[i]
		q += v * hi[i]
	}
	return p + a*(q-p)
}
