package table

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// The area under ln coth(t/2), against the sum of midpoints, and at infinity
// against pi^2/4 (tables of integrals).
func TestLnCothArea(t *testing.T) {
	const steps = 200_000
	for _, x := range []float64{1e-9, 0.01, 0.3, 0.6999, 0.7001, 1, 3, 20} {
		// Substituting t = x s^2 takes the singularity at 0 away.
		sum := 0.
		for k := range steps {
			s := (float64(k) + 0.5) / steps
			sum += 2 * x * s / steps * -math.Log(math.Tanh(x*s*s/2))
		}
		if got := lnCothArea(x); math.Abs(got-sum) > 1e-6*sum {
			t.Errorf("area to %v is %v, want %v", x, got, sum)
		}
		if lnCothArea(-x) != -lnCothArea(x) {
			t.Errorf("the area is not odd at %v", x)
		}
	}
	if got, want := lnCothArea(math.Inf(1)), math.Pi*math.Pi/4; got != want {
		t.Errorf("whole area %v, want %v", got, want)
	}
}

// A resistor with an inductor in series has the phase atan(w L/R); a resistor
// with a capacitor across it the opposite one. One-pole networks, any textbook.
func TestMinimumPhase(t *testing.T) {
	const n = 200
	u, logs, falling := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range u {
		u[i] = math.Log(1e-3) + float64(i)/(n-1)*math.Log(1e6) // w L/R from 0.001 to 1000
		logs[i] = math.Log(math.Hypot(1, math.Exp(u[i])))
		falling[i] = -logs[i]
	}
	low, high := endSlopes(u, logs)
	up := minimumPhase(u, logs, low, high, u)
	low, high = endSlopes(u, falling)
	down := minimumPhase(u, falling, low, high, u)
	for i := range u {
		want := math.Atan(math.Exp(u[i]))
		if math.Abs(up[i]-want) > 2e-3 || math.Abs(down[i]+want) > 2e-3 {
			t.Fatalf("at w L/R = %v the phase is %v and %v, want %v and its opposite", math.Exp(u[i]), up[i], down[i], want)
		}
	}
}

// someDriver is a woofer of any kind.
func someDriver(r *rand.Rand) driver.Driver {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	ws := 2 * math.Pi * between(20, 100)
	d := driver.Driver{Re: between(2, 14), Mms: between(0.01, 0.16), Creep: between(0, 0.1)}
	d.Cms = 1 / (ws * ws * d.Mms)
	d.Rms = ws * d.Mms / between(2, 10)
	d.BL = math.Sqrt(ws * d.Mms * d.Re / between(0.25, 1))
	switch r.IntN(3) {
	case 0:
		d.Coil = driver.PlainCoil{L: between(0.2e-3, 1.7e-3)}
	case 1:
		d.Coil = driver.LossyCoil{K: between(0.01, 0.04), N: between(0.6, 0.75)}
	default:
		d.Coil = driver.TwoPartCoil{L1: between(0.2e-3, 0.7e-3), L2: between(0.2e-3, 1.2e-3), R2: between(1, 11)}
	}
	return d
}

// someSweep is a sweep of it over n points, with relative noise.
func someSweep(r *rand.Rand, n int, noise float64) measured.Impedance {
	d := someDriver(r)
	lo, hi := d.Fs()/(2+3*r.Float64()), d.Fs()*(4+20*r.Float64())
	if r.IntN(3) == 0 {
		lo, hi = 10, 20000
	}
	z := measured.Impedance{Freq: make([]float64, n), Z: make([]complex128, n)}
	for i := range z.Freq {
		z.Freq[i] = lo * math.Pow(hi/lo, float64(i)/float64(n-1))
		v := d.Impedance(z.Freq[i])
		z.Z[i] = v + complex(noise*cmplx.Abs(v)*r.NormFloat64(), noise*cmplx.Abs(v)*r.NormFloat64())
	}
	return z
}

// print writes a sweep under a header, in one of the readings.
func (r reading) print(header string, z measured.Impedance) string {
	var b strings.Builder
	if header != "" {
		fmt.Fprintln(&b, header)
	}
	for i, f := range z.Freq {
		x, y := real(z.Z[i]), imag(z.Z[i])
		if r.form != cartesian {
			x, y = cmplx.Abs(z.Z[i]), cmplx.Phase(z.Z[i])
			if !r.rad {
				y /= degree
			}
		}
		if r.form == polarDecibels {
			x = 20 * math.Log10(x)
		}
		if r.minus {
			y = -y
		}
		fmt.Fprintf(&b, "%.10g %.12g %.12g\n", f, x, y)
	}
	return b.String()
}

// Nobody named the columns: a table is never read in a wrong way, and one in
// ohm with degrees, radians or the parts of the impedance is mostly read.
func TestUnnamedColumns(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	const tables = 40
	taken := map[reading]int{}
	for range tables {
		z := someSweep(r, 20+r.IntN(200), 0.003)
		for _, way := range readings {
			got, err := Read([]byte(way.print("", z)), "x.txt", "", bench.Bench{})
			if err != nil {
				// It asks what the columns hold.
				if n := testfiles.CheckNotice(t, err); n.Line == 0 || !slices.Contains([]string{"column-unit-row", "table-magnitude", "table-frequency"}, n.Code) {
					t.Errorf("%s: the error is %v", way, err)
				}
				continue
			}
			if testfiles.CheckSweep(t, got, z, 1e-9); t.Failed() {
				t.Fatalf("a table of %s was read in another way", way)
			}
			taken[way]++
		}
	}
	for _, way := range []reading{ohmDegrees, {form: polar, rad: true}, {form: cartesian}} {
		if taken[way] < tables/2 {
			t.Errorf("only %d of %d tables of %s were read", taken[way], tables, way)
		}
	}
}

// The columns are named, but their units are not. What the values leave open is
// asked for; nothing is read wrongly.
func TestNamedColumnsWithoutUnits(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	const tables = 40
	taken := map[reading]int{}
	for range tables {
		z := someSweep(r, 20+r.IntN(200), 0.003)
		for _, way := range readings {
			header := "Frequency Impedance Phase"
			if way.form == cartesian {
				header = "Frequency Re(Z) Im(Z)"
			}
			got, err := Read([]byte(way.print(header, z)), "x.txt", "", bench.Bench{})
			if err != nil {
				testfiles.CheckNotice(t, err)
				continue
			}
			if way.minus || way.form == polarDecibels {
				t.Fatalf("a table of %s was read as %v for %v", way, got.Z[0], z.Z[0])
			}
			testfiles.CheckSweep(t, got, z, 1e-9)
			taken[way]++
		}
		for scale, unit := range map[float64]string{1e-3: "kohm", 1e3: "mohm"} {
			scaled := z
			scaled.Z = nil
			for _, v := range z.Z {
				scaled.Z = append(scaled.Z, v*complex(scale, 0))
			}
			for _, header := range []string{"", "Frequency Impedance Phase"} {
				if got, err := Read([]byte(ohmDegrees.print(header, scaled)), "x.txt", "", bench.Bench{}); err == nil && unit == "kohm" {
					t.Fatalf("a table in %s was read as %v for %v", unit, got.Z[0], z.Z[0])
				}
			}
		}
	}
	t.Log(taken)
	if taken[ohmDegrees] < tables/2 || taken[reading{polar, true, false}] < tables/2 || taken[reading{form: cartesian}] < tables/2 {
		t.Errorf("only %v of %d tables were read", taken, tables)
	}
}

// The header names the columns wrongly. Most mistakes are found, and a true
// header never gives a warning.
func TestMistakenColumns(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	const tables = 16
	found, wrong := 0, 0
	for k := range tables {
		noise := 0.003
		if k%4 == 0 {
			noise = 0.1
		}
		z := someSweep(r, 20+r.IntN(200), noise)
		for _, header := range readings {
			for _, truth := range readings {
				_, err := Read([]byte(truth.print("f[Hz] "+header.String(), z)), "x.txt", "", bench.Bench{})
				if header == truth {
					if err != nil {
						t.Fatalf("%s, rightly named: %v", truth, err)
					}
					continue
				}
				if noise > 0.05 {
					continue
				}
				wrong++
				if err == nil {
					continue
				}
				found++ // others, such as a negative magnitude, tell of it as well
				if n := testfiles.CheckNotice(t, err); n.Code == "columns-mistaken" && n.Text("fits") != truth.String() {
					t.Errorf("%s named %s: %v", truth, header, err)
				}
			}
		}
	}
	t.Logf("%d of %d mistakes were found", found, wrong)
	if found < wrong*4/5 {
		t.Errorf("only %d of %d mistakes were found", found, wrong)
	}
}

// A dummy resistor has next to no phase, which must not look like a mistake.
func TestMistakenColumnsQuietOnResistor(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for range 20 {
		z := someSweep(r, 100, 0)
		for i := range z.Z {
			z.Z[i] = complex(10+0.01*r.NormFloat64(), 0.01*r.NormFloat64())
		}
		for _, way := range readings {
			if _, err := Read([]byte(way.print("f[Hz] "+way.String(), z)), "x.txt", "", bench.Bench{}); err != nil {
				t.Fatalf("%s: %v", way, err)
			}
		}
	}
}

func TestOnlyReading(t *testing.T) {
	none := reading{form: noForm}
	rad, re := reading{polar, true, false}, reading{form: cartesian}
	for name, c := range map[string]struct {
		fits misfits
		want reading
	}{
		"nothing known":  {nil, none},
		"one":            {misfits{rad: 0.1}, rad},
		"best of three":  {misfits{ohmDegrees: 0.9, rad: 0.5, re: 0.2}, re},
		"at the limit":   {misfits{ohmDegrees: 0.25, rad: 0.98}, ohmDegrees},
		"no good fit":    {misfits{ohmDegrees: 0.26, rad: 0.98}, none},
		"twice as good":  {misfits{ohmDegrees: 0.1, re: 0.2}, ohmDegrees},
		"nearly as good": {misfits{ohmDegrees: 0.1, re: 0.19}, none},
	} {
		if got := c.fits.only(); got != c.want {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// From 6 to 25 ohm the values alone could be dB of ohm; magnitude and phase
// together say that they are ohm, and in any order of the rows that the first column is the
// frequency. Without a phase it may be anything.
func TestUnnamedColumnsOfNarrowRange(t *testing.T) {
	d := driver.Driver{Re: 6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 3.4, Coil: driver.PlainCoil{L: 0.5e-3}}
	var z measured.Impedance
	for i := range 60 {
		z.Freq = append(z.Freq, 10*math.Pow(100, float64(i)/59))
		z.Z = append(z.Z, d.Impedance(z.Freq[i]))
	}
	text := ohmDegrees.print("", z)
	got, err := Read([]byte(text), "x.txt", "", bench.Bench{})
	if err != nil {
		t.Fatal(err)
	}
	testfiles.CheckSweep(t, got, z, 1e-9)
	if lo, hi := cmplx.Abs(z.Z[0]), cmplx.Abs(d.Impedance(d.Fs())); lo < 6 || hi > 26 {
		t.Errorf("the sweep goes from %v to %v ohm", lo, hi)
	}

	lines := strings.SplitAfter(text, "\n")
	lines[10], lines[30] = lines[30], lines[10]
	got, err = Read([]byte(strings.Join(lines, "")), "x.txt", "", bench.Bench{})
	if err != nil {
		t.Fatal(err)
	}
	testfiles.CheckSweep(t, got, z, 1e-9)
	if codes := testfiles.Codes(got.Warnings); codes != "points-unsorted" {
		t.Errorf("warnings %q", codes)
	}
	for i, line := range lines {
		lines[i] = line[:max(0, strings.LastIndex(line, " "))]
	}
	_, err = Read([]byte(strings.Join(lines, "\n")), "x.txt", "", bench.Bench{})
	testfiles.CheckError(t, err, "column-unit-row", 1, notice.Facts{"column": 1, "holds": "f"})
}
