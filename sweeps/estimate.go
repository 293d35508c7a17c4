package sweeps

import (
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/contact"
	"conewright/sweeps/internal/gates"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/measured"
	"conewright/ts/param"

	"gonum.org/v1/gonum/floats"
)

// Measured is what a recording says.
type Measured struct {
	Impedance measured.Impedance
	// Periods is the number of periods that were averaged, 0 for a signal that
	// does not repeat.
	Periods    int
	Distortion *spectra.Distortion // nil where the signal left no lines free to hear it
}

// Estimate turns a recording into an impedance with its noise.
func Estimate(rec *bench.Recording, b bench.Bench) (measured.Impedance, error) {
	m, err := Measure(rec, b)
	return m.Impedance, err
}

// Measure is [Estimate] with everything else that the recording says. Nobody
// has to tell which signal was played: one that repeats itself is averaged
// period by period, anything else is fitted along the frequency axis.
//
// A recording that cannot be what the bench says it is gives a [BenchError];
// one that is usable with reservations gives warnings.
func Measure(rec *bench.Recording, b bench.Bench) (Measured, error) {
	if b.Calibration != nil {
		if err := b.Calibration.Suits(b, rec.Source); err != nil {
			return Measured{}, err
		}
	}
	if err := b.Check(); err != nil {
		return Measured{}, err
	}
	e, err := examine(rec, b)
	if err != nil {
		return Measured{}, err
	}
	if err := gates.Misconnected(e, b); err != nil {
		return Measured{}, err
	}
	z, err := gates.Impedance(e, b)
	if err != nil {
		return Measured{}, err
	}
	if err := gates.Implausible(z, b); err != nil {
		return Measured{}, err
	}
	if err := gates.TwoRuns(e, b); err != nil {
		return Measured{}, err
	}
	z.Warnings = param.Notices(append(slices.Clone(rec.Warnings), gates.Warnings(e, z, b)...))
	z.Drive = drive(e, b)
	m := Measured{Impedance: z, Distortion: e.Distortion}
	if e.Lines != nil {
		m.Periods = e.Lines.Count
	}
	return m, nil
}

// examine estimates the ratio of the channels of a recording that must hold a
// signal on both.
func examine(rec *bench.Recording, b bench.Bench) (*spectra.Heard, error) {
	e, err := spectra.Hear(rec, b)
	if err != nil {
		return nil, err
	}
	if err := gates.Silent(e, b.Wiring); err != nil {
		return nil, err
	}
	if e, err = contact.Mend(e, b); err != nil {
		return nil, err
	}
	if e.Lines != nil {
		return e, nil
	}
	clear := 0
	for _, p := range e.Points {
		if p.Clear() {
			clear++
		}
	}
	if clear < spectra.FewestPoints {
		e.Points = spectra.WelchPoints(e.Low)
		return e, nil
	}
	e.Points, e.Unsteady = spectra.Steady(e.Points)
	return e, nil
}

// drive returns the current through the driver, nil where full scale is not
// known in volts. The outline tells of frequencies at which a cone moves far.
func drive(e *spectra.Heard, b bench.Bench) *measured.Drive {
	x, y := e.Low[0].Samples, e.Low[1].Samples
	n := min(len(x), len(y))
	if b.FullScale == 0 || n == 0 {
		return nil
	}
	i := make([]float64, n)
	copy(i, y) // across the resistor
	if b.Wiring == bench.ResistorFirst {
		floats.SubTo(i, x[:n], y[:n])
	}
	floats.AddConst(-floats.Sum(i)/float64(n), i)
	floats.Scale(b.FullScale/b.Resistor, i)
	return &measured.Drive{Rate: e.Low[0].Rate, Current: i}
}
