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

// A steady tone through a driver must come out with the amplitude and phase
// that the divider formula gives: the virtual bench against circuit theory.
func TestVirtualBenchDividesTones(t *testing.T) {
	dividesTones(t, func(v virtual.Bench, tone []float64, rate int) (a, b []float64, err error) {
		rec, err := v.Record(tone, rate)
		if err != nil {
			return nil, nil, err
		}
		a, b = make([]float64, rec.Frames), make([]float64, rec.Frames)
		return a, b, rec.Read(a, b, 0)
	})
}

// dividesTones holds the ratio that is recorded of a tone against the divider formula.
func dividesTones(t *testing.T, record func(v virtual.Bench, tone []float64, rate int) (a, b []float64, err error)) {
	const rate, f = 8000, 40.0
	tone := make([]float64, 8*rate)
	for i := range tone {
		tone[i] = math.Sin(2 * math.Pi * f * float64(i) / rate)
	}
	for _, w := range []bench.Wiring{bench.ResistorFirst, bench.DriverFirst, bench.Probes} {
		a, b, err := record(virtual.Bench{Z: benchtop.Larch.Impedance, Bench: bench.Bench{Wiring: w, Resistor: 10}}, tone, rate)
		if err != nil {
			t.Fatal(err)
		}
		h := phasor(b[6*rate:7*rate], f/rate) / phasor(a[6*rate:7*rate], f/rate)
		z := benchtop.Larch.Impedance(f)
		want := map[bench.Wiring]complex128{bench.ResistorFirst: z / (10 + z), bench.DriverFirst: 10 / (10 + z), bench.Probes: 10 / z}[w]
		if e := cmplx.Abs(h - want); e > 1e-6 {
			t.Errorf("%v: ratio %v, want %v", w, h, want)
		}
	}
}

// phasor returns the complex amplitude of x at f cycles a sample.
func phasor(x []float64, f float64) complex128 {
	var sum complex128
	for i, v := range x {
		sum += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*f*float64(i))
	}
	return sum * complex(2/float64(len(x)), 0)
}

func TestVirtualBenchIsRepeatable(t *testing.T) {
	v := benchtop.BenchTop()
	v.Flaws.Openings, v.Flaws.Hum = 3, [2]float64{1e-3, 1e-3}
	s := signal.Signal{Rate: 8000, Lo: 10, Hi: 3000, Duration: 3}
	a, b := benchtop.Record(t, v, s), benchtop.Record(t, v, s)
	v.Seed = 2
	c := benchtop.Record(t, v, s)
	x, y, z := make([]float64, a.Frames), make([]float64, a.Frames), make([]float64, a.Frames)
	rest := make([]float64, a.Frames)
	a.Read(x, rest, 0)
	b.Read(y, rest, 0)
	c.Read(z, rest, 0)
	same, differs := true, false
	for i := range x {
		same = same && x[i] == y[i]
		differs = differs || x[i] != z[i]
	}
	if !same || !differs {
		t.Errorf("equal seeds equal: %v; other seed differs: %v", same, differs)
	}
}

// The player's clock: a tone comes out at the frequency of the faster clock.
func TestVirtualBenchClock(t *testing.T) {
	const rate, f, ppm = 8000, 1000.0, 200e-6
	tone := make([]float64, 4*rate)
	for i := range tone {
		tone[i] = 0.5 * math.Sin(2*math.Pi*f*float64(i)/rate)
	}
	v := virtual.Bench{Z: benchtop.Larch.Impedance, Bench: bench.Bench{Resistor: 10}, Flaws: virtual.Flaws{Clock: ppm}}
	rec, err := v.Record(tone, rate)
	if err != nil {
		t.Fatal(err)
	}
	a, b := make([]float64, rate), make([]float64, rate)
	rec.Read(a, b, rate)
	if got := cmplx.Abs(phasor(a, f*(1+ppm)/rate)); math.Abs(got-0.5) > 1e-4 {
		t.Errorf("amplitude at the fast clock's frequency is %.5f, want 0.5", got)
	}
}

func TestRefusesNonsense(t *testing.T) {
	silence := make([]float64, 100)
	for _, c := range []struct {
		code   string
		signal []float64
		rate   int
		change func(v *virtual.Bench)
	}{
		{"virtual-driver", silence, 48000, func(v *virtual.Bench) { *v = virtual.Bench{} }},
		{"resistor-missing", silence, 48000, func(v *virtual.Bench) { v.Bench = bench.Bench{} }},
		{"bench-wiring", silence, 48000, func(v *virtual.Bench) { v.Bench.Wiring = 9 }},
		{"virtual-signal", nil, 48000, func(*virtual.Bench) {}},
		{"virtual-signal", silence, 0, func(*virtual.Bench) {}},
		{"virtual-signal", silence, math.MaxInt, func(*virtual.Bench) {}},
		{"bad-sample", []float64{0, math.NaN()}, 48000, func(*virtual.Bench) {}},
		{"virtual-flaw", silence, 48000, func(v *virtual.Bench) { v.Flaws.Noise[1] = math.NaN() }},
		{"virtual-flaw", silence, 48000, func(v *virtual.Bench) { v.Flaws.Latency = math.Inf(1) }},
		{"virtual-flaw", silence, 48000, func(v *virtual.Bench) { v.Flaws.Clock = -2 }},
		{"virtual-flaw", silence, 48000, func(v *virtual.Bench) { v.Flaws.Openings = math.MaxInt }},
		{"virtual-flaw", silence, 48000, func(v *virtual.Bench) { v.Flaws.Bits = -3 }},
		{"virtual-long", silence, 192000, func(v *virtual.Bench) { v.Flaws.After = 3600 }},
		{"virtual-cut", silence, 48000, func(v *virtual.Bench) { v.Flaws.CutStart = 10 }},
		{"virtual-impedance", silence, 48000, func(v *virtual.Bench) { v.Z = func(float64) complex128 { return cmplx.NaN() } }},
	} {
		v := benchtop.BenchTop()
		c.change(&v)
		rec, err := v.Record(c.signal, c.rate)
		var n *notice.Notice
		if rec != nil || !errors.As(err, &n) || n.Code != c.code {
			t.Errorf("%v, want %s", err, c.code)
		}
	}
}
