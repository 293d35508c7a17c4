package sweeps

import (
	"fmt"
	"math"
	"math/cmplx"

	"conewright/sweeps/bench"
	"conewright/sweeps/fault"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/gates"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/param"
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

// Calibrate works out the errors of a bench from recordings of known things.
// The bench says the wiring, the resistor and the input resistance; its leads
// and its own calibration are not used.
func Calibrate(k Known, b bench.Bench) (*bench.Calibration, error) {
	b.Leads, b.Calibration = 0, nil
	c := &bench.Calibration{Wiring: b.Wiring, Resistor: b.Resistor, LoadOhm: k.LoadOhm, LoadTolerance: k.LoadTolerance}
	if k.Channels == nil && k.Open == nil && k.Short == nil && k.Load == nil {
		return nil, &param.Refusal{Code: "calibration-empty", Message: "there is no recording to calibrate from",
			Advice: "give a recording of both channels on one point, or of the leads open, shorted and on a known resistor"}
	}
	if k.Load != nil && !(k.LoadOhm > 0) || k.Check != nil && !(k.CheckOhm > 0) {
		return nil, &param.Refusal{Code: "calibration-value", Message: "the value of a calibration resistor is missing",
			Advice: "measure the resistor with a meter and give its value in ohm"}
	}
	if k.Channels != nil {
		curve, err := read(k.Channels, b, func(h complex128) complex128 { return h })
		if err != nil {
			return nil, err
		}
		if off := worstDistance(curve, 1); off > 0.3 {
			return nil, &fault.BenchError{Code: "calibration-channels", File: k.Channels.Source,
				Msg:    fmt.Sprintf("the channels differ by up to %.0f %%, so they did not hear the same point", 100*off),
				Advice: "connect both inputs to the amplifier's output, set both to the same gain, and record again"}
		}
		c.Channels = curve
	}
	b.Calibration = &bench.Calibration{Channels: c.Channels}
	var err error
	if k.Open != nil {
		if c.Open, err = read(k.Open, b, func(h complex128) complex128 { return b.Admittance(h) }); err != nil {
			return nil, err
		}
		if y := dsp.Median(abs(c.Open.Value)); y > 1e-2 {
			return nil, &fault.BenchError{Code: "calibration-open", File: k.Open.Source,
				Msg:    fmt.Sprintf("with the leads open the bench reads %.3g ohm", 1/y),
				Advice: "take the driver off and keep the lead ends apart"}
		}
	}
	if k.Short != nil {
		if c.Short, err = read(k.Short, b, b.Reading); err != nil {
			return nil, err
		}
		if z := dsp.Median(abs(c.Short.Value)); z > 5 {
			return nil, &fault.BenchError{Code: "calibration-short", File: k.Short.Source,
				Msg:    fmt.Sprintf("with the leads shorted the bench reads %.3g ohm", z),
				Advice: "join the lead ends firmly, where the driver's terminals would be"}
		}
	}
	if k.Load != nil {
		if c.Load, err = read(k.Load, b, b.Reading); err != nil {
			return nil, err
		}
		if z := dsp.Median(abs(c.Load.Value)); math.Abs(z/k.LoadOhm-1) > 0.3 {
			return nil, &fault.BenchError{Code: "calibration-load", File: k.Load.Source,
				Msg:    fmt.Sprintf("the resistor of %.4g ohm reads %.4g ohm", k.LoadOhm, z),
				Advice: "check the value of both resistors and the wiring"}
		}
	}
	if k.Check != nil {
		b.Calibration = nil // the ratio as it was heard: compare corrects it
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
	found, err := spectra.Hear(rec, b)
	if err != nil {
		return bench.Curve{}, err
	}
	if found.Vitals[0].Rms() < gates.Silence {
		return bench.Curve{}, gates.NoSignal(rec.Source)
	}
	var c bench.Curve
	for _, p := range found.Points {
		h := p.Ratio
		if cal := b.Calibration; cal != nil && cal.Channels.Given() {
			h /= cal.Channels.At(p.Freq)
		}
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
		return bench.Curve{}, gates.NoSignal(rec.Source)
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
