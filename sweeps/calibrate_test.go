package sweeps

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/testfiles"
	"conewright/sweeps/virtual"
)

// fixture is a bench with every error at once, and what is recorded on it.
func fixture(w bench.Wiring) virtual.Bench {
	return virtual.Bench{Z: benchtop.Larch.Impedance, Seed: 3,
		Bench: bench.Bench{Wiring: w, Resistor: 10, Leads: 0.21},
		Flaws: virtual.Flaws{Latency: 0.1, After: 0.5, Noise: [2]float64{1e-5, 1e-5}, Bits: 24,
			Gain: [2]float64{0.012, -0.015}, Delay: [2]float64{0, 3e-6}, InputResistance: 8000, ResistorError: 0.02}}
}

func nothingBut(z complex128) func(float64) complex128 { return func(float64) complex128 { return z } }

// on records something else on the bench v.
func on(t *testing.T, v virtual.Bench, z complex128) *bench.Recording {
	t.Helper()
	v.Z = nothingBut(z)
	return benchtop.Record(t, v, benchtop.QuickSweep)
}

// bothOnOne records both inputs on the amplifier.
func bothOnOne(t *testing.T, v virtual.Bench) *bench.Recording {
	t.Helper()
	// A driver-first bench without driver and without resistance records the
	// amplifier on both channels.
	v.Bench.Wiring, v.Bench.Leads, v.Flaws.InputResistance = bench.DriverFirst, 0, 0
	v.Z = nothingBut(0)
	return benchtop.Record(t, v, benchtop.QuickSweep)
}

// worstError returns the largest relative error between lo and hi (Hz).
func worstError(t *testing.T, rec *bench.Recording, b bench.Bench, lo, hi float64) float64 {
	t.Helper()
	z, err := Measure(rec, b)
	if err != nil {
		t.Fatal(err)
	}
	return worst(z.Freq, z.Z, lo, hi)
}

// worst returns the largest relative distance of z from the woofer larch.
func worst(freq []float64, z []complex128, lo, hi float64) float64 {
	most := 0.0
	for i, f := range freq {
		if f >= lo && f <= hi {
			want := benchtop.Larch.Impedance(f)
			most = max(most, math.Sqrt(dsp.SqAbs(z[i]-want)/dsp.SqAbs(want)))
		}
	}
	return most
}

// Each error of the bench is injected alone, is seen to matter, and is
// corrected to a tenth of a percent.
func TestCalibrationCorrectsEachError(t *testing.T) {
	const tenth = 1e-3
	for _, c := range []struct {
		name    string
		change  func(v *virtual.Bench)
		correct func(t *testing.T, v virtual.Bench, b *bench.Bench)
	}{
		{"leads, measured", func(v *virtual.Bench) { v.Bench.Leads = 0.3 },
			func(t *testing.T, v virtual.Bench, b *bench.Bench) { b.Leads = 0.3 }},
		{"leads, by a short", func(v *virtual.Bench) { v.Bench.Leads = 0.3 },
			func(t *testing.T, v virtual.Bench, b *bench.Bench) {
				b.Calibration = calibrate(t, Known{Short: on(t, v, 0)}, *b)
			}},
		{"input resistance, known", func(v *virtual.Bench) { v.Flaws.InputResistance = 2000 },
			func(t *testing.T, v virtual.Bench, b *bench.Bench) { b.InputResistance = 2000 }},
		{"channels", func(v *virtual.Bench) { v.Flaws.Gain[1] = 0.02; v.Flaws.Delay[0] = 4e-6 },
			func(t *testing.T, v virtual.Bench, b *bench.Bench) {
				b.Calibration = calibrate(t, Known{Channels: bothOnOne(t, v)}, *b)
			}},
		{"resistor, by a load", func(v *virtual.Bench) { v.Flaws.ResistorError = 0.05 },
			func(t *testing.T, v virtual.Bench, b *bench.Bench) {
				b.Calibration = calibrate(t, Known{Load: on(t, v, 22), LoadOhm: 22}, *b)
			}},
	} {
		for _, w := range []bench.Wiring{bench.ResistorFirst, bench.DriverFirst, bench.Probes} {
			v := virtual.Bench{Z: benchtop.Larch.Impedance, Seed: 5, Bench: bench.Bench{Wiring: w, Resistor: 10},
				Flaws: virtual.Flaws{Latency: 0.1, After: 0.5, Noise: [2]float64{1e-5, 1e-5}}}
			b := v.Bench
			c.change(&v)
			rec := benchtop.Record(t, v, benchtop.QuickSweep)
			if off := worstError(t, rec, b, 10, 3000); off < 3*tenth {
				t.Errorf("%s, %v: without correction the error is only %.2g", c.name, w, off)
			}
			c.correct(t, v, &b)
			if off := worstError(t, rec, b, 10, 3000); off > tenth {
				t.Errorf("%s, %v: after correction the error is %.2g", c.name, w, off)
			}
		}
	}
}

func calibrate(t *testing.T, k Known, b bench.Bench) *bench.Calibration {
	t.Helper()
	c, err := Calibrate(k, b)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// All errors at once, corrected by open, short and load; a second resistor is
// the independent check; the calibration survives its file.
func TestOpenShortLoad(t *testing.T) {
	for _, w := range []bench.Wiring{bench.ResistorFirst, bench.DriverFirst, bench.Probes} {
		v := fixture(w)
		b := bench.Bench{Wiring: w, Resistor: 10}
		rec := benchtop.Record(t, v, benchtop.QuickSweep)
		if off := worstError(t, rec, b, 10, 3000); off < 0.03 {
			t.Errorf("%v: the errors amount to %.2g only", w, off)
		}
		k := Known{Open: on(t, v, 1e9), Short: on(t, v, 0), Load: on(t, v, 22), LoadOhm: 22, LoadTolerance: 0.001,
			Check: on(t, v, 6.8), CheckOhm: 6.8}
		c := calibrate(t, k, b)
		if math.Abs(c.Check.Error()) > 1e-3 || c.Check.Worst > 5e-3 {
			t.Errorf("%v: the second resistor is %.2g off in the mean and %.2g at %.0f Hz", w, c.Check.Error(), c.Check.Worst, c.Check.At)
		}
		var file bytes.Buffer
		if err := c.Write(&file); err != nil {
			t.Fatal(err)
		}
		again, err := bench.ReadCalibration(&file, "calibration.json")
		if err != nil {
			t.Fatal(err)
		}
		b.Calibration = again
		if off := worstError(t, rec, b, 10, 3000); off > 1e-3 {
			t.Errorf("%v: after correction the error is %.2g", w, off)
		}
		z, err := Measure(rec, b)
		if err != nil {
			t.Fatal(err)
		}
		sources := map[string]bool{}
		for _, s := range z.Systematic {
			sources[s.Source] = true
		}
		if sources["resistor"] || sources["channels"] || !sources["calibration resistor"] {
			t.Errorf("%v: systematic errors %v", w, sources)
		}
	}
}

// A wrong value of the check resistor is found.
func TestCheckResistorTellsAnError(t *testing.T) {
	v := fixture(bench.ResistorFirst)
	k := Known{Open: on(t, v, 1e9), Short: on(t, v, 0), Load: on(t, v, 22), LoadOhm: 22, Check: on(t, v, 6.8), CheckOhm: 7}
	c := calibrate(t, k, bench.Bench{Wiring: bench.ResistorFirst, Resistor: 10})
	if got := c.Check.Error(); math.Abs(got+0.0286) > 2e-3 {
		t.Errorf("6.8 ohm taken for 7 ohm: error %.4f, want -0.0286", got)
	}
}

func TestCalibrateRefusals(t *testing.T) {
	v := fixture(bench.ResistorFirst)
	b := bench.Bench{Wiring: bench.ResistorFirst, Resistor: 10}
	driver := benchtop.Record(t, v, benchtop.QuickSweep)
	for name, c := range map[string]struct {
		known Known
		code  string
	}{
		"nothing":       {Known{}, "calibration-empty"},
		"no value":      {Known{Load: driver}, "calibration-value"},
		"not one point": {Known{Channels: driver}, "calibration-channels"},
		"not open":      {Known{Open: driver}, "calibration-open"},
		"not short":     {Known{Short: driver}, "calibration-short"},
		"wrong load":    {Known{Load: on(t, v, 22), LoadOhm: 68}, "calibration-load"},
	} {
		got, err := Calibrate(c.known, b)
		if n := testfiles.CheckNotice(t, err); got != nil || n.Code != c.code {
			t.Errorf("%s: %v, %v, want %s", name, got, err, c.code)
		}
	}
	c := calibrate(t, Known{Short: on(t, v, 0)}, b)
	other := bench.Bench{Wiring: bench.DriverFirst, Resistor: 10, Calibration: c}
	_, err := Measure(driver, other)
	if n := testfiles.CheckNotice(t, err); n.Code != "calibration-bench" {
		t.Errorf("calibration of another bench: %v", err)
	}
}

func TestReadCalibrationRefusals(t *testing.T) {
	for _, c := range [][2]string{
		{"calibration-not", ""},
		{"calibration-not", "hello"},
		{"calibration-schema", `{"schema":"conewright/fit/1"}`},
		{"calibration-wiring", `{"schema":"conewright/calibration/1","wiring":"loose","resistor_ohm":10}`},
		{"calibration-resistor", `{"schema":"conewright/calibration/1","wiring":"probes"}`},
		{"calibration-lengths", `{"schema":"conewright/calibration/1","wiring":"probes","resistor_ohm":10,"short_ohm":{"freq_hz":[1,2],"re":[1],"im":[0],"std":[1]}}`},
		{"calibration-order", `{"schema":"conewright/calibration/1","wiring":"probes","resistor_ohm":10,"short_ohm":{"freq_hz":[2,1],"re":[1,1],"im":[0,0],"std":[1,1]}}`},
		{"calibration-noise", `{"schema":"conewright/calibration/1","wiring":"probes","resistor_ohm":10,"short_ohm":{"freq_hz":[1,2],"re":[1,1],"im":[0,0],"std":[0,1]}}`},
		{"calibration-lengths", `{"schema":"conewright/calibration/1","wiring":"probes","resistor_ohm":10,"short_ohm":{"freq_hz":[],"re":[],"im":[],"std":[]}}`},
	} {
		got, err := bench.ReadCalibration(strings.NewReader(c[1]), "c.json")
		if n := testfiles.CheckNotice(t, err); got != nil || n.Code != c[0] || n.File != "c.json" {
			t.Errorf("%v, %v, want %s", got, err, c[0])
		}
	}
}
