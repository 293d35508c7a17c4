package bench

import (
	"math"
	"math/cmplx"
	"testing"
)

// What inputs with AC coupling at fn (numerator) and fd (denominator) make of 6 and of 60 ohm with 10 ohm first:
// error of the size in percent and of the phase in degrees. Closed form, checked against a circuit simulator.
var coupled = []struct {
	f, fn, fd float64
	off       [2][2]float64 // of 6 and of 60 ohm
}{
	{5, 2.0, 2.4, [2][2]float64{{4.631, -6.249}, {10.570, -30.215}}},
	{10, 2.0, 2.4, [2][2]float64{{1.283, -3.514}, {2.758, -15.786}}},
	{20, 2.0, 2.4, [2][2]float64{{0.3297, -1.8137}, {0.6973, -7.9885}}},
	{40, 2.0, 2.4, [2][2]float64{{0.0830, -0.9142}, {0.1748, -4.0066}}},
	{100, 2.0, 2.4, [2][2]float64{{0.0133, -0.3665}, {0.0280, -1.6040}}},
	{5, 2.4, 2.0, [2][2]float64{{-4.758, 6.033}, {-22.304, 22.030}}},
	{20, 2.4, 2.0, [2][2]float64{{-0.3655, 1.8090}, {-2.2763, 7.7851}}},
	{100, 2.4, 2.0, [2][2]float64{{-0.0148, 0.3665}, {-0.0950, 1.6023}}},
}

// The two errors of the coupling, at the right sizes, lead from what is measured back to what is there.
func TestCouplingIsUndone(t *testing.T) {
	b := Bench{Wiring: ResistorFirst, Resistor: 10}
	for _, c := range coupled {
		for i, ohm := range []float64{6, 60} {
			h := complex(ohm/(10+ohm), 0) * complex(c.fd, c.f) / complex(c.fn, c.f)
			z := b.Impedance(c.f, h)
			if size, phase := 100*(cmplx.Abs(z)/ohm-1), 180/math.Pi*cmplx.Phase(z); math.Abs(size-c.off[i][0]) > 1e-3 || math.Abs(phase-c.off[i][1]) > 1e-3 {
				t.Errorf("%v ohm at %v Hz is off by %.4f %% and %.4f degrees, want %v", ohm, c.f, size, phase, c.off[i])
			}
			e := b.coupling([]float64{c.f}, []complex128{h})
			apart, elsewhere := (c.fn-c.fd)/couplingApart, -(c.fn-c.fd)*(c.fd-couplingCorner)/couplingElsewhere
			sum := complex(apart, 0)*e[0].Effect[0] + complex(elsewhere, 0)*e[1].Effect[0]
			bend := 1 + complex(apart, 0)*e[0].Bend[0] + complex(elsewhere, 0)*e[1].Bend[0]
			// The third term of the corner is left out: (fn-fd) (fd-corner)^2/f^3 of the ratio.
			left := math.Abs(c.fn-c.fd) * math.Pow(c.fd-couplingCorner, 2) / math.Pow(math.Hypot(c.f, couplingCorner), 3)
			if got := z + sum/bend; cmplx.Abs(got/complex(ohm, 0)-1) > 1e-6+8*left {
				t.Errorf("%v ohm at %v Hz comes back as %v", ohm, c.f, got)
			}
		}
	}
}

// The same for every wiring, with calibrated leads: the ratio is stretched exactly.
func TestStretchedIsExact(t *testing.T) {
	for _, b := range []Bench{
		{Wiring: ResistorFirst, Resistor: 10, Leads: 0.1}, {Wiring: DriverFirst, Resistor: 33, InputResistance: 1e4}, {Wiring: Probes, Resistor: 100},
	} {
		h := complex(0.4, 0.2)
		slope, bend := b.stretched(30, h)
		for _, e := range []complex128{0.05, complex(0, 0.1), complex(-0.02, -0.03)} {
			want := b.Impedance(30, h*(1+e))
			if got := b.Impedance(30, h) + slope*e/(1+bend*e); cmplx.Abs(got/want-1) > 1e-9 {
				t.Errorf("%v, ratio times %v: %v, want %v", b.Wiring, 1+e, got, want)
			}
		}
	}
}

// A bench that was calibrated has no such error; one that was not names it once each.
func TestCouplingOnlyWithoutCalibration(t *testing.T) {
	named := func(b Bench) (n int) {
		for _, e := range b.Systematic([]float64{20, 40}, []complex128{0.4, 0.5}) {
			if e.Fitted {
				n++
			}
		}
		return n
	}
	b := Bench{Wiring: ResistorFirst, Resistor: 10}
	if n := named(b); n != 2 {
		t.Errorf("%d fitted errors without a calibration, want 2", n)
	}
	b.ChannelTolerance = 1e-3
	if n := named(b); n != 0 {
		t.Errorf("%d fitted errors where the channels are known to 0.1 %%", n)
	}
	b.ChannelTolerance = 0
	b.Calibration = &Calibration{Wiring: b.Wiring, Resistor: 10, Channels: Curve{Freq: []float64{10, 100}, Value: []complex128{1, 1}, Std: []float64{1e-5, 1e-5}}}
	if n := named(b); n != 0 {
		t.Errorf("%d fitted errors with calibrated channels", n)
	}
}
