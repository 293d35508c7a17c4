package virtual

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/ts/notice"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Stream is a virtual bench that is on: what the amplifier puts out goes in block by block,
// and what the two channels record comes out at once. Of the flaws it has those that last:
// gains, delays, noise, hum, offset, converter, clipping, input resistance, error of the
// resistor, distortion and the wrong connections. What happens once is told by [Stream.Slam]
// and [Stream.Open].
type Stream struct {
	bench     Bench
	rate      float64
	response  [2]convolver
	drive     delayLine // the amplifier's voltage, in time with the channels
	converter converter
	slam      []float64 // V in series with the driver, still to come
	open      int       // samples for which the contact stays open
	ch        [2][]float64
	heard     []float64
}

const (
	streamBlock = 1024 // samples that go through a stream together
	// ahead is how many samples a stream is late: the response of a bench that is known up
	// to half the sample rate begins a little before its cause.
	ahead = 512
	edge  = 0.45 // of the sample rate, up to which the response is that of the bench
)

// Stream turns the bench on, at rest, for samples at rate (Hz).
func (v Bench) Stream(rate int) (*Stream, error) {
	if err := v.check([]float64{0}, rate); err != nil {
		return nil, err
	}
	fs := float64(rate)
	s := &Stream{bench: v, rate: fs, converter: newConverter(v.Flaws, fs, rand.New(rand.NewPCG(v.Seed, 0x62656e6368)))}
	n := dsp.Smooth5(int(settle * fs))
	fft := fourier.NewFFT(n)
	spectra := [2][]complex128{make([]complex128, n/2+1), make([]complex128, n/2+1)}
	for k := range spectra[0] {
		f := float64(k) * fs / float64(n)
		z := v.Z(max(f, 0.25*fs/float64(n)))
		if cmplx.IsNaN(z) || cmplx.IsInf(z) {
			return nil, notice.New("virtual-impedance", notice.Facts{"frequency": f})
		}
		h1, h2 := v.divide(z)
		// At half the rate a sampled response is real. Without a smooth way there it would
		// ring long before its cause.
		w := math.Pow(math.Cos(math.Pi/2*max(0, f/fs-edge)/(0.5-edge)), 2)
		for c, h := range [2]complex128{h1, h2} {
			h = complex(real(h), w*imag(h))
			late := ahead/fs + v.Flaws.Delay[c]
			spectra[c][k] = h * cmplx.Rect((1+v.Flaws.Gain[c])/float64(n), -2*math.Pi*f*late)
		}
	}
	for c := range spectra {
		s.response[c] = newConvolver(fft.Sequence(nil, spectra[c]))
	}
	return s, nil
}

// Pass takes [Stream.Block] samples of the amplifier's voltage (V) and returns what the
// channels record meanwhile, as fractions of full scale. The slices are overwritten by the
// next call.
func (s *Stream) Pass(drive []float64) (ch1, ch2 []float64) {
	for c := range s.ch {
		s.ch[c] = append(s.ch[c][:0], s.response[c].pass(drive)...)
	}
	s.heard = append(s.heard[:0], drive...)
	s.drive.pass(s.heard)
	s.disturbDriver()
	s.bench.distort(s.ch)
	fl := s.bench.Flaws
	switch {
	case fl.Same:
		copy(s.ch[1], s.heard)
	case fl.Swapped:
		s.ch[0], s.ch[1] = s.ch[1], s.ch[0]
	}
	for c := range s.ch {
		if fl.Dead[c] {
			clear(s.ch[c])
		}
	}
	s.converter.convert(s.ch)
	return s.ch[0], s.ch[1]
}

// Block is the number of samples that go through the stream at a time.
func (s *Stream) Block() int { return streamBlock }

// Slam lets a door fall shut: the air pushes the cone, which swings at 9 Hz for a moment.
// Peak is the voltage of the coil (V).
func (s *Stream) Slam(peak float64) {
	s.slam = make([]float64, int(0.8*s.rate))
	for i := range s.slam {
		t := float64(i) / s.rate
		s.slam[i] = peak * math.Exp(-t/0.15) * math.Sin(2*math.Pi*9*t)
	}
}

// Open opens the contact of the driver for a time (s).
func (s *Stream) Open(seconds float64) { s.open = int(seconds * s.rate) }

// disturbDriver adds what happens to the driver itself.
func (s *Stream) disturbDriver() {
	one, two := s.ch[0], s.ch[1]
	n := min(len(s.slam), len(one))
	for i, e := range s.slam[:n] {
		addDriverVoltage(s.bench.Bench.Wiring, one, two, i, e)
	}
	s.slam = s.slam[n:]
	for i := range min(s.open, len(one)) {
		openContact(s.bench.Bench.Wiring, one, two, i, s.heard[i])
	}
	s.open = max(0, s.open-len(one))
}

// delayLine holds back samples; streamBlock is a multiple of its length.
type delayLine [ahead]float64

func (d *delayLine) pass(x []float64) {
	for i, v := range x {
		x[i], d[i%ahead] = d[i%ahead], v
	}
}

// convolver filters blocks of streamBlock samples by a long response: overlap and save, with
// the response in pieces as long as a block.
//
// Source: partitioned convolution, textbooks of digital signal processing (from memory).
type convolver struct {
	fft    *fourier.FFT
	pieces [][]complex128 // spectra of the response's pieces
	past   [][]complex128 // spectra of the last blocks, a ring
	next   int
	window []float64 // the last block and this one
	sum    []complex128
	out    []float64
}

func newConvolver(response []float64) convolver {
	c := convolver{fft: fourier.NewFFT(2 * streamBlock), window: make([]float64, 2*streamBlock), sum: make([]complex128, streamBlock+1)}
	for from := 0; from < len(response); from += streamBlock {
		piece := make([]float64, 2*streamBlock)
		copy(piece, response[from:min(from+streamBlock, len(response))])
		for i := range piece {
			piece[i] /= 2 * streamBlock
		}
		var spectrum []complex128
		if peak(piece) > leastPiece*peak(response)/(2*streamBlock) {
			spectrum = c.fft.Coefficients(nil, piece)
		}
		c.pieces = append(c.pieces, spectrum)
		c.past = append(c.past, make([]complex128, streamBlock+1))
	}
	return c
}

// leastPiece is the size of a piece, relative to the whole, below which it is left out: the
// tail of a resonance that has died away.
const leastPiece = 1e-10

func peak(x []float64) float64 {
	most := 0.0
	for _, v := range x {
		most = max(most, math.Abs(v))
	}
	return most
}

// pass returns the response to the next streamBlock samples.
func (c *convolver) pass(x []float64) []float64 {
	copy(c.window, c.window[streamBlock:])
	copy(c.window[streamBlock:], x)
	c.fft.Coefficients(c.past[c.next], c.window)
	clear(c.sum)
	for p, piece := range c.pieces {
		block := c.past[(c.next-p+len(c.past))%len(c.past)]
		for k, h := range piece {
			b := block[k]
			c.sum[k] += complex(real(h)*real(b)-imag(h)*imag(b), real(h)*imag(b)+imag(h)*real(b))
		}
	}
	c.next = (c.next + 1) % len(c.past)
	c.out = c.fft.Sequence(c.out, c.sum)
	return c.out[streamBlock:]
}

// addDriverVoltage puts e volts in series with the driver at sample i.
func addDriverVoltage(w bench.Wiring, one, two []float64, i int, e float64) {
	switch w {
	case bench.DriverFirst:
		two[i] -= e
	case bench.Probes:
		one[i] += e
		two[i] -= e
	default:
		two[i] += e
	}
}

// openContact is what the channels record at sample i while nothing is connected and the
// amplifier puts out drive.
func openContact(w bench.Wiring, one, two []float64, i int, drive float64) {
	switch w {
	case bench.DriverFirst:
		two[i] = 0
	case bench.Probes:
		one[i], two[i] = drive, 0
	default:
		two[i] = drive
	}
}
