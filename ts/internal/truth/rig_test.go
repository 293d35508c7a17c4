package truth

import (
	"math"
	"math/cmplx"
	"testing"
)

// Errors in percent of 0.05 dB between the inputs, as an independent program has them in closed form.
func TestUnequalGains(t *testing.T) {
	for _, c := range []struct {
		wiring Wiring
		r, db  float64
		z, err float64
	}{
		{ResistorFirst, 10, 0.05, 6, 0.9269}, {ResistorFirst, 10, -0.05, 6, -0.9152}, {DriverFirst, 10, 0.05, 6, -1.5306}, {Probes, 10, 0.05, 6, -0.5740},
		{ResistorFirst, 10, 0.05, 60, 4.1861}, {ResistorFirst, 10, -0.05, 60, -3.8842}, {DriverFirst, 10, 0.05, 60, -0.6697},
		{ResistorFirst, 33, 0.05, 60, 1.6442}, {DriverFirst, 33, 0.05, 6, -3.7310}, {ResistorFirst, 100, -0.05, 6, -0.6082}, {DriverFirst, 100, 0.05, 6, -10.1405},
	} {
		rig := Rig{Wiring: c.wiring, Resistor: c.r, ResistorTold: c.r, Inputs: Inputs{GainDB: c.db}}
		z := rig.Measure(Rand(1), Resistor(c.z), []float64{100}).Z[0]
		near(t, "error", 100*(real(z)/c.z-1), c.err, 1e-4)
	}
}

// AC coupling at fn in the numerator and fd in the denominator, resistor of 10 ohm first: magnitude in percent
// and phase in degrees of Z'/Z at 6 and 60 ohm, from the same program.
func TestUnequalCoupling(t *testing.T) {
	for _, c := range []struct{ f, fn, fd, mag6, deg6, mag60, deg60 float64 }{
		{5, 2.0, 2.4, 4.631, -6.249, 10.570, -30.215}, {10, 2.0, 2.4, 1.283, -3.514, 2.758, -15.786}, {20, 2.0, 2.4, 0.3297, -1.8137, 0.6973, -7.9885},
		{40, 2.0, 2.4, 0.0830, -0.9142, 0.1748, -4.0066}, {5, 2.4, 2.0, -4.758, 6.033, -22.304, 22.030}, {20, 2.4, 2.0, -0.3655, 1.8090, -2.2763, 7.7851},
		{100, 2.4, 2.0, -0.0148, 0.3665, -0.0950, 1.6023},
	} {
		rig := PerfectRig()
		rig.Inputs.Corner = [2]float64{c.fn, c.fd}
		for z, want := range map[float64][2]float64{6: {c.mag6, c.deg6}, 60: {c.mag60, c.deg60}} {
			got := rig.Measure(Rand(1), Resistor(z), []float64{c.f}).Z[0] / complex(z, 0)
			mag, degrees := polar(got)
			if math.Abs(100*(mag-1)-want[0]) > 6e-4 || math.Abs(degrees-want[1]) > 6e-4 {
				t.Errorf("%g Hz, %g ohm: %.4f %%, %.4f degrees, want %v", c.f, z, 100*(mag-1), degrees, want)
			}
		}
	}
}

// A perfect rig measures what is there, with every wiring; leads are taken off.
func TestPerfectRig(t *testing.T) {
	for _, w := range []Wiring{ResistorFirst, DriverFirst, Probes} {
		rig := Rig{Wiring: w, Resistor: 22, ResistorTold: 22, Leads: 0.1, LeadsTold: 0.1}
		nearC(t, "Z", rig.Measure(Rand(1), Inductor(1e-3, 6), []float64{500}).Z[0], complex(6, math.Pi), 1e-12)
	}
}

// A ground return that the inputs share counts as driver with the resistor first, as resistor with the driver
// first, and not at all with probes across the parts.
func TestSharedGround(t *testing.T) {
	for w, want := range map[Wiring]float64{ResistorFirst: 6.2, DriverFirst: 6. * 10 / 10.2, Probes: 6} {
		rig := PerfectRig()
		rig.Wiring, rig.Ground = w, 0.2
		near(t, "Z", real(rig.Measure(Rand(1), Resistor(6), []float64{100}).Z[0]), want, 1e-12)
	}
}

func TestDelayTurnsTheRatio(t *testing.T) {
	rig := PerfectRig()
	rig.Wiring, rig.Inputs.Delay = Probes, 1./48000
	_, degrees := polar(rig.Measure(Rand(1), Resistor(6), []float64{1000}).Z[0])
	near(t, "phase", degrees, 360*1000/48000., 1e-9) // Z = R/H
}

// A cubic limiter x - kx³ on a sine of amplitude a has the fundamental a(1 - 3ka²/4).
func TestSoftClipping(t *testing.T) {
	const k, n = 0.04, 1000
	for _, z := range []float64{5, 50} {
		a := z / (10 + z) // amplitude at the node
		fundamental := 0.0
		for i := range n {
			x := a * math.Sin(2*math.Pi*float64(i)/n)
			fundamental += 2. / n * (x - k*x*x*x) * math.Sin(2*math.Pi*float64(i)/n)
		}
		rig := PerfectRig()
		rig.Inputs.Clip[0] = 3 * k / 4
		want := 10 * fundamental / (1 - fundamental)
		near(t, "Z", real(rig.Measure(Rand(1), Resistor(z), []float64{100}).Z[0]), want, 1e-9)
	}
}

// The noise that is stated is the noise there is, per real component, with every wiring.
func TestSigmaIsTheScatter(t *testing.T) {
	d := Lumped(6, 1e-3, 8, 0.02, 1e-3, 1, 0.02)
	f := []float64{5, 35, 35.5, 400}
	const n = 2000
	for _, w := range []Wiring{ResistorFirst, DriverFirst, Probes} {
		rng, rig := Rand(6), DrawRig(Rand(5))
		rig.Wiring = w
		clean := rig
		clean.Noise = Noise{}
		quiet := clean.Measure(rng, d, f).Z
		sum, sigma := make([]float64, len(f)), []float64(nil)
		for range n {
			s := rig.Measure(rng, d, f)
			for i := range f {
				e := cmplx.Abs(s.Z[i] - quiet[i])
				sum[i] += e * e / 2
			}
			sigma = s.Sigma
		}
		for i := range f {
			near(t, "sigma", math.Sqrt(sum[i]/n), sigma[i], 0.05)
		}
	}
	near(t, "noise at its corner", Noise{Floor: 1e-4, Corner: 10}.at(10), 1e-4*math.Sqrt2, 1e-12)
}

func TestContacts(t *testing.T) {
	rig := PerfectRig()
	rig.Contact = SteadyContact(0.2, 26)
	s := rig.Measure(Rand(1), Resistor(6), []float64{25, 27})
	near(t, "below", real(s.Z[0]), 6.2, 1e-12)
	near(t, "above", real(s.Z[1]), 6, 1e-12)
	drift := DriftingContact(Rand(2), 0.2)
	low, high := 1.0, 0.0
	for _, f := range Grid(1, 1000, 12) {
		low, high = min(low, drift(f)), max(high, drift(f))
	}
	if low < 0 || high > 0.2 || high-low < 0.1 {
		t.Errorf("a contact that drifts between %g and %g ohm", low, high)
	}
}

// A typo is one of four slips, and never the reading.
func TestMeterAndItsTypos(t *testing.T) {
	rng := Rand(9)
	sum := 0.0
	seen := map[float64]bool{}
	for range 500 {
		m := DrawMeter(rng, 5.61)
		sum += (m.Ohm - 5.61) * (m.Ohm - 5.61) / (m.Std * m.Std)
		if m = (Meter{Ohm: 5.61, Std: 0.03}).Typo(rng); m.Std != 0.03 {
			t.Error("a typo does not know of itself")
		}
		seen[math.Round(m.Ohm*1e6)/1e6] = true
	}
	near(t, "scatter", sum/500, 1, 0.2)
	if len(seen) != 4 || !seen[6.51] || !seen[56.1] || !seen[5.91] || !seen[6.61] {
		t.Errorf("5.61 was typed as %v", seen)
	}
}
