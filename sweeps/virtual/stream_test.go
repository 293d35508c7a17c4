package virtual_test

import (
	"errors"
	"math"
	"math/cmplx"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/notice"
)

// streamed sends x through the stream and returns all that both channels recorded.
func streamed(s *virtual.Stream, x []float64) (ch1, ch2 []float64) {
	block := make([]float64, s.Block())
	for from := 0; from < len(x); from += len(block) {
		clear(block)
		copy(block, x[from:])
		a, b := s.Pass(block)
		ch1, ch2 = append(ch1, a...), append(ch2, b...)
	}
	return ch1, ch2
}

// A steady tone through a stream has the ratio that the divider formula gives.
func TestStreamDividesTones(t *testing.T) {
	dividesTones(t, func(v virtual.Bench, tone []float64, rate int) (a, b []float64, err error) {
		s, err := v.Stream(rate)
		if err != nil {
			return nil, nil, err
		}
		a, b = streamed(s, tone)
		return a, b, nil
	})
}

// A stream records what [virtual.Bench.Record] does, but for its delay and for the smooth way
// of its response to half the rate, which shows where a signal ends.
func TestStreamIsTheBench(t *testing.T) {
	v := benchtop.BenchTop()
	v.Flaws = virtual.Flaws{Gain: [2]float64{0.01, -0.02}}
	sweep, err := (signal.Signal{Rate: 8000, Lo: 10, Hi: 3000, Duration: 3}).Samples()
	if err != nil {
		t.Fatal(err)
	}
	rec, err := v.Record(sweep, 8000)
	if err != nil {
		t.Fatal(err)
	}
	x, y := make([]float64, rec.Frames), make([]float64, rec.Frames)
	if err := rec.Read(x, y, 0); err != nil {
		t.Fatal(err)
	}
	s, err := v.Stream(8000)
	if err != nil {
		t.Fatal(err)
	}
	a, b := streamed(s, append(sweep, make([]float64, 512)...))
	for i := range x {
		if math.Abs(x[i]-a[i+512]) > 2e-6 || math.Abs(y[i]-b[i+512]) > 2e-6 {
			t.Fatalf("sample %d: %g, %g; the recording has %g, %g", i, a[i+512], b[i+512], x[i], y[i])
		}
	}
}

// What happens once happens at the driver: the amplifier's channel does not notice.
func TestStreamEvents(t *testing.T) {
	v := virtual.Bench{Z: func(float64) complex128 { return 10 }, Bench: bench.Bench{Resistor: 10}}
	s, err := v.Stream(8000)
	if err != nil {
		t.Fatal(err)
	}
	tone := make([]float64, s.Block())
	for i := range tone {
		tone[i] = 0.5
	}
	s.Pass(tone) // the delay passes
	s.Open(0.05)
	a, b := s.Pass(tone)
	if math.Abs(a[200]-0.5) > 1e-3 || math.Abs(b[200]-0.5) > 1e-3 || math.Abs(b[1000]-0.25) > 1e-3 {
		t.Errorf("while the contact is open: %g, %g; after it closed %g", a[200], b[200], b[1000])
	}
	s.Slam(0.1)
	a, b = s.Pass(tone)
	peak := 0.0
	for i := range b {
		peak = max(peak, math.Abs(b[i]-0.25))
	}
	if math.Abs(a[1000]-0.5) > 1e-3 || peak < 0.05 || peak > 0.1 {
		t.Errorf("a slam moves channel 1 to %g and channel 2 by %g", a[1000], peak)
	}
}

func TestStreamRefusesNonsense(t *testing.T) {
	v := benchtop.BenchTop()
	v.Z = func(float64) complex128 { return cmplx.NaN() }
	for code, other := range map[string]virtual.Bench{"virtual-driver": {}, "virtual-impedance": v} {
		_, err := other.Stream(48000)
		var n *notice.Notice
		if !errors.As(err, &n) || n.Code != code {
			t.Errorf("%v, want %s", err, code)
		}
	}
}
