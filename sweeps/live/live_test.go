package live_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/live"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"
)

var sweep = signal.Signal{Rate: 48000, Hi: 8000, Duration: 10, Level: 0.1}

// run plays the sweep on the bench and returns what the watch told, each with the facts in
// words, and the curve at the end. Beside is called before each block.
func run(t *testing.T, v virtual.Bench, s signal.Signal, beside func(stream *virtual.Stream, seconds float64), spoil func(ch1, ch2 []float64, at int) ([]float64, []float64)) (told []string, w *live.Watch) {
	t.Helper()
	x, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	stream, err := v.Stream(s.Rate)
	if err != nil {
		t.Fatal(err)
	}
	w, err = live.NewWatch(s)
	if err != nil {
		t.Fatal(err)
	}
	x = slices.Concat(make([]float64, s.Rate/5), x, make([]float64, s.Rate))
	block := make([]float64, stream.Block())
	for from := 0; from < len(x) && !w.Over(); from += len(block) {
		if beside != nil {
			beside(stream, float64(from)/float64(s.Rate))
		}
		clear(block)
		copy(block, x[from:])
		ch1, ch2 := stream.Pass(block)
		if spoil != nil {
			ch1, ch2 = spoil(slices.Clone(ch1), slices.Clone(ch2), from)
		}
		for _, n := range w.Push(ch1, ch2) {
			told = append(told, n.Error())
		}
	}
	return told, w
}

// once calls do when the time comes.
func once(at float64, do func(*virtual.Stream)) func(*virtual.Stream, float64) {
	done := false
	return func(s *virtual.Stream, now float64) {
		if !done && now >= at {
			done = true
			do(s)
		}
	}
}

func TestWatchTellsFaults(t *testing.T) {
	with := func(change func(*virtual.Bench)) virtual.Bench {
		v := benchtop.BenchTop()
		v.Flaws = virtual.Flaws{Noise: [2]float64{2e-5, 2e-5}, Bits: 24}
		change(&v)
		return v
	}
	good := with(func(*virtual.Bench) {})
	for _, c := range []struct {
		name   string
		bench  virtual.Bench
		signal signal.Signal
		beside func(*virtual.Stream, float64)
		spoil  func(ch1, ch2 []float64, at int) ([]float64, []float64)
		want   []string // codes
	}{
		{name: "nothing", bench: good, signal: sweep},
		{name: "an input that is too loud", bench: with(func(v *virtual.Bench) { v.Flaws.Gain[1] = 12; v.Flaws.Clip = 1 }), signal: sweep, want: []string{"live-clipped"}},
		{name: "a contact that opens for 5 ms", bench: good, signal: sweep, beside: once(4, func(s *virtual.Stream) { s.Open(0.005) }), want: []string{"live-contact"}},
		{name: "a door that slams", bench: good, signal: sweep, beside: once(7, func(s *virtual.Stream) { s.Slam(0.003) }), want: []string{"live-shaken"}},
		{name: "hum of 60 Hz", bench: with(func(v *virtual.Bench) { v.Flaws.Hum[1] = 1e-3; v.Flaws.HumHz = 60 }), signal: sweep, want: []string{"live-hum"}},
		{name: "an input that is dead", bench: with(func(v *virtual.Bench) { v.Flaws.Dead[1] = true }), signal: sweep, want: []string{"live-silent"}},
		{name: "1024 samples lost at 20 Hz", bench: good, signal: sweep, spoil: lose(120*1024, 1024), want: []string{"live-jump"}},
		{name: "256 samples lost at 1500 Hz", bench: good, signal: sweep, spoil: lose(400*1024, 256), want: []string{"live-lost", "live-shaken"}},
		{name: "64 samples lost at 3 kHz", bench: good, signal: sweep, spoil: lose(443*1024, 64), want: []string{"live-lost"}},
	} {
		told, w := run(t, c.bench, c.signal, c.beside, c.spoil)
		codes := []string{}
		for _, s := range told {
			var code string
			fmt.Sscan(s, &code)
			codes = append(codes, code)
		}
		slices.Sort(codes)
		if !slices.Equal(codes, slices.Concat([]string{}, c.want)) {
			t.Errorf("%s: told %q, want %q", c.name, told, c.want)
		}
		if !w.Over() {
			t.Errorf("%s: the sweep does not end", c.name)
		}
	}
}

// A sweep without a fault has none in whatever blocks it comes: PulseAudio hands out 511 samples
// and then one.
func TestWatchOfUnevenBlocks(t *testing.T) {
	v := benchtop.BenchTop()
	var ch1, ch2 []float64
	run(t, v, sweep, nil, func(a, b []float64, _ int) ([]float64, []float64) {
		ch1, ch2 = append(ch1, a...), append(ch2, b...)
		return a, b
	})
	w, err := live.NewWatch(sweep)
	if err != nil {
		t.Fatal(err)
	}
	for from, n := 0, 511; from+n <= len(ch1); from, n = from+n, 512-n {
		for _, found := range w.Push(ch1[from:from+n], ch2[from:from+n]) {
			t.Errorf("a good sweep in blocks of 511 and of 1: %v", found)
		}
	}
	if !w.Over() {
		t.Error("the sweep does not end")
	}
}

// lose leaves out n samples of both channels in the block that begins at the sample from.
func lose(from, n int) func(ch1, ch2 []float64, at int) ([]float64, []float64) {
	return func(ch1, ch2 []float64, at int) ([]float64, []float64) {
		if at == from {
			return ch1[n:], ch2[n:]
		}
		return ch1, ch2
	}
}

func TestWatchNamesTheMoment(t *testing.T) {
	v := benchtop.BenchTop()
	_, w := run(t, v, sweep, nil, nil)
	// 0.2 s of waiting, 512 samples of delay, 0.5 s of silence.
	if began, ok := w.Began(); !ok || math.Abs(began-0.7107) > 0.03 {
		t.Errorf("the sweep began at %.3f s, %v; want 0.711 s", began, ok)
	}
	told, _ := run(t, v, sweep, once(5.0, func(s *virtual.Stream) { s.Open(0.01) }), nil)
	var at, frequency float64
	if len(told) != 1 {
		t.Fatalf("told %q", told)
	}
	if _, err := fmt.Sscanf(told[0], "live-contact at=%g frequency=%g", &at, &frequency); err != nil || math.Abs(at-4.3) > 0.06 || math.Abs(frequency/sweep.Passing(4.3)-1) > 0.06 {
		t.Errorf("%s; want at about 4.3 s and %.1f Hz", told[0], sweep.Passing(4.3))
	}
}

// A sweep that nothing is wrong with is let alone, whatever the driver, the wiring, the level and
// the output resistance of the amplifier.
func TestWatchKeepsQuiet(t *testing.T) {
	n := 40
	if testing.Short() {
		n = 10
	}
	for i := range n {
		rng := rand.New(rand.NewPCG(uint64(i), 0x6c697665))
		v, s, words := anyBench(rng)
		if told := watched(t, v, s); len(told) > 0 {
			t.Errorf("seed %d, %s: told %q", i, words, told)
		}
	}
}

// watched returns what the watch tells of a recording.
func watched(t *testing.T, v virtual.Bench, s signal.Signal) (told []string) {
	t.Helper()
	v.Flaws.Latency, v.Flaws.After = 0.3, 0.5
	rec := benchtop.Record(t, v, s)
	w, err := live.NewWatch(s)
	if err != nil {
		t.Fatal(err)
	}
	for from := 0; from < rec.Frames; from += 2000 {
		n := min(2000, rec.Frames-from)
		ch1, ch2 := make([]float64, n), make([]float64, n)
		if err := rec.Read(ch1, ch2, from); err != nil {
			t.Fatal(err)
		}
		for _, found := range w.Push(ch1, ch2) {
			told = append(told, found.Error())
		}
	}
	return told
}

// anyBench draws a good bench and a sweep.
func anyBench(rng *rand.Rand) (virtual.Bench, signal.Signal, string) {
	between := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, rng.Float64()) }
	fs, qes := between(16, 150), between(0.2, 1)
	d := driver.Driver{Re: between(3, 14), BL: 10, Rms: 1, Coil: driver.LossyCoil{K: between(0.002, 0.05), N: between(0.5, 0.9)}, Creep: 0.15 * rng.Float64()}
	d.Mms = qes * d.BL * d.BL / (2 * math.Pi * fs * d.Re)
	d.Cms = 1 / (math.Pow(2*math.Pi*fs, 2) * d.Mms)
	d.Rms = 2 * math.Pi * fs * d.Mms / between(2, 15)
	out := 0.0
	if rng.IntN(3) == 0 {
		out = between(1, 60) // ohm of a headphone output
	}
	resistor := between(5, 100)
	z := func(f float64) complex128 { return d.Impedance(f) }
	v := virtual.Bench{Z: z, Bench: bench.Bench{Wiring: bench.Wiring(rng.IntN(3)), Resistor: resistor}, Seed: rng.Uint64(),
		Flaws: virtual.Flaws{Noise: [2]float64{1e-5, 1e-5}, Offset: [2]float64{2e-4, -3e-4}, Bits: 24, Gain: [2]float64{0, 0.01}, Quadratic: 0.02 * rng.Float64(), Cubic: 0.05 * rng.Float64()}}
	s := signal.Signal{Rate: []int{44100, 48000, 96000}[rng.IntN(3)], Hi: 15000, Duration: between(8, 14), Level: between(0.003, 0.3)}
	words := fmt.Sprintf("%v, %.1f ohm, output %.1f ohm, Fs %.1f Hz, level %.4f, %.1f s at %d Hz", v.Bench.Wiring, resistor, out, fs, s.Level, s.Duration, s.Rate)
	v.Flaws.OutputResistance = out
	return v, s, words
}

func TestCurveGrows(t *testing.T) {
	v := benchtop.BenchTop()
	v.Flaws.Noise = [2]float64{2e-5, 2e-5}
	s := signal.Signal{Rate: 48000, Duration: 12, Level: 0.2}
	x, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	rec := benchtop.Record(t, v, s)
	ch1, ch2 := make([]float64, rec.Frames), make([]float64, rec.Frames)
	if err := rec.Read(ch1, ch2, 0); err != nil {
		t.Fatal(err)
	}
	curve, err := live.NewCurve(v.Bench, s, s.Rate)
	if err != nil {
		t.Fatal(err)
	}
	const began, step = 0.6, 4800
	last := 0.0
	for from := 0; from+step <= len(x); from += step {
		curve.Push(ch1[from:from+step], ch2[from:from+step])
		z, err := curve.Impedance(began)
		if err != nil {
			t.Fatal(err)
		}
		passing := s.Passing(float64(from+step)/48000 - began)
		for i, f := range z.Freq {
			// Rounding and what still rings may be off by a little more than noise.
			want := benchtop.Larch.Impedance(f)
			if off := cmplx.Abs(z.Z[i] - want); off > 8*z.Sigma[i]+0.01*cmplx.Abs(want) {
				t.Errorf("at %.1f s: %.2f ohm off at %.1f Hz, said to be good to %.2f", float64(from)/48000, off, f, z.Sigma[i])
			}
		}
		if z.Len() == 0 {
			continue
		}
		tip := z.Freq[z.Len()-1]
		if tip > passing {
			t.Errorf("the curve is at %.1f Hz when the sweep passes %.1f Hz", tip, passing)
		}
		if passing > 30 && passing < s.Defaults().Hi && tip < passing/1.25 {
			t.Errorf("the curve is at %.1f Hz when the sweep passes %.1f Hz", tip, passing)
		}
		last = tip
		if passing > 8 && passing < 15000 {
			now, ok := curve.Tip(passing)
			// It has not rung out: a tenth away from the resonance, a third at it.
			want, most := benchtop.Larch.Impedance(passing), 0.1
			if passing > 20 && passing < 80 {
				most = 0.35
			}
			if off := cmplx.Abs(now/want - 1); !ok || off > most {
				t.Errorf("at %.1f Hz: %.2f ohm now, %v, want %.2f", passing, now, ok, want)
			}
		}
	}
	if last < 19000 {
		t.Errorf("the curve ends at %.0f Hz", last)
	}
}
