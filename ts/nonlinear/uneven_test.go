package nonlinear

import (
	"bufio"
	"conewright/ts/driver"
	"math"
	"math/cmplx"
	"os"
	"strconv"
	"strings"
	"testing"
)

// toned is a line of testdata/friction/tones.txt.
type toned struct {
	friction     Friction
	uneven       Uneven
	driver       driver.Driver
	volt, freq   float64
	z            complex128
	harmonics    []float64 // 2 to 10, percent
	rest, series float64
}

func readTones(t *testing.T) []toned {
	t.Helper()
	file, err := os.Open("../../testdata/friction/tones.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var all []toned
	for lines := bufio.NewScanner(file); lines.Scan(); {
		if strings.HasPrefix(lines.Text(), "#") {
			continue
		}
		var x []float64
		for _, w := range strings.Fields(lines.Text()) {
			v, err := strconv.ParseFloat(w, 64)
			if err != nil {
				t.Fatal(err)
			}
			x = append(x, v)
		}
		const cms = 1.05e-3
		all = append(all, toned{Friction{Force: x[0]}, Uneven{K2: x[1] * cms, BL1: x[2], BL2: x[3]},
			driver.Driver{Re: 6, BL: 6, Mms: 0.015, Cms: cms, Rms: 0.9, Coil: driver.PlainCoil{L: 0.5e-3}}, x[4], x[5], complex(x[6], x[7]), x[10:19], x[19], 10})
	}
	return all
}

// fundamental returns the tone that scipy found, by its impedance.
func (c toned) fundamental() Tone {
	i := complex(c.volt*math.Sqrt2, 0) / (c.z + complex(c.series, 0))
	ze := complex(c.driver.Re, 0) + c.driver.Coil.Impedance(2*math.Pi*c.freq)
	return Tone{Freq: c.freq, Current: i, Velocity: (c.z - ze) * i / complex(c.driver.BL, 0)}
}

// Closed forms against an integration in time by scipy, where the coil does not come to rest: what friction and a
// hardening suspension are worth to the fundamental, and the harmonics.
func TestClosedForms(t *testing.T) {
	compared := 0
	for _, c := range readTones(t) {
		if c.rest > 0 || c.volt > 1 {
			continue
		}
		tone := c.fundamental()
		v := cmplx.Abs(tone.Velocity)
		r, _ := c.friction.Resistance(v, c.freq)
		zm := complex(c.driver.BL, 0) * tone.Current / tone.Velocity
		tol := 0.004
		if c.friction.Force == 0 && c.volt == 1 {
			tol = 0.03 // large excursions: what the harmonics do to the fundamental
		}
		if c.uneven.BL2 == 0 && c.uneven.BL1 == 0 {
			k := c.uneven.StiffnessAt(v/(2*math.Pi*c.freq)) / c.driver.Cms
			want := complex(c.driver.Rms+r, 2*math.Pi*c.freq*c.driver.Mms-k/(2*math.Pi*c.freq))
			allowed := 0.003*cmplx.Abs(want) + 0.15*r // friction is worth a little mass too, where the coil nearly rests
			if cmplx.Abs(zm-want) > allowed || math.Abs(real(zm)-real(want)) > 0.003*real(want) {
				t.Errorf("F %g, %+v, %g V, %g Hz: mechanical impedance %v, scipy has %v", c.friction.Force, c.uneven, c.volt, c.freq, want, zm)
			}
		}
		for k, want := range c.harmonics {
			n := k + 2
			if c.friction.Force == 0 && (n > 3 || n == 2 && c.uneven.BL1 == 0 || n == 3 && c.uneven.BL1 != 0) {
				continue // of second order in the unevenness
			}
			p, q := c.friction.Push(tone, n), c.uneven.Push(c.driver, tone, n)
			i := Push{p.Force + q.Force, p.Voltage + q.Voltage}.Current(c.driver, float64(n)*c.freq, c.series)
			compared++
			if got := 100 * cmplx.Abs(i/tone.Current); math.Abs(got-want) > tol*want+2e-5 {
				t.Errorf("F %g, %+v, %g V, %g Hz: harmonic %d is %.5f %%, scipy has %.5f", c.friction.Force, c.uneven, c.volt, c.freq, n, got, want)
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
