package sweeps

import (
	"math"
	"math/cmplx"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/checks"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/notice"
)

// Known are the recordings that a calibration is made of. Nil ones are left
// out; at least one is needed.
type Known struct {
	Channels      *bench.Recording // both inputs on one point
	Open          *bench.Recording // nothing between the lead ends
	Short         *bench.Recording // lead ends joined
	Load          *bench.Recording // a known resistor between the lead ends
	LoadOhm       float64          // ohm of that resistor
	LoadTolerance float64          // relative half-width, rectangular
	Check         *bench.Recording // a second resistor, for an independent check
	CheckOhm      float64          // ohm of that resistor
}

// check refuses what nothing can be learned from.
func (k Known) check() error {
	if k.Channels == nil && k.Open == nil && k.Short == nil && k.Load == nil {
		return notice.New("calibration-empty", nil)
	}
	usable := func(ohm float64) bool { return ohm > 0 && !math.IsInf(ohm, 0) }
	if k.Load != nil && (!usable(k.LoadOhm) || !(k.LoadTolerance >= 0 && k.LoadTolerance < 1)) || k.Check != nil && !usable(k.CheckOhm) {
		return notice.New("calibration-value", nil)
	}
	return nil
}

// Calibrate works out the errors of a bench from recordings of known things.
// The bench says the wiring, the resistor and the input resistance; its leads
// and its own calibration are not used.
func Calibrate(k Known, b bench.Bench) (*bench.Calibration, error) {
	b.Leads, b.Calibration = 0, nil
	if err := k.check(); err != nil {
		return nil, err
	}
	if err := b.Check(); err != nil {
		return nil, err
	}
	c := &bench.Calibration{Wiring: b.Wiring, Resistor: b.Resistor, LoadOhm: k.LoadOhm, LoadTolerance: k.LoadTolerance}
	if k.Channels != nil {
		curve, err := read(k.Channels, b, func(h complex128) complex128 { return h })
		if err != nil {
			return nil, err
		}
		if off := worstDistance(curve, 1); off > 0.3 {
			return nil, notice.New("calibration-channels", notice.Facts{"difference": off}).In(k.Channels.Source)
		}
		c.Channels = curve
	}
	b.Calibration = &bench.Calibration{Channels: c.Channels}
	var err error
	if k.Open != nil {
		if c.Open, err = read(k.Open, b, b.Admittance); err != nil {
			return nil, err
		}
		if y := dsp.Median(abs(c.Open.Value)); y > 1e-2 {
			return nil, notice.New("calibration-open", notice.Facts{"reading": 1 / y}).In(k.Open.Source)
		}
	}
	if k.Short != nil {
		if c.Short, err = read(k.Short, b, b.Reading); err != nil {
			return nil, err
		}
		if z := dsp.Median(abs(c.Short.Value)); z > 5 {
			return nil, notice.New("calibration-short", notice.Facts{"reading": z}).In(k.Short.Source)
		}
	}
	if k.Load != nil {
		if c.Load, err = read(k.Load, b, b.Reading); err != nil {
			return nil, err
		}
		if z := dsp.Median(abs(c.Load.Value)); math.Abs(z/k.LoadOhm-1) > 0.3 {
			return nil, notice.New("calibration-load", notice.Facts{"resistor": k.LoadOhm, "reading": z}).In(k.Load.Source)
		}
	}
	if k.Check != nil {
		b.Calibration = nil // the ratio as it was measured: compare corrects it
		curve, err := read(k.Check, b, func(h complex128) complex128 { return h })
		if err != nil {
			return nil, err
		}
		b.Calibration = c
		c.Check = compare(b, curve, k.CheckOhm)
	}
	return c, nil
}

// compare compares a resistor of ohm with its reading through the bench.
func compare(b bench.Bench, ratio bench.Curve, ohm float64) *bench.CheckResult {
	r := &bench.CheckResult{Ohm: ohm}
	var weight float64
	for i, f := range ratio.Freq {
		z := b.Impedance(f, ratio.Value[i])
		w := 1 / (ratio.Std[i] * ratio.Std[i] * dsp.SqAbs(b.Slope(f, ratio.Value[i])))
		r.Found += w * real(z)
		weight += w
		if off := cmplx.Abs(z/complex(ohm, 0) - 1); off > r.Worst {
			r.Worst, r.At = off, f
		}
	}
	r.Found /= weight
	return r
}

// read turns a recording of something known into a curve; of says what is kept
// of the ratio.
func read(rec *bench.Recording, b bench.Bench, of func(h complex128) complex128) (bench.Curve, error) {
	if err := rec.Check(); err != nil {
		return bench.Curve{}, err
	}
	found, err := spectra.Analyse(rec, b)
	if err != nil {
		return bench.Curve{}, err
	}
	if found.Stats[0].Rms() < checks.Silence {
		return bench.Curve{}, checks.NoSignal(rec.Source)
	}
	var c bench.Curve
	for _, p := range found.Points {
		h := b.Corrected(p.Freq, p.Ratio)
		step := complex(1e-6, 0)
		slope := (of(h+step) - of(h-step)) / (2 * step)
		std := math.Sqrt(p.Variance() / 2 * dsp.SqAbs(slope))
		if v := of(h); !cmplx.IsNaN(v) && !cmplx.IsInf(v) && std > 0 && !math.IsInf(std, 0) {
			c.Freq = append(c.Freq, p.Freq)
			c.Value = append(c.Value, v)
			c.Std = append(c.Std, std)
		}
	}
	if !c.Given() {
		return bench.Curve{}, checks.NoSignal(rec.Source)
	}
	return c, nil
}

func worstDistance(c bench.Curve, from complex128) float64 {
	worst := 0.0
	for i, v := range c.Value {
		if c.Std[i] < 0.01 {
			worst = max(worst, cmplx.Abs(v-from))
		}
	}
	return worst
}

func abs(z []complex128) []float64 {
	a := make([]float64, len(z))
	for i, v := range z {
		a[i] = cmplx.Abs(v)
	}
	return a
}
