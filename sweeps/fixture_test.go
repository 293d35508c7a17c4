package sweeps

import (
	"errors"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/spectra"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/handmade/tables"
	"conewright/ts/notice"
)

// allTerms says that no term is missing.
var allTerms = Terms{Open: &bench.Recording{}, Short: &bench.Recording{}, Load: &bench.Recording{}, LoadOhm: 100}

// The correction finds the part behind leads, inputs, gains and delay in every wiring, as the circuit simulator has it alone.
func TestThreeTermsAgainstCircuitSimulator(t *testing.T) {
	rows := tables.Numbers(t, "../testdata/part/fixture.out")
	const wirings, kinds = 3, 4
	if len(rows) != 67 || len(rows[0]) != 3+2*wirings*kinds {
		t.Fatalf("%d rows of %d", len(rows), len(rows[0]))
	}
	at := func(row []float64, k int) complex128 { return complex(row[1+2*k], row[2+2*k]) }
	for w := range wirings {
		var curves [kinds]bench.Curve
		e := &spectra.Result{Rec: &bench.Recording{}}
		for _, row := range rows {
			for k := range kinds {
				c := &curves[k]
				c.Freq, c.Value, c.Std = append(c.Freq, row[0]), append(c.Value, at(row, w*kinds+k)), append(c.Std, 1e-9)
			}
			e.Points = append(e.Points, spectra.Point{Freq: row[0], Ratio: at(row, w*kinds)})
		}
		f := &Fixture{terms: Terms{Open: &bench.Recording{}, Short: &bench.Recording{}, Load: &bench.Recording{}, LoadOhm: 100, LoadStd: 0.1}, open: newTerm(curves[1]), short: newTerm(curves[2]), load: newTerm(curves[3])}
		z, err := f.corrected(e)
		if err != nil || z.Len() != len(rows) {
			t.Fatalf("wiring %d: %d points, %v", w, z.Len(), err)
		}
		worst := 0.0
		for i, row := range rows {
			want := at(row, wirings*kinds)
			worst = math.Max(worst, cmplx.Abs(z.Z[i]-want)/cmplx.Abs(want))
		}
		if !(worst < 1e-6) {
			t.Errorf("wiring %d is off by %.2g", w, worst)
		}
		// One standard deviation of the load moves everything by its part, and its inductance turns it.
		for _, s := range z.Systematic {
			want := map[string]complex128{"load resistor": z.Z[40] * 0.001, "load inductance": z.Z[40] * complex(0, 2*math.Pi*z.Freq[40]*loadHenry/100)}[s.Source]
			if cmplx.Abs(s.Effect[40]-want) > 1e-12*cmplx.Abs(want) {
				t.Errorf("%s moves it by %v, want %v", s.Source, s.Effect[40], want)
			}
		}
	}
}

// Where a term was not recorded nothing is corrected: those points are left out.
func TestThreeTermsBand(t *testing.T) {
	curve := func(v complex128, hi float64) term {
		return newTerm(bench.Curve{Freq: []float64{100, hi}, Value: []complex128{v, v}, Std: []float64{1e-6, 1e-6}})
	}
	f := &Fixture{terms: allTerms, open: curve(1, 10e3), short: curve(0.01, 10e3), load: curve(0.9, 2e3)}
	var points []spectra.Point
	for _, hz := range []float64{20, 90, 100, 1e3, 2e3, 2.2e3, 5e3} {
		points = append(points, spectra.Point{Freq: hz, Ratio: 0.5})
	}
	z, err := f.corrected(&spectra.Result{Rec: &bench.Recording{}, Points: points})
	if err != nil || z.Len() != 3 || z.Freq[0] != 100 || z.Freq[2] != 2e3 {
		t.Errorf("points at %v, %v", z.Freq, err)
	}
}

// The noise that is reported is that which repeated recordings show: of the part and of each of the three terms.
func TestThreeTermsNoise(t *testing.T) {
	const h, hs, hl, ho, step = complex(0.3, -0.4), complex(0.01, 0.001), complex(0.9, 0.01), complex(0.999, 0.002), 1e-6
	curve := func(v complex128) term {
		return newTerm(bench.Curve{Freq: []float64{1e3}, Value: []complex128{v}, Std: []float64{1e-4}})
	}
	z := func(h, hs, hl, ho complex128) complex128 {
		f := &Fixture{terms: allTerms, open: curve(ho), short: curve(hs), load: curve(hl)}
		got, err := f.corrected(&spectra.Result{Rec: &bench.Recording{}, Points: []spectra.Point{{Freq: 1e3, Ratio: h}}})
		if err != nil {
			t.Fatal(err)
		}
		return got.Z[0]
	}
	at := z(h, hs, hl, ho)
	var want float64
	for _, moved := range []complex128{z(h, hs+step, hl, ho), z(h, hs, hl+step, ho), z(h, hs, hl, ho+step)} {
		want += math.Pow(1e-4*cmplx.Abs(moved-at)/step, 2)
	}
	converters := converterError * cmplx.Abs(h) / math.Sqrt2 * cmplx.Abs(z(h+step, hs, hl, ho)-at) / step
	want = math.Sqrt(want + converters*converters)
	f := &Fixture{terms: allTerms, open: curve(ho), short: curve(hs), load: curve(hl)}
	got, _ := f.corrected(&spectra.Result{Rec: &bench.Recording{}, Points: []spectra.Point{{Freq: 1e3, Ratio: h}}})
	if math.Abs(got.Sigma[0]/want-1) > 1e-4 {
		t.Errorf("noise %v, by differences %v", got.Sigma[0], want)
	}
}

// partRecording records z on a bench with gains apart by 0.5 %, inputs of 20 kohm and leads of 0.1 ohm.
func partRecording(t *testing.T, seed uint64, z func(f float64) complex128) *bench.Recording {
	t.Helper()
	x, err := signal.Signal{Duration: 2, Lo: 20}.Samples()
	if err != nil {
		t.Fatal(err)
	}
	v := virtual.Bench{Z: z, Bench: bench.Bench{Resistor: 10, Leads: 0.1}, Seed: seed,
		Flaws: virtual.Flaws{Gain: [2]float64{0, 0.005}, Noise: [2]float64{1e-5, 1e-5}, InputResistance: 20e3}}
	rec, err := v.Record(x, 48000)
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

func ohms(r float64) func(f float64) complex128 {
	return func(float64) complex128 { return complex(r, 0) }
}

// Without a term the bench counts as it is, what is missing is said, and what it costs is in the uncertainty: for every choice of terms the
// value lies within it.
func TestMissingTerms(t *testing.T) {
	open, short, load := partRecording(t, 1, ohms(1e12)), partRecording(t, 2, ohms(0)), partRecording(t, 3, ohms(100))
	for _, ohm := range []float64{3.3, 47} {
		what := partRecording(t, 4, ohms(ohm))
		for mask := range 8 {
			terms := Terms{LoadOhm: 100, LoadStd: 0.05}
			var missing []string
			for i, one := range []struct {
				rec  *bench.Recording
				into **bench.Recording
				role string
			}{{open, &terms.Open, "open"}, {short, &terms.Short, "short"}, {load, &terms.Load, "load"}} {
				if mask&(1<<i) != 0 {
					*one.into = one.rec
				} else {
					missing = append(missing, one.role)
				}
			}
			f, err := NewFixture(terms, bench.Bench{Resistor: 10, ResistorTolerance: 0.01})
			if err != nil {
				t.Fatalf("without %v: %v", missing, err)
			}
			z, err := f.Measure(what)
			if err != nil {
				t.Fatalf("without %v: %v", missing, err)
			}
			i := z.Len() / 2
			variance := z.Sigma[i] * z.Sigma[i]
			for _, s := range z.Systematic {
				variance += math.Pow(real(s.Effect[i]), 2)
			}
			off, u := real(z.Z[i])-ohm, math.Sqrt(variance)
			if math.Abs(off) > 2.5*u || mask == 7 && math.Abs(off) > 1e-4*ohm || u > 0.1*ohm {
				t.Errorf("%v ohm without %v: off by %.4f with %.4f", ohm, missing, off, u)
			}
			said := ""
			for _, w := range z.Warnings {
				if w.Code == "terms-missing" {
					said = w.Text("terms")
				}
			}
			if said != strings.Join(missing, " ") {
				t.Errorf("without %v %q is said to be missing", missing, said)
			}
		}
	}
}

// Recordings that were exchanged, an open part and a load that is none are refused.
func TestFixtureRefuses(t *testing.T) {
	open, short, load := partRecording(t, 1, ohms(1e12)), partRecording(t, 2, ohms(0)), partRecording(t, 3, ohms(100))
	code := func(err error) string {
		var n *notice.Notice
		if errors.As(err, &n) {
			return n.Code
		}
		return ""
	}
	if _, err := NewFixture(Terms{Open: short, Short: open, Load: load, LoadOhm: 100}, bench.Bench{}); code(err) != "terms-order" {
		t.Errorf("open and short exchanged: %v", err)
	}
	if _, err := NewFixture(Terms{Open: open, Short: short, Load: load}, bench.Bench{}); code(err) != "calibration-value" {
		t.Errorf("a load of 0 ohm: %v", err)
	}
	if _, err := NewFixture(Terms{Short: short}, bench.Bench{}); code(err) != "resistor-missing" {
		t.Errorf("no resistor: %v", err)
	}
	if f, err := NewFixture(Terms{}, bench.Bench{}); err != nil {
		t.Errorf("a table needs no bench: %v", err)
	} else if _, err := f.Measure(load); code(err) != "resistor-missing" {
		t.Errorf("a recording without a resistor: %v", err)
	}
	capacitor := partRecording(t, 5, func(f float64) complex128 { return complex(0, -1/(2*math.Pi*f*8e-6)) })
	if _, err := NewFixture(Terms{Open: open, Short: short, Load: capacitor, LoadOhm: 100}, bench.Bench{}); code(err) != "terms-load" {
		t.Errorf("a capacitor as load: %v", err)
	}
	f, err := NewFixture(Terms{Open: open, Short: short, Load: load, LoadOhm: 100}, bench.Bench{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Measure(partRecording(t, 4, ohms(2e12))); code(err) != "part-open" {
		t.Errorf("an open part: %v", err)
	}
}
