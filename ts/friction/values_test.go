package friction

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts/measured"
	"conewright/ts/nonlinear"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// A limit on friction is judged by the interval that was found: one that rubs is out of a limit below its lower end and in one
// above its upper end; one that is free is in a limit above the least that would have been named, and undecided below.
func TestFrictionAgainstALimit(t *testing.T) {
	known := param.Parameters{Coverage: 1.96}
	rubs := Found{Rubs: true, Force: 5e-3, Low: 3.8e-3, High: 5.8e-3, Least: 1e-4, KnowsBL: true}
	free := Found{Least: 4e-4, KnowsBL: true}
	for _, c := range []struct {
		found Found
		max   float64 // N
		want  verdict.Verdict
	}{
		{rubs, 3e-3, verdict.OutOfSpec}, {rubs, 4.5e-3, verdict.Undecided}, {rubs, 7e-3, verdict.InSpec},
		{free, 1e-3, verdict.InSpec}, {free, 2e-4, verdict.Undecided},
	} {
		p := c.found.With(known)
		e, _ := p.Get(param.Friction)
		low, high := c.found.Low, c.found.High
		if !c.found.Rubs {
			low, high = 0, c.found.Least
		}
		if math.Abs(e.Low-low) > 0.04*high || math.Abs(e.High-high) > 1e-3*high || e.Value != c.found.Force {
			t.Errorf("%+v became %+v", c.found, e)
		}
		got, err := verdict.Check(p, verdict.Spec{Limits: []verdict.Limit{{ID: param.Friction, Lo: math.Inf(-1), Hi: c.max}}})
		if err != nil || got.Verdict != c.want || got.Checks[0].Risk() > 0.03 && c.want != verdict.Undecided {
			t.Errorf("%+v against %g N: %+v, %v", c.found, c.max, got, err)
		}
	}
	// What is there already stays as it is.
	_, f := swept(woofer, nonlinear.Friction{}, nonlinear.Uneven{}, 0.1, 1e-7)
	f.Parameters.Coverage = 2.1
	both := Distortion{Share: 0.01, Std: 0.001}.With(rubs.With(f.Parameters))
	if err := both.Check(); err != nil {
		t.Error(err)
	}
	for _, id := range f.Parameters.IDs {
		was, _ := f.Parameters.Get(id)
		if is, _ := both.Get(id); is != was {
			t.Errorf("%v was %+v and is %+v", id, was, is)
		}
	}
}

// Distortion at the resonance is that of the closed forms, which ts/nonlinear holds against scipy; what is noise is taken out.
func TestDistortion(t *testing.T) {
	law, u := nonlinear.Friction{Force: 0.002}, nonlinear.Uneven{K1: 40, BL2: -4e4}
	s, f := swept(woofer, law, u, 0.1, 1e-7)
	got, ok := DistortionOf([]measured.Sweep{s}, f)
	sum := 0.0
	fs, _ := f.Parameters.Get(param.Fs)
	h := s.Impedance.Harmonics
	best := 0
	for k := range h.Freq {
		if math.Abs(h.Freq[k]-fs.Value) < math.Abs(h.Freq[best]-fs.Value) {
			best = k
		}
	}
	for _, o := range h.Orders {
		sum += math.Pow(cmplx.Abs(o.Current[best]*s.Impedance.Z[best])/h.Voltage[best], 2)
	}
	if want := math.Sqrt(sum); !ok || math.Abs(got.Share/want-1) > 0.1 || math.Abs(got.Std/got.Share-apartWithin) > 0.002 {
		t.Errorf("%+v, want %g", got, want)
	}
	// Only noise: nothing beyond its own uncertainty. It is 1e-5 A of 3 mA, in two parts of nine orders.
	const noise = 1e-5
	quiet, f := swept(woofer, nonlinear.Friction{}, nonlinear.Uneven{}, 0.1, noise)
	for _, o := range quiet.Impedance.Harmonics.Orders {
		for k := range o.Current {
			o.Current[k] = complex(noise, -noise) // as large as it is on average
		}
	}
	if got, ok = DistortionOf([]measured.Sweep{quiet}, f); !ok || got.Share > 1e-9 || got.Std < 1e-3 || got.Std > 0.03 {
		t.Errorf("noise alone: %+v", got)
	}
	quiet.Impedance.Harmonics = nil
	if got, ok = DistortionOf([]measured.Sweep{quiet}, f); ok {
		t.Errorf("without harmonics: %+v", got)
	}
}
