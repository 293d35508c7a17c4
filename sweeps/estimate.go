package sweeps

import (
	"math"
	"slices"

	"conewright/ts"
	"gonum.org/v1/gonum/floats"
)

const (
	worstRelative  = 0.1  // noise of a point relative to its impedance beyond which it is left out
	mostLines      = 3000 // of tones: with more, as in a sweep that is repeated, local fits smooth better
	fewestLines    = 20   // tones that a periodic signal must have to be taken as a multitone
	converterDoubt = 1e-5 // standard uncertainty of the ratio, relative, that is never claimed to be beaten: converters are linear to about -100 dB (common practice)
	fewestPoints   = 8    // by local fits, below which the recording does not suit them
)

// Measured is what a recording says.
type Measured struct {
	Impedance ts.Impedance
	// Periods is the number of periods that were averaged, 0 for a signal that
	// does not repeat.
	Periods    int
	Distortion *Distortion // nil where the signal left no lines free to hear it
}

// Estimate turns a recording into an impedance with its noise.
func Estimate(rec *Recording, b Bench) (ts.Impedance, error) {
	m, err := Measure(rec, b)
	return m.Impedance, err
}

// Measure is [Estimate] with everything else that the recording says. Nobody
// has to tell which signal was played: one that repeats itself is averaged
// period by period, anything else is fitted along the frequency axis.
//
// A recording that cannot be what the bench says it is gives a [BenchError];
// one that is usable with reservations gives warnings.
func Measure(rec *Recording, b Bench) (Measured, error) {
	if b.Calibration != nil {
		if err := b.Calibration.suits(b, rec.Source); err != nil {
			return Measured{}, err
		}
	}
	if err := b.check(); err != nil {
		return Measured{}, err
	}
	e, err := examine(rec, b)
	if err != nil {
		return Measured{}, err
	}
	if err := e.misconnected(b); err != nil {
		return Measured{}, err
	}
	z, err := e.impedance(b)
	if err != nil {
		return Measured{}, err
	}
	if err := implausible(z, b); err != nil {
		return Measured{}, err
	}
	if err := e.twoRuns(b); err != nil {
		return Measured{}, err
	}
	z.Warnings = append(slices.Clone(rec.Warnings), e.warnings(z, b)...)
	z.Drive = e.drive(b)
	m := Measured{Impedance: z, Distortion: e.distortion}
	if e.lines != nil {
		m.Periods = e.lines.count
	}
	return m, nil
}

// examination is what was found in a recording before its ratio becomes an
// impedance.
type examination struct {
	rec        *Recording
	swap       bool // the channels of rec were taken the other way round
	points     []point
	hum        hum
	vitals     [2]*vitals
	low        [2]outline
	stretches  [][]stretch // of each level
	lines      *lines      // of a signal that repeats; nil for others
	distortion *Distortion
	jumped     []moment  // that were left out because the channels contradict each other
	shaky      int       // how often they do so where not all of that could be left out
	unsteady   []float64 // Hz, points that were left out because their neighbours contradict them
}

// number returns the number that channel c has in the file, from 1.
func (e *examination) number(c int) int {
	if e.swap {
		return 2 - c
	}
	return c + 1
}

// hear estimates the ratio of the channels, whatever it is.
func hear(rec *Recording, b Bench) (*examination, error) {
	if err := rateUsable(rec); err != nil {
		return nil, err
	}
	src := &blocks{rec: rec, swap: b.SwapChannels}
	e, err := listen(src)
	if err != nil {
		return nil, err
	}
	if err := e.clipped(); err != nil {
		return nil, err
	}
	if r, ok := findPeriod(e.low[0]); ok {
		l, err := collect(src, r)
		if err != nil {
			return nil, err
		}
		on := l.excited()
		if p := l.points(on); len(p) >= fewestLines && len(p) <= mostLines {
			e.points, e.lines = p, l
			e.distortion = l.distortion(on)
			e.hum = l.hum(on)
		}
	}
	return e, nil
}

// examine estimates the ratio of the channels of a recording that must hold a
// signal on both.
func examine(rec *Recording, b Bench) (*examination, error) {
	e, err := hear(rec, b)
	if err != nil {
		return nil, err
	}
	if err := e.silent(b.Wiring); err != nil {
		return nil, err
	}
	if e, err = e.mend(b); err != nil {
		return nil, err
	}
	if e.lines != nil {
		return e, nil
	}
	clear := 0
	for _, p := range e.points {
		if p.clear() {
			clear++
		}
	}
	if clear < fewestPoints {
		e.points = welchPoints(e.low)
		return e, nil
	}
	e.points, e.unsteady = steady(e.points)
	return e, nil
}

// drive returns the current through the driver, nil where full scale is not
// known in volts. The outline tells of frequencies at which a cone moves far.
func (e *examination) drive(b Bench) *ts.Drive {
	x, y := e.low[0].samples, e.low[1].samples
	n := min(len(x), len(y))
	if b.FullScale == 0 || n == 0 {
		return nil
	}
	i := make([]float64, n)
	copy(i, y) // across the resistor
	if b.Wiring == ResistorFirst {
		floats.SubTo(i, x[:n], y[:n])
	}
	floats.AddConst(-floats.Sum(i)/float64(n), i)
	floats.Scale(b.FullScale/b.Resistor, i)
	return &ts.Drive{Rate: e.low[0].rate, Current: i}
}

// noSignal is the error for a recording without anything in common between its
// channels.
func noSignal(source string) error {
	return &BenchError{Code: "no-signal", File: source, Msg: "the two channels have no signal in common",
		Advice: "check that the test signal was playing and that both channels were recorded"}
}

// impedance turns the ratios into ohms.
func (e *examination) impedance(b Bench) (ts.Impedance, error) {
	var freq, sigma []float64
	var z, h []complex128
	for _, p := range e.points {
		v := b.impedance(p.freq, p.ratio)
		// The variance of a complex number is shared by its two parts.
		doubt := converterDoubt * converterDoubt / 2 * sqAbs(p.ratio)
		s := math.Sqrt((p.variance()/2 + doubt + b.calibrationNoise(p.freq, p.ratio)) * sqAbs(b.slope(p.freq, p.ratio)))
		if !(s > 0 && s < worstRelative*math.Sqrt(sqAbs(v))) {
			continue
		}
		freq = append(freq, p.freq)
		z = append(z, v)
		h = append(h, p.ratio)
		sigma = append(sigma, s)
	}
	if len(freq) == 0 {
		return ts.Impedance{}, e.unrelated(b.Wiring)
	}
	out, err := ts.NewImpedance(freq, z, sigma)
	if err != nil {
		return ts.Impedance{}, err
	}
	out.Source = e.rec.Source
	out.Systematic = b.systematic(freq, h)
	return out, nil
}
