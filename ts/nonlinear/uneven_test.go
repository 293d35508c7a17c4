package nonlinear

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
)

// fundamental returns the tone that scipy found, by its impedance.
func fundamental(c handmade.Tone, d driver.Driver) Tone {
	i := complex(c.Volt*math.Sqrt2, 0) / (c.Z + handmade.ToneResistor)
	ze := complex(d.Re, 0) + d.Coil.Impedance(2*math.Pi*c.Freq)
	return Tone{Freq: c.Freq, Current: i, Velocity: (c.Z - ze) * i / complex(d.BL, 0)}
}

// Closed forms against an integration in time by scipy, where the coil does not come to rest: what friction and a
// hardening suspension are worth to the fundamental, and the harmonics.
func TestClosedForms(t *testing.T) {
	compared := 0
	d := handmade.ToneDriver
	for _, c := range handmade.Tones(t, "../..") {
		if c.Rest > 0 || c.Volt > 1 {
			continue
		}
		friction, uneven := Friction{Force: c.Friction}, Uneven{K2: c.K2 * d.Cms, BL1: c.B1, BL2: c.B2}
		tone := fundamental(c, d)
		v := cmplx.Abs(tone.Velocity)
		r, _ := friction.Resistance(v, c.Freq)
		zm := complex(d.BL, 0) * tone.Current / tone.Velocity
		tol := 0.004
		if friction.Force == 0 && c.Volt == 1 {
			tol = 0.03 // large excursions: what the harmonics do to the fundamental
		}
		if uneven.BL2 == 0 && uneven.BL1 == 0 {
			k := uneven.StiffnessAt(v/(2*math.Pi*c.Freq)) / d.Cms
			want := complex(d.Rms+r, 2*math.Pi*c.Freq*d.Mms-k/(2*math.Pi*c.Freq))
			allowed := 0.003*cmplx.Abs(want) + 0.15*r // friction is worth a little mass too, where the coil nearly rests
			if cmplx.Abs(zm-want) > allowed || math.Abs(real(zm)-real(want)) > 0.003*real(want) {
				t.Errorf("F %g, %+v, %g V, %g Hz: mechanical impedance %v, scipy has %v", friction.Force, uneven, c.Volt, c.Freq, want, zm)
			}
		}
		for k, want := range c.Harmonics {
			n := k + 2
			if friction.Force == 0 && (n > 3 || n == 2 && uneven.BL1 == 0 || n == 3 && uneven.BL1 != 0) {
				continue // of second order in the unevenness
			}
			p, q := friction.Push(tone, n), uneven.Push(d, tone, n)
			i := Push{p.Force + q.Force, p.Voltage + q.Voltage}.Current(d, float64(n)*c.Freq, handmade.ToneResistor)
			compared++
			if got := 100 * cmplx.Abs(i/tone.Current); math.Abs(got-want) > tol*want+2e-5 {
				t.Errorf("F %g, %+v, %g V, %g Hz: harmonic %d is %.5f %%, scipy has %.5f", friction.Force, uneven, c.Volt, c.Freq, n, got, want)
			}
		}
	}
	if compared < 300 {
		t.Errorf("only %d harmonics were compared", compared)
	}
}

// Dahl's law against a table that an independent program computed: loss over Coulomb's, extra stiffness over the
// stiffness before sliding, third harmonic over Coulomb's.
func TestDahlShape(t *testing.T) {
	for _, row := range [][4]float64{
		{0.1, 0.0033200537, 0.99627, 0.00199},
		{0.5, 0.0757656855, 0.91482, 0.04595},
		{1, 0.2384058440, 0.73251, 0.14889},
		{2, 0.5179862100, 0.42279, 0.35214},
		{5, 0.8000181591, 0.13117, 0.65681},
		{10, 0.9000000004, 0.04851, 0.81605},
		{50, 0.9800000000, 0.00448, 0.96170},
	} {
		u := row[0]
		f := Friction{Force: 0.02, Slides: 3e-6}
		x := u * f.Slides
		const freq = 30.0
		v := 2 * math.Pi * freq * x
		r, k := f.Resistance(v, freq)
		var c [2]complex128
		f.Shape(c[:], x)
		for i, got := range []float64{r * math.Pi * v / 4 / f.Force, k * f.Slides / f.Force, cmplx.Abs(c[1]) * 3 * math.Pi / 4} {
			if math.Abs(got-row[i+1]) > 1e-5 {
				t.Errorf("u = %g, column %d: %.7f, want %.7f", u, i, got, row[i+1])
			}
		}
	}
	var c [3]complex128
	Friction{Force: 1}.Shape(c[:], 1)
	for k, v := range c {
		if want := 4 / (math.Pi * float64(2*k+1)); cmplx.Abs(v-complex(want, 0)) > 1e-12 {
			t.Errorf("Coulomb, order %d: %v, want %g", 2*k+1, v, want)
		}
	}
}
