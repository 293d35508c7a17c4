package sweeps

import (
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/checks"
	"conewright/sweeps/internal/contact"
	"conewright/sweeps/internal/harmonics"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/measured"
	"conewright/ts/notice"

	"gonum.org/v1/gonum/floats"
)

// Measure turns a recording into an impedance with its noise. Nobody has to tell which
// signal was played: one that repeats itself is averaged period by period, anything else
// is fitted along the frequency axis.
//
// A recording that cannot be what the bench says it is gives an error;
// one that is usable with reservations gives notices in the impedance.
func Measure(rec *bench.Recording, b bench.Bench) (measured.Impedance, error) {
	z, _, err := measure(rec, b)
	return z, err
}

// measure is [Measure] with what the impedance was made of.
func measure(rec *bench.Recording, b bench.Bench) (measured.Impedance, *spectra.Result, error) {
	refuse := func(err error) (measured.Impedance, *spectra.Result, error) { return measured.Impedance{}, nil, err }
	if err := rec.Check(); err != nil {
		return refuse(err)
	}
	if err := b.Check(); err != nil {
		return refuse(err)
	}
	e, err := examine(rec, b)
	if err != nil {
		return refuse(err)
	}
	if err := checks.Misconnected(e, b); err != nil {
		return refuse(err)
	}
	z, err := e.Impedance(b)
	if err != nil {
		return refuse(err)
	}
	if z.Len() == 0 {
		return refuse(checks.Unrelated(e, b.Wiring))
	}
	if err := checks.Implausible(z, b); err != nil {
		return refuse(err)
	}
	if err := checks.TwoRuns(e, b); err != nil {
		return refuse(err)
	}
	warnings, err := checks.Warnings(e, z, b)
	if err != nil {
		return refuse(err)
	}
	z.Warnings = append(slices.Clone(rec.Warnings), warnings...)
	z.Drive, z.Level, z.FreeLines = drive(e, b), checks.LevelOf(e, b), e.FreeLines
	if e.Lines == nil {
		var clips *notice.Notice
		if z.Harmonics, clips = harmonics.Of(e, b); clips != nil {
			// Where the tones that clipping adds make the channels contradict each other, no contact jumped.
			z.Warnings = slices.DeleteFunc(z.Warnings, func(n notice.Notice) bool { return n.Code == "unsteady-contact" })
			z.Warnings = append(z.Warnings, *clips)
		}
	}
	return z, e, nil
}

// examine estimates the ratio of the channels of a recording that must hold a
// signal on both.
func examine(rec *bench.Recording, b bench.Bench) (*spectra.Result, error) {
	e, err := spectra.Analyse(rec, b)
	if err != nil {
		return nil, err
	}
	if err := checks.Silent(e, b.Wiring); err != nil {
		return nil, err
	}
	if e, err = contact.Fill(e, b); err != nil {
		return nil, err
	}
	if e.Lines == nil {
		e.Points, e.Outliers = spectra.WithoutOutliers(e.Points)
	}
	return e, nil
}

// drive returns the current through the driver, nil where full scale is not
// known in volts. The samples at the low rate tell of frequencies at which a cone moves far.
func drive(e *spectra.Result, b bench.Bench) *measured.Drive {
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
