package sweeps

import (
	"errors"
	"math"
	"math/cmplx"
	"os"
	"strconv"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/spectra"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/notice"
)

// fixtureRows reads what the circuit simulator printed for a part behind leads; see testdata/part/README.md.
func fixtureRows(t *testing.T, path string) (rows [][]float64) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		var row []float64
		for _, word := range strings.Fields(line) {
			v, err := strconv.ParseFloat(word, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, v)
		}
		rows = append(rows, row)
	}
	return rows
}

// The correction finds the part behind leads, inputs, gains and delay in every wiring, as the circuit simulator has it alone.
func TestThreeTermsAgainstCircuitSimulator(t *testing.T) {
	rows := fixtureRows(t, "../testdata/part/fixture.out")
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
		f := &Fixture{terms: Terms{LoadOhm: 100, LoadStd: 0.1}, open: newTerm(curves[1]), short: newTerm(curves[2]), load: newTerm(curves[3])}
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

// The noise that is reported is that which repeated recordings show: of the part and of each of the three terms.
func TestThreeTermsNoise(t *testing.T) {
	const h, hs, hl, ho, step = complex(0.3, -0.4), complex(0.01, 0.001), complex(0.9, 0.01), complex(0.999, 0.002), 1e-6
	curve := func(v complex128) term {
		return newTerm(bench.Curve{Freq: []float64{1e3}, Value: []complex128{v}, Std: []float64{1e-4}})
	}
	z := func(h, hs, hl, ho complex128) complex128 {
		f := &Fixture{terms: Terms{LoadOhm: 100}, open: curve(ho), short: curve(hs), load: curve(hl)}
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
	f := &Fixture{terms: Terms{LoadOhm: 100}, open: curve(ho), short: curve(hs), load: curve(hl)}
	got, _ := f.corrected(&spectra.Result{Rec: &bench.Recording{}, Points: []spectra.Point{{Freq: 1e3, Ratio: h}}})
	if math.Abs(got.Sigma[0]/want-1) > 1e-4 {
		t.Errorf("noise %v, by differences %v", got.Sigma[0], want)
	}
}

// partRecording records a resistance in ohm.
func partRecording(t *testing.T, ohm float64) *bench.Recording {
	t.Helper()
	x, err := signal.Signal{Duration: 2, Lo: 20}.Samples()
	if err != nil {
		t.Fatal(err)
	}
	v := virtual.Bench{Z: func(float64) complex128 { return complex(ohm, 0) }, Bench: bench.Bench{Resistor: 10, Leads: 0.1}, Seed: uint64(ohm) + 1,
		Flaws: virtual.Flaws{Gain: [2]float64{0, 0.005}, Noise: [2]float64{1e-5, 1e-5}}}
	rec, err := v.Record(x, 48000)
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

// Without a term the bench counts as it is, what is missing is said, and what it costs is in the uncertainty.
func TestMissingTerms(t *testing.T) {
	open, short, load, what := partRecording(t, 1e12), partRecording(t, 0), partRecording(t, 100), partRecording(t, 47)
	b := bench.Bench{Resistor: 10, ResistorTolerance: 0.01}
	for name, c := range map[string]struct {
		terms   Terms
		missing string
		off     float64 // relative error of 47 ohm, at most
		sources []string
	}{
		"all":     {Terms{Open: open, Short: short, Load: load, LoadOhm: 100, LoadStd: 0.05}, "", 1e-4, []string{"load resistor", "load inductance", "contacts"}},
		"no load": {Terms{Open: open, Short: short}, "load", 0.05, []string{"resistor", "channels", "contacts"}},
		"none":    {Terms{}, "open short load", 0.05, []string{"resistor", "leads", "channels", "stray capacitance", "inputs across the part", "contacts"}},
	} {
		f, err := NewFixture(c.terms, b)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		z, err := f.Measure(what)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		i := z.Len() / 2
		if off := cmplx.Abs(z.Z[i]/47 - 1); off > c.off {
			t.Errorf("%s: %v, off by %.2g", name, z.Z[i], off)
		}
		var variance float64
		for _, want := range c.sources {
			found := false
			for _, s := range z.Systematic {
				found = found || s.Source == want
			}
			if !found {
				t.Errorf("%s: no uncertainty from %s", name, want)
			}
		}
		for _, s := range z.Systematic {
			variance += math.Pow(real(s.Effect[i]), 2)
		}
		if u := math.Sqrt(variance + z.Sigma[i]*z.Sigma[i]); math.Abs(real(z.Z[i])-47) > 3*u {
			t.Errorf("%s: %v with %v", name, z.Z[i], u)
		}
		said := ""
		for _, w := range z.Warnings {
			if w.Code == "terms-missing" {
				said = w.Text("terms")
			}
		}
		if said != c.missing {
			t.Errorf("%s: %q is said to be missing, want %q", name, said, c.missing)
		}
	}
}

// Recordings that were exchanged, an open part and a load that is none are refused.
func TestFixtureRefuses(t *testing.T) {
	open, short, load := partRecording(t, 1e12), partRecording(t, 0), partRecording(t, 100)
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
	if _, err := NewFixture(Terms{}, bench.Bench{}); code(err) != "resistor-missing" {
		t.Errorf("no resistor: %v", err)
	}
	f, err := NewFixture(Terms{Open: open, Short: short, Load: load, LoadOhm: 100}, bench.Bench{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Measure(partRecording(t, 2e12)); code(err) != "part-open" {
		t.Errorf("an open part: %v", err)
	}
}
