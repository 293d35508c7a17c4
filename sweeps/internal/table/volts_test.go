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
	"conewright/ts"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Three impedances of 3-4-5 and 5-12-13 triangles with a resistor of 10 ohm, all
// worked out by hand at a current of 0.1 A: the voltage across the resistor is 1 V.
//
//	20 Hz:  6 + 8j ohm   |Z| 10   V driver 1.0   V source |16 + 8j|/10 = 1.7888544 V
//	31 Hz:  40 ohm       |Z| 40   V driver 4.0   V source 5 V
//	200 Hz: 12 - 5j ohm  |Z| 13   V driver 1.3   V source |22 - 5j|/10 = 2.2561028 V
func TestVoltsAcrossDriverAndResistor(t *testing.T) {
	for name, c := range map[string]struct{ text, columns, warn string }{
		"volts":         {text: "f[Hz],V driver[V],V resistor[V]\n20,1.0,1\n31,4.0,1\n200,1.3,1\n"},
		"millivolts":    {text: "f[Hz];V resistor (mV);V driver (V)\n20;1000;1.0\n31;1000;4.0\n200;1000;1.3\n"},
		"dBV":           {text: "f[Hz];V resistor (dBV);V driver (V)\n20;0;1.0\n31;-20;0.4\n200;20;13\n"},
		"no unit":       {text: "f (Hz), V driver, V resistor\n20, 1.0, 1\n31, 4.0, 1\n200, 1.3, 1\n"},
		"three":         {text: "f[Hz],V source[V],V driver[V],V resistor[V]\n20,1.789,1.0,1\n31,5,4.0,1\n200,2.256,1.3,1\n"},
		"contradiction": {text: "f[Hz],V source[V],V driver[V],V resistor[V]\n20,1.789,1.0,1\n31,5.5,4.0,1\n200,1.3,1.3,1\n", warn: "voltages-contradict"},
		"columns":       {text: "20 1.0 1\n31 4.0 1\n200 1.3 1\n", columns: "f[Hz] V driver[V] V resistor[V]"},
		"missing, zero": {text: "f[Hz],V driver[V],V resistor[V]\n0,1,1\n20,1.0,1\n31,4.0,1\n50,,1\n200,1.3,1\n", warn: "points-missing point-at-zero"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := Read([]byte(c.text), "x.txt", c.columns, bench.Bench{Resistor: 10, ResistorTolerance: 0.01})
			if err != nil {
				t.Fatal(err)
			}
			if got.Len() != 3 || !got.MagnitudeOnly || got.Sigma != nil {
				t.Fatalf("%+v", got)
			}
			for i, want := range []float64{10, 40, 13} {
				if cmplx.Abs(got.Z[i]-complex(want, 0)) > 1e-12*want {
					t.Errorf("|Z| is %v, want %v", got.Z[i], want)
				}
				// The half width of 1 % as a rectangular distribution: 1/sqrt(3) %.
				if s := got.Systematic; len(s) != 1 || s[0].Source != "resistor" || math.Abs(real(s[0].Effect[i])-0.0057735026919*want) > 1e-9 {
					t.Errorf("systematic errors %v", got.Systematic)
				}
			}
			if got := testfiles.Codes(got.Warnings); got != c.warn {
				t.Errorf("warnings %q, want %q", got, c.warn)
			}
			// One source above the sum of the two, one below what a passive driver leaves.
			if name == "contradiction" && (got.Warnings[0].Int("rows") != 2 || got.Warnings[0].Int("first") != 3) {
				t.Errorf("warning %v", got.Warnings[0])
			}
		})
	}
}

var badVolts = map[string]struct {
	text, code string
	line       int
	facts      notice.Facts
}{
	"zero":           {"f[Hz],V driver[V],V resistor[V]\n20,1,1\n31,0,1\n40,1,1\n", "table-voltage", 3, notice.Facts{"holds": "V driver", "voltage": 0.0}},
	"negative":       {"f[Hz],V driver[V],V resistor[V]\n20,1,-1\n31,1,1\n40,1,1\n", "table-voltage", 2, notice.Facts{"holds": "V resistor", "voltage": -1.0}},
	"above source":   {"f[Hz],V source[V],V driver[V]\n20,1,.5\n31,1,1\n40,1,.5\n", "table-above-source", 3, notice.Facts{"holds": "V driver", "voltage": 1.0, "source": 1.0}},
	"few points":     {"f[Hz],V source[V],V driver[V]\n20,1,.5\n31,1,.7\n40,1,.5\n", "two-voltages-few", 0, notice.Facts{"points": 3, "least": 8}},
	"mixed units":    {"f[Hz],V driver[V],V resistor\n20,1,1\n31,1,1\n40,1,1\n", "column-unit", 1, notice.Facts{"column": 3, "holds": "V resistor"}},
	"one voltage":    {"f[Hz],V driver[V]\n20,1\n31,1\n40,1\n", "columns-no-impedance", 1, nil},
	"source in ohm":  {"f[Hz],V source[ohm],V driver[V]\n20,1,.5\n31,1,.7\n40,1,.5\n", "column-other-unit", 1, notice.Facts{"unit": "ohm"}},
	"below 0 Hz":     {"f[Hz],V driver[V],V resistor[V]\n-20,1,1\n31,1,1\n40,1,1\n", "table-frequency", 2, notice.Facts{"frequency": -20.0}},
	"word":           {"f[Hz],V driver[V],V resistor[V]\n20,1,x\n31,1,1\n40,1,1\n", "cell-no-number", 2, notice.Facts{"text": "x", "holds": "V resistor"}},
	"ratio near one": {ratioNearOne(), "two-voltages-phase", 0, nil},
}

// ratioNearOne has a driver far above the resistor: V driver is nearly V source.
func ratioNearOne() string {
	var b strings.Builder
	fmt.Fprintln(&b, "f[Hz],V source[V],V driver[V]")
	for i := range 20 {
		fmt.Fprintf(&b, "%d,1,%.6f\n", 20+10*i, 0.9995+0.0004*math.Sin(float64(i)/2))
	}
	return b.String()
}

func TestVoltsRefuses(t *testing.T) {
	for name, c := range badVolts {
		got, err := Read([]byte(c.text), "x.txt", "", bench.Bench{Resistor: 10})
		testfiles.CheckError(t, err, c.code, c.line, c.facts)
		if got.Freq != nil {
			t.Errorf("%s: got %v beside the error %v", name, got, err)
		}
	}
}

// Tables of V source and one other voltage, simulated without noise: |Z| differs
// from the truth by no more than its systematic errors say. With a resistor far
// above the driver both are small.
func TestTwoVoltmeters(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for _, c := range []struct {
		columns  string
		resistor float64
		error    float64 // the largest median of the relative errors
	}{
		{"V source[V] V driver[V]", 1000, 0.0004},
		{"V source[V] V driver[V]", 100, 0.0017},
		{"V source[V] V driver[V]", 10, 0.01},
		{"V source[V] V resistor[V]", 10, 0.01},
		{"V source[V] V resistor[V]", 1, 0.002},
	} {
		var errs, pulls []float64
		read := 0
		const tables = 60
		for range tables {
			d := someDriver(r)
			n := 10 + r.IntN(30)
			lo, hi := d.Fs()/(2+3*r.Float64()), d.Fs()*(4+20*r.Float64())
			var b strings.Builder
			fmt.Fprintln(&b, "f[Hz]", c.columns)
			for i := range n {
				f := lo * math.Pow(hi/lo, float64(i)/float64(n-1))
				z := d.Impedance(f)
				share := z
				if strings.Contains(c.columns, "resistor") {
					share = complex(c.resistor, 0)
				}
				fmt.Fprintf(&b, "%.12g 2 %.12g\n", f, 2*cmplx.Abs(share/(z+complex(c.resistor, 0))))
			}
			got, err := Read([]byte(b.String()), "x.txt", "", bench.Bench{Resistor: c.resistor})
			if err != nil {
				if n := testfiles.CheckNotice(t, err); n.Code != "two-voltages-phase" {
					t.Fatal(err)
				}
				continue
			}
			read++
			if !strings.HasPrefix(testfiles.Codes(got.Warnings), "two-voltages") {
				t.Fatalf("warnings %v", got.Warnings)
			}
			for i, f := range got.Freq {
				truth := cmplx.Abs(d.Impedance(f))
				sum := 0.
				for _, s := range got.Systematic {
					sum += real(s.Effect[i]) * real(s.Effect[i])
				}
				errs = append(errs, math.Abs(real(got.Z[i])/truth-1))
				pulls = append(pulls, math.Abs(real(got.Z[i])-truth)/math.Sqrt(sum))
			}
		}
		slices.Sort(errs)
		slices.Sort(pulls)
		at := func(s []float64, p float64) float64 { return s[int(p*float64(len(s)-1))] }
		t.Logf("%s, %v ohm: %d of %d tables, error median %.2g, 90 %% %.2g, over its own figure 68 %% %.2f, 95 %% %.2f",
			c.columns, c.resistor, read, tables, at(errs, 0.5), at(errs, 0.9), at(pulls, 0.68), at(pulls, 0.95))
		if read < tables*3/4 {
			t.Errorf("%s with %v ohm: only %d of %d tables were read", c.columns, c.resistor, read, tables)
		}
		if e := at(errs, 0.5); e > c.error {
			t.Errorf("%s with %v ohm: the median error is %.3g, want at most %v", c.columns, c.resistor, e, c.error)
		}
		if at(pulls, 0.68) > 1 || at(pulls, 0.95) > 2 {
			t.Errorf("%s with %v ohm: errors over their claimed size are %.2f at 68 %%, %.2f at 95 %%", c.columns, c.resistor, at(pulls, 0.68), at(pulls, 0.95))
		}
	}
}

// The driver that is fitted to such a table is the true one within its own
// interval of 95 % about as often as it should. An error that only widened the
// peak and did not move it would show here: Fs is the most exact of all.
func TestTwoVoltmetersGiveTheDriver(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	const tables, resistor = 25, 100
	inside := map[param.ID]int{}
	for range tables {
		d := someDriver(r)
		lo, hi := d.Fs()/(2+3*r.Float64()), d.Fs()*(4+20*r.Float64())
		var b strings.Builder
		fmt.Fprintln(&b, "f[Hz] V source[V] V driver[V]")
		for i := range 30 {
			f := lo * math.Pow(hi/lo, float64(i)/29)
			z := d.Impedance(f)
			fmt.Fprintf(&b, "%.4f 1 %.6f\n", f, cmplx.Abs(z/(z+resistor))*(1+0.002*r.NormFloat64()))
		}
		z, err := Read([]byte(b.String()), "x.txt", "", bench.Bench{Resistor: resistor})
		if err != nil {
			t.Fatal(err)
		}
		fit, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for id, truth := range map[param.ID]float64{param.Re: d.Re, param.Fs: d.Fs(), param.Qms: d.Qms(), param.Qes: d.Qes()} {
			if e, ok := fit.Parameters.Get(id); ok && e.Low <= truth && truth <= e.High {
				inside[id]++
			}
		}
	}
	t.Log(inside)
	for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes} {
		if inside[id] < tables*4/5 {
			t.Errorf("%v is inside its interval in %d of %d tables", id, inside[id], tables)
		}
	}
}

// With leads of 0.5 ohm between the meter and the driver.
func TestVoltsLeads(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	d := someDriver(r)
	var b strings.Builder
	fmt.Fprintln(&b, "f[Hz] V driver[V] V resistor[V]")
	for i := range 40 {
		f := 10 * math.Pow(100, float64(i)/39)
		fmt.Fprintf(&b, "%.12g %.12g 0.1\n", f, cmplx.Abs(d.Impedance(f)+0.5)/100)
	}
	got, err := Read([]byte(b.String()), "x.txt", "", bench.Bench{Resistor: 10, Leads: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range got.Freq {
		want := cmplx.Abs(d.Impedance(f))
		if math.Abs(real(got.Z[i])-want) > 0.02*0.5+0.005*want {
			t.Errorf("at %v Hz |Z| is %v, want %v", f, real(got.Z[i]), want)
		}
	}
}
