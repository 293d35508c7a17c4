package sweeps

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/testfiles"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"
	"conewright/ts/notice"
)

// codes returns what a recording is refused for, or what it is warned of.
func codes(rec *bench.Recording, b bench.Bench) []string {
	m, err := Measure(rec, b)
	var n *notice.Notice
	if errors.As(err, &n) {
		return []string{n.Code}
	}
	if err != nil {
		return []string{err.Error()}
	}
	var all []string
	for _, w := range m.Warnings {
		all = append(all, w.Code)
	}
	return all
}

func TestChecksFire(t *testing.T) {
	multitone, noise := benchtop.QuickSweep, benchtop.QuickSweep
	multitone.Kind, multitone.Period = signal.Multitone, 1
	noise.Kind = signal.PinkNoise
	for _, c := range []struct {
		code   string
		signal signal.Signal
		change func(v *virtual.Bench)
	}{
		{"silence", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Dead = [2]bool{true, true}; v.Flaws.Noise = [2]float64{} }},
		{"channel-silent", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Dead[1] = true; v.Flaws.Noise = [2]float64{1e-6, 1e-6} }},
		{"channel-silent", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Dead[0] = true; v.Flaws.Noise = [2]float64{1e-7, 1e-7} }},
		{"same-signal", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Same = true }},
		{"clipped", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Clip = 0.3 }},
		{"clipped", noise, func(v *virtual.Bench) { v.Flaws.Clip = 0.2 }},
		{"clipped-slightly", noise, func(v *virtual.Bench) { v.Flaws.Clip = 0.41 }},
		{"channels-swapped", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Swapped = true }},
		{"channels-swapped", multitone, func(v *virtual.Bench) { v.Flaws.Swapped = true; v.Bench.Wiring = bench.DriverFirst }},
		{"wrong-wiring", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Swapped = true; v.Bench.Wiring = bench.Probes }},
		{"polarity", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Gain[1] = -2 }},
		{"negative-resistance", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Delay[1] = 5e-4 }},
		{"below-re", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Delay[1] = 2e-5 }},
		{"noisy", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Noise = [2]float64{0.01, 0.01} }},
		{"no-signal", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Noise = [2]float64{0.1, 0.1} }},
		{"hum", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Hum = [2]float64{3e-3, 3e-3}; v.Flaws.HumHz = 60.02 }},
		{"hum", multitone, func(v *virtual.Bench) { v.Flaws.Hum = [2]float64{1e-2, 3e-3}; v.Flaws.HumHz = 49.97 }},
		{"hum", multitone, func(v *virtual.Bench) { v.Flaws.Hum = [2]float64{1e-2, 1e-2}; v.Flaws.HumHz = 60 }}, // in step with the periods
		{"dc-offset", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Offset[0] = -0.07 }},
		{"level-changes", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.LevelStep = -0.4 }},
		{"level-changes", noise, func(v *virtual.Bench) { v.Flaws.LevelStep = 1 }},
		{"unsteady-contact", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Openings = 4 }},
		{"unsteady-contact", multitone, func(v *virtual.Bench) { v.Flaws.Openings = 3 }},
		{"unsteady-contact", noise, func(v *virtual.Bench) { v.Flaws.Openings = 60 }},
		{"distortion", multitone, func(v *virtual.Bench) { v.Flaws.Quadratic, v.Flaws.Cubic = 0.5, 1 }},
		{"level-low", benchtop.QuickSweep, func(v *virtual.Bench) { v.Flaws.Noise = [2]float64{}; v.Flaws.LevelStep = 0 }},
		{"level-high", benchtop.QuickSweep, func(v *virtual.Bench) { v.Bench.FullScale = 20 }},
		{"level-low", benchtop.QuickSweep, func(v *virtual.Bench) { v.Bench.FullScale = 0.01 }},
		{"same-signal", benchtop.QuickSweep, func(v *virtual.Bench) { v.Z = func(float64) complex128 { return 1e6 } }},
	} {
		v := benchtop.BenchTop()
		v.Flaws.Bits = 24
		c.change(&v)
		if c.code == "no-signal" {
			c.signal.Level = 0.001
		}
		if c.code == "level-low" && v.Bench.FullScale == 0 {
			c.signal.Level = 0.005
		}
		if got := codes(benchtop.Record(t, v, c.signal), v.Bench); !slices.Contains(got, c.code) {
			t.Errorf("%s, %v: got %v", c.code, c.signal.Kind, got)
		}
	}
}

// A channel may use too few steps of a converter while the other is loud enough.
func TestCheckFewSteps(t *testing.T) {
	for _, c := range []struct {
		resistor float64
		bits     int
		few      bool
	}{{400, 16, true}, {10, 16, false}, {400, 24, false}} {
		v := benchtop.BenchTop()
		v.Bench.Resistor, v.Flaws.Bits = c.resistor, c.bits
		v.Flaws.Gain, v.Flaws.Noise = [2]float64{-0.97, -0.97}, [2]float64{1e-6, 1e-6}
		got := codes(benchtop.Record(t, v, benchtop.QuickSweep), v.Bench)
		if few := len(got) == 1 && got[0] == "level-low"; few != c.few || !few && len(got) > 0 {
			t.Errorf("%g ohm, %d bit: %v", c.resistor, c.bits, got)
		}
	}
}

// The bench declared in the wrong wiring.
func TestCheckWrongWiring(t *testing.T) {
	for _, c := range [][2]bench.Wiring{{bench.ResistorFirst, bench.DriverFirst}, {bench.DriverFirst, bench.ResistorFirst}, {bench.ResistorFirst, bench.Probes}} {
		v := benchtop.BenchTop()
		v.Bench.Wiring = c[0]
		rec := benchtop.Record(t, v, benchtop.QuickSweep)
		b := v.Bench
		b.Wiring = c[1]
		_, err := Measure(rec, b)
		if n := testfiles.CheckNotice(t, err); n.Code != "wrong-wiring" || n.Text("try") != c[0].String() {
			t.Errorf("%v taken for %v: %v", c[0], c[1], err)
		}
	}
}

// Two runs in one file: before and after mass was added.
func TestCheckTwoSweeps(t *testing.T) {
	v := benchtop.BenchTop()
	a := benchtop.Record(t, v, benchtop.QuickSweep)
	v.Z = func(f float64) complex128 { return benchtop.Larch.LoadedImpedance(f, 0.02, 0) }
	b := benchtop.Record(t, v, benchtop.QuickSweep)
	join := func(a, b *bench.Recording) *bench.Recording {
		x, y := make([]float64, a.Frames+b.Frames), make([]float64, a.Frames+b.Frames)
		a.Read(x[:a.Frames], y[:a.Frames], 0)
		b.Read(x[a.Frames:], y[a.Frames:], 0)
		rec, err := bench.NewRecording(x, y, a.Rate, "joined")
		if err != nil {
			t.Fatal(err)
		}
		return rec
	}
	if got := codes(join(a, b), v.Bench); !slices.Contains(got, "two-sweeps") {
		t.Errorf("two different sweeps: %v", got)
	}
	if got := codes(join(a, a), v.Bench); len(got) != 0 {
		t.Errorf("the same sweep twice: %v", got)
	}
}

func TestCheckSampleRate(t *testing.T) {
	rec, err := bench.NewRecording(make([]float64, 1000), make([]float64, 1000), 100, "slow")
	if err != nil {
		t.Fatal(err)
	}
	if got := codes(rec, bench.Bench{Resistor: 10}); !slices.Contains(got, "sample-rate") {
		t.Errorf("got %v", got)
	}
}

// goodRecording is a sound measurement of a driver drawn by lot on a bench
// drawn by lot, with the small errors that every bench has.
func goodRecording(t testing.TB, seed uint64) (*bench.Recording, bench.Bench, string) {
	rng := rand.New(rand.NewPCG(seed, 4711))
	between := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, rng.Float64()) }
	fs, qms, qes := between(18, 120), between(2, 12), between(0.25, 1)
	d := driver.Driver{Re: between(3, 7), BL: 8, Coil: driver.LossyCoil{K: between(0.005, 0.04), N: 0.6 + 0.2*rng.Float64()}}
	w := 2 * math.Pi * fs
	d.Mms = qes * d.BL * d.BL / (w * d.Re)
	d.Cms = 1 / (w * w * d.Mms)
	d.Rms = w * d.Mms / qms
	v := virtual.Bench{Z: d.Impedance, Seed: seed, Bench: bench.Bench{Wiring: bench.Wiring(rng.IntN(3)), Resistor: between(4.7, 100), Leads: 0.05}}
	level := between(0.05, 0.9)
	v.Flaws = virtual.Flaws{
		Gain:  [2]float64{1e-3 * rng.NormFloat64(), 1e-3 * rng.NormFloat64()},
		Delay: [2]float64{2e-7 * rng.NormFloat64(), 0},
		Noise: [2]float64{between(3e-6, 3e-4) * level, between(3e-6, 3e-4) * level}, CommonNoise: 1e-5 * rng.Float64() * level,
		Offset:  [2]float64{1e-3 * rng.NormFloat64(), 1e-3 * rng.NormFloat64()},
		Latency: 2 * rng.Float64(), After: 2 * rng.Float64(), Clock: 50e-6 * rng.NormFloat64(),
		CutEnd: 0.4 * rng.Float64(), Bits: []int{16, 24}[rng.IntN(2)],
	}
	s := signal.Signal{Kind: signal.Kind(rng.IntN(3)), Rate: 16000, Hi: 7000, Duration: 8 + 6*rng.Float64(), Period: 2, Level: level, Seed: seed}
	return benchtop.Record(t, v, s), v.Bench, fmt.Sprintf("seed %d: %v, %v, fs %.0f Hz, Qms %.1f, Qes %.2f, R %.1f ohm", seed, s.Kind, v.Bench.Wiring, fs, qms, qes, v.Bench.Resistor)
}

// falseAlarms returns how many of n good recordings were refused or warned of.
func falseAlarms(t testing.TB, n int) int {
	alarms := 0
	for seed := range uint64(n) {
		rec, b, what := goodRecording(t, seed)
		if got := codes(rec, b); len(got) != 0 {
			alarms++
			t.Logf("%s: %v", what, got)
		}
	}
	return alarms
}

func TestChecksKeepQuiet(t *testing.T) {
	if n := falseAlarms(t, 15); n > 0 {
		t.Errorf("%d false alarms", n)
	}
}

// BenchmarkFalseWarnings counts warnings among 500 good recordings.
//
//	go test ./sweeps -run xxx -bench FalseWarnings -benchtime 1x
func BenchmarkFalseWarnings(b *testing.B) {
	for range b.N {
		b.ReportMetric(float64(falseAlarms(b, 500)), "alarms")
	}
}
