package main

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"

	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/virtual"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"

	"gonum.org/v1/gonum/dsp/fourier"
)

// subject is one simulated driver with the bench it lies on.
type subject struct {
	truth    truth.Driver
	healthy  virtual.Driver
	slides   float64 // m, after which friction is full; 0: at once
	bench    bench.Bench
	seconds  float64 // of the sweep
	from     float64 // Hz, where it begins
	hum      float64 // of full scale
	hz       float64 // of the mains
	headroom float64 // full scale over the peak of the source
	seed     uint64
}

// noise of the recorder in parts of full scale, rms: -95 dB.
const noise = 1.78e-5

// draw makes the subject of a seed: a woofer of 5 to 15 inches and a bench with a sound card, a resistor, some hum, and a
// sweep of 10 to 20 s.
func draw(seed uint64) subject {
	rng := truth.Rand(seed, 77)
	d := truth.DrawWith(rng, truth.Choice{Inch: []float64{5, 6.5, 8, 10, 12, 15}[rng.IntN(6)], Calm: true})
	s := subject{truth: d, healthy: inTime(d, rng, rng.Float64()), seed: seed}
	if rng.Float64() < 0.5 {
		s.slides = 1e-6 * math.Exp(rng.Float64()*math.Log(5))
	}
	s.bench = bench.Bench{Wiring: bench.Wiring(rng.IntN(3)), Resistor: []float64{10, 22, 33, 100}[rng.IntN(4)]}
	s.seconds = 10 + 10*rng.Float64()
	s.from = 5 + 3*rng.Float64()
	s.hum = 1e-4 * math.Exp(rng.NormFloat64())
	s.hz = []float64{50, 60}[rng.IntN(2)]
	s.headroom = 2 + 2*rng.Float64()
	return s
}

// run is one sweep of a subject.
type run struct {
	volt      float64 // V rms at the driver's terminals, away from its resonance
	friction  float64 // N
	amplifier float64 // third harmonic of the amplifier over its tone
	losses    float64 // by which the suspension's own losses are larger, relative
}

// sweep is the part up to 1300 Hz of an exponential sweep to 20 kHz: what lies above tells nothing of friction and takes
// most of the time to follow.
func (s subject) sweep(rate float64) []float64 {
	l := s.seconds / math.Log(20000/s.from)
	n := int(l * math.Log(1300/s.from) * rate)
	x := make([]float64, n)
	fade := int(0.02 * rate)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * l * s.from * math.Expm1(float64(i)/rate/l))
		if edge := min(i, n-1-i); edge < fade {
			x[i] *= 0.5 - 0.5*math.Cos(math.Pi*float64(edge)/float64(fade))
		}
	}
	return x
}

// record sweeps the subject and reads the recording.
func (s subject) record(r run) (measured.Impedance, error) {
	const slow, up = 4000, 12 // Hz at which the driver is followed, and times that to the recorder's rate
	d := lossier(s.healthy, r.losses)
	if s.slides > 0 && r.friction > 0 {
		d.Slip = append(append([]virtual.Slipping(nil), d.Slip...), virtual.Slipping{K: r.friction / s.slides, F: r.friction})
	} else {
		d.Friction = r.friction
	}
	x := s.sweep(slow)
	rng := r.rand(s.seed, 0)
	series := s.bench.Resistor
	peak := r.volt * math.Sqrt2 * (1 + series/d.Re)
	lead, tail := int(slow*(0.05+0.3*rng.Float64())), slow/2
	e := make([]float64, lead+len(x)+tail)
	cubic := 4 * r.amplifier / (1 - 3*r.amplifier) // of a sine of peak 1
	for i, v := range x {
		e[lead+i] = peak * (v + cubic*v*v*v)
	}
	i := d.Current(e, slow, series)
	full := s.headroom * peak
	b := s.bench
	b.FullScale = full
	a, c := make([]float64, len(e)), make([]float64, len(e))
	for k := range e {
		drop := series * i[k]
		switch b.Wiring {
		case bench.ResistorFirst:
			a[k], c[k] = e[k]/full, (e[k]-drop)/full
		case bench.DriverFirst:
			a[k], c[k] = e[k]/full, drop/full
		default:
			a[k], c[k] = (e[k]-drop)/full, drop/full
		}
	}
	ch := [2][]float64{interpolated(a, up), interpolated(c, up)}
	phase := 2 * math.Pi * rng.Float64()
	for k := range ch[0] {
		w := phase + 2*math.Pi*s.hz*float64(k)/(slow*up)
		hum := s.hum * (math.Sin(w) + math.Sin(2*w)/2 + math.Sin(3*w)/3 + math.Sin(5*w)/5)
		for c := range ch {
			v := ch[c][k] + hum*(1+0.3*float64(c)) + noise*rng.NormFloat64()
			ch[c][k] = math.Round(v*(1<<23)) / (1 << 23)
		}
	}
	rec, err := bench.NewRecording(ch[0], ch[1], slow*up, "simulated")
	if err != nil {
		return measured.Impedance{}, err
	}
	return sweeps.Measure(rec, b)
}

// room adds what a room and a bench do to every point: scatter of 3e-4 of |Z|.
func (s subject) room(z measured.Impedance, r run) measured.Impedance {
	rng := r.rand(s.seed, 1)
	z.Z, z.Sigma = slices.Clone(z.Z), slices.Clone(z.Sigma)
	for k, v := range z.Z {
		std := 3e-4 * cmplx.Abs(v)
		z.Z[k] += complex(std*rng.NormFloat64(), std*rng.NormFloat64())
		z.Sigma[k] = math.Hypot(z.Sigma[k], std)
	}
	return z
}

// rand returns the chances of a run.
func (r run) rand(seed uint64, stream uint64) *rand.Rand {
	return rand.New(rand.NewPCG(seed, stream^uint64(1e6*r.volt)^uint64(1e7*r.friction)^uint64(1e5*r.amplifier)^uint64(1e4*r.losses)))
}

// interpolated returns x at times the sample rate.
func interpolated(x []float64, times int) []float64 {
	whole := len(x)
	n := 1 << 10
	for n*15 < whole { // a size that transforms are fast for
		n *= 2
	}
	n *= 15
	x = append(x[:whole:whole], make([]float64, n-whole)...)
	s := fourier.NewFFT(n).Coefficients(nil, x)
	s[n/2] = 0
	wide := make([]complex128, n*times/2+1)
	copy(wide, s)
	out := fourier.NewFFT(n*times).Sequence(nil, wide)
	for i := range out {
		out[i] /= float64(n)
	}
	return out[:whole*times]
}
