package sweeps

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/testfiles"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"

	"pgregory.net/rapid"
)

// extreme draws numbers that callers hand over by mistake, and some good ones.
var extreme = rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 1, -1, 0.01, 10, 48000, 1e9, -1e9, 1e300, -1e300, 1e-300,
	math.MaxFloat64, math.SmallestNonzeroFloat64, math.NaN(), math.Inf(1), math.Inf(-1)})

// mostly draws v, and now and then something extreme.
func mostly(t *rapid.T, v float64, label string) float64 {
	if rapid.IntRange(0, 9).Draw(t, label+"?") > 0 {
		return v
	}
	return extreme.Draw(t, label)
}

func anyBench(t *rapid.T) bench.Bench {
	b := bench.Bench{
		Wiring:            bench.Wiring(rapid.SampledFrom([]uint8{0, 1, 2, 2, 1, 0, 3, 9, 255}).Draw(t, "wiring")),
		Resistor:          mostly(t, 10, "resistor"),
		ResistorTolerance: mostly(t, 0.01, "tolerance"),
		Leads:             mostly(t, 0.1, "leads"),
		LeadsStd:          mostly(t, 0, "leads std"),
		InputResistance:   mostly(t, 0, "input"),
		FullScale:         mostly(t, 2, "full scale"),
		ChannelTolerance:  mostly(t, 0, "channels"),
		SwapChannels:      rapid.Bool().Draw(t, "swap"),
	}
	if rapid.IntRange(0, 3).Draw(t, "calibrated") == 0 {
		b.Calibration = anyCalibration(t)
	}
	return b
}

func anyCalibration(t *rapid.T) *bench.Calibration {
	curve := func(v complex128) (c bench.Curve) {
		for range rapid.IntRange(0, 3).Draw(t, "points") {
			f := 20.0
			if n := len(c.Freq); n > 0 {
				f = 2 * c.Freq[n-1]
			}
			c.Freq = append(c.Freq, mostly(t, f, "frequency"))
			c.Value = append(c.Value, v*complex(mostly(t, 1, "re"), mostly(t, 0.01, "im")))
			c.Std = append(c.Std, mostly(t, 1e-3, "std"))
		}
		if rapid.IntRange(0, 9).Draw(t, "cut") == 0 && len(c.Value) > 0 {
			c.Value = c.Value[1:]
		}
		return c
	}
	return &bench.Calibration{Wiring: bench.Wiring(rapid.SampledFrom([]uint8{0, 1, 2, 9}).Draw(t, "wiring")), Resistor: mostly(t, 10, "resistor"),
		Channels: curve(1), Open: curve(1e-6), Short: curve(0.01), Load: curve(22), LoadOhm: mostly(t, 22, "load"), LoadTolerance: mostly(t, 0.01, "tolerance")}
}

// anyRecording draws two channels that may be anything, from silence to a driver.
func anyRecording(t *rapid.T) (*bench.Recording, error) {
	n := rapid.SampledFrom([]int{0, 1, 2, 7, 100, 3000, 20000}).Draw(t, "samples")
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	shapes := []func(i int) float64{
		func(int) float64 { return 0 },
		func(int) float64 { return 0.3 },
		func(i int) float64 { return 0.5 * math.Sin(0.03*float64(i)) },
		func(i int) float64 { return 0.5 * math.Sin(1e-6*float64(i)*float64(i)) },
		func(int) float64 { return rng.NormFloat64() },
		func(i int) float64 { return float64(i%2*2-1) * 1e9 },
		func(i int) float64 { return math.Ldexp(1, -1000) * float64(i) },
		func(i int) float64 { return math.Floor(float64(i%500) / 499) },
	}
	var ch [2][]float64
	for c := range ch {
		shape := rapid.SampledFrom(shapes).Draw(t, "shape")
		scale := mostly(t, 1, "scale")
		for i := range n {
			ch[c] = append(ch[c], scale*shape(i))
		}
		if n > 0 && rapid.IntRange(0, 5).Draw(t, "one") == 0 {
			ch[c][rapid.IntRange(0, n-1).Draw(t, "at")] = extreme.Draw(t, "sample")
		}
	}
	if n > 0 && rapid.IntRange(0, 9).Draw(t, "lengths") == 0 {
		ch[1] = ch[1][1:]
	}
	return bench.NewRecording(ch[0], ch[1], mostly(t, 8000, "rate"), "x.drawn")
}

// Whatever is handed over, the answer is a sound sweep or a notice, and never a panic.
func TestPropertyMeasure(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		rec, err := anyRecording(r)
		if err != nil {
			testfiles.CheckNotice(t, err)
			return
		}
		m, err := Measure(rec, anyBench(r))
		if err != nil {
			testfiles.CheckFailure(t, m, err)
			return
		}
		testfiles.CheckSound(t, m)
	})
}

// The same of a good recording on any bench.
func TestPropertyBench(t *testing.T) {
	rec := benchtop.Record(t, benchtop.BenchTop(), signal.Signal{Rate: 8000, Lo: 10, Hi: 3000, Duration: 2})
	measured := 0
	rapid.Check(t, func(r *rapid.T) {
		b := anyBench(r)
		z, err := Measure(rec, b)
		if err != nil {
			testfiles.CheckFailure(t, z, err)
			return
		}
		measured++
		testfiles.CheckSound(t, z)
	})
	t.Logf("%d benches were good", measured)
	if measured == 0 && !testing.Short() { // twenty draws, as in short tests, may all be bad
		t.Error("no bench was good")
	}
}

func TestPropertyCalibrate(t *testing.T) {
	good := benchtop.Record(t, benchtop.BenchTop(), signal.Signal{Rate: 8000, Lo: 10, Hi: 3000, Duration: 2})
	rapid.Check(t, func(r *rapid.T) {
		pick := func(label string) *bench.Recording {
			switch rapid.IntRange(0, 4).Draw(r, label) {
			case 0:
				return good
			case 1:
				return &bench.Recording{}
			}
			return nil
		}
		k := Known{Channels: pick("channels"), Open: pick("open"), Short: pick("short"), Load: pick("load"), Check: pick("check"),
			LoadOhm: mostly(r, 22, "ohm"), LoadTolerance: mostly(r, 0.01, "tolerance"), CheckOhm: mostly(r, 6.8, "check ohm")}
		c, err := Calibrate(k, anyBench(r))
		if err != nil {
			if c != nil {
				t.Error("a calibration beside an error")
			}
			testfiles.CheckNotice(t, err)
		}
	})
}

func TestPropertySignalAndVirtualBench(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		whole := rapid.SampledFrom([]int{0, 8000, 8000, 8000, -1, 7999, math.MaxInt, math.MinInt})
		s := signal.Signal{Kind: signal.Kind(rapid.SampledFrom([]uint8{0, 1, 2, 7}).Draw(r, "kind")), Rate: whole.Draw(r, "rate"),
			Lo: mostly(r, 10, "lo"), Hi: mostly(r, 3000, "hi"), Duration: mostly(r, 1, "duration"), Level: mostly(r, 0.5, "level"),
			Fade: mostly(r, 0.02, "fade"), Period: mostly(r, 0.2, "period")}
		x, err := s.Samples()
		if err != nil {
			testfiles.CheckNotice(t, err)
			x = []float64{0, 0.5, extreme.Draw(r, "sample")}
		}
		for _, v := range x {
			if err == nil && !(math.Abs(v) <= 1) {
				t.Fatalf("%+v has a sample of %v", s, v)
			}
		}
		pair := func(label string) [2]float64 { return [2]float64{mostly(r, 0, label), mostly(r, 0, label)} }
		v := virtual.Bench{Z: benchtop.Larch.Impedance, Bench: anyBench(r), Flaws: virtual.Flaws{
			Gain: pair("gain"), Delay: pair("delay"), Noise: pair("noise"), CommonNoise: mostly(r, 0, "common"), Hum: pair("hum"), HumHz: mostly(r, 0, "mains"),
			Offset: pair("offset"), Latency: mostly(r, 0, "latency"), After: mostly(r, 0, "after"), Clock: mostly(r, 0, "clock"), CutStart: mostly(r, 0, "cut"), CutEnd: mostly(r, 0, "cut"),
			Bits: rapid.SampledFrom([]int{0, 0, 1, 24, 64, -1, math.MaxInt}).Draw(r, "bits"), Clip: mostly(r, 0, "clip"), SoftClip: pair("soft-clip"), InputResistance: mostly(r, 0, "input"),
			ResistorError: mostly(r, 0, "resistor"), LevelStep: mostly(r, 0, "step"), Openings: rapid.SampledFrom([]int{0, 0, 3, -1, math.MaxInt}).Draw(r, "openings"),
			Quadratic: mostly(r, 0, "quadratic"), Cubic: mostly(r, 0, "cubic"),
		}}
		rec, err := v.Record(x, whole.Draw(r, "rate"))
		if err != nil {
			testfiles.CheckNotice(t, err)
			return
		}
		if err := rec.Check(); err != nil {
			t.Error(err)
		}
	})
}

func TestPropertyWriteWAV(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		ch := func(label string) []float64 {
			return rapid.SliceOfN(rapid.Custom(func(r *rapid.T) float64 { return mostly(r, 0.5, label) }), 0, 5).Draw(r, label)
		}
		var w testfiles.MemoryFile
		a, b := ch("a"), ch("b")
		if err := WriteWAV(&w, a, b, rapid.SampledFrom([]int{48000, 48000, 0, -1, math.MaxInt}).Draw(r, "rate")); err != nil {
			testfiles.CheckNotice(t, err)
			return
		}
		if rec, err := ReadRecording(bytes.NewReader(w.Bytes()), int64(w.Len()), "x.wav"); err != nil || rec.Frames != len(a) {
			t.Errorf("written and not read: %v", err)
		}
	})
}

// What is not there at all.
func TestNothing(t *testing.T) {
	for name, try := range map[string]func() error{
		"nil recording":        func() error { _, err := Measure(nil, bench.Bench{Resistor: 10}); return err },
		"zero recording":       func() error { _, err := Measure(&bench.Recording{}, bench.Bench{Resistor: 10}); return err },
		"read nothing":         func() error { return (&bench.Recording{}).Read(nil, nil, 0) },
		"read outside":         func() error { return sweepOfZeros(t).Read(make([]float64, 2), make([]float64, 2), 7) },
		"read two lengths":     func() error { return sweepOfZeros(t).Read(make([]float64, 2), make([]float64, 1), 0) },
		"stream of nothing":    func() error { _, err := bench.Stream(nil, 10, 48000, ""); return err },
		"zero bench":           func() error { _, err := Measure(sweepOfZeros(t), bench.Bench{}); return err },
		"zero virtual bench":   func() error { _, err := virtual.Bench{}.Record([]float64{1}, 48000); return err },
		"nothing to calibrate": func() error { _, err := Calibrate(Known{}, bench.Bench{Resistor: 10}); return err },
		"file of no size":      func() error { _, err := Read(nil, 0, "", Options{}); return err },
		"file that is none":    func() error { _, err := Read(nil, 99, "", Options{}); return err },
		"recording of none":    func() error { _, err := ReadRecording(nil, 99, ""); return err },
		"file of less":         func() error { _, err := Read(bytes.NewReader(nil), -5, "", Options{}); return err },
		"file of more":         func() error { _, err := Read(bytes.NewReader(nil), 500, "", Options{}); return err },
		"a point of a part":    func() error { return sweepOfZeros(t).Part(5, 100).Read(make([]float64, 50), make([]float64, 50), 0) },
		"no such wiring":       func() error { _, err := Measure(sweepOfZeros(t), bench.Bench{Wiring: 9, Resistor: 10}); return err },
		"zero calibration":     func() error { return bench.Bench{Resistor: 10, Calibration: &bench.Calibration{}}.Check() },
		"too large a sample":   func() error { _, err := bench.NewRecording([]float64{1e10}, []float64{0}, 48000, ""); return err },
		"a rate of nothing":    func() error { _, err := bench.NewRecording([]float64{1}, []float64{0}, math.NaN(), ""); return err },
		"channels of nothing":  func() error { _, err := bench.NewRecording(nil, nil, 48000, ""); return err },
	} {
		t.Run(name, func(t *testing.T) { testfiles.CheckNotice(t, try()) })
	}
	if got := bench.Wiring(9).String(); got != "Wiring(9)" {
		t.Errorf("wiring 9 is %q", got)
	}
}

func sweepOfZeros(t *testing.T) *bench.Recording {
	t.Helper()
	rec, err := bench.NewRecording(make([]float64, 8), make([]float64, 8), 48000, "zeros")
	if err != nil {
		t.Fatal(err)
	}
	return rec
}
