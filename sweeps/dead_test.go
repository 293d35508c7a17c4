package sweeps

import (
	"math"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/testfiles"
	"conewright/sweeps/signal"
)

// An input that is not connected still records its own noise.
func TestCheckDeadChannelWithNoise(t *testing.T) {
	for i, db := range []float64{-100, -90, -80, -70, -60} {
		for j, kind := range []signal.Kind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise} {
			for dead := range 2 {
				v := benchtop.BenchTop()
				v.Bench.Wiring = bench.Wiring((i + j) % 3)
				v.Bench.SwapChannels = i%2 == 1
				v.Flaws.Swapped = v.Bench.SwapChannels
				noise := math.Pow(10, db/20)
				v.Flaws.Bits, v.Flaws.Dead[dead], v.Flaws.Noise = 24, true, [2]float64{noise, noise}
				if j == 2 { // nothing but signal: no pause tells the two apart
					v.Flaws.CutStart, v.Flaws.CutEnd = 1.3, 1.3
				}
				s := benchtop.QuickSweep
				s.Kind, s.Period = kind, 1
				_, err := Measure(benchtop.Record(t, v, s), v.Bench)
				if n := testfiles.CheckNotice(t, err); n.Code != "channel-silent" && n.Code != "channel-noise" || n.Int("channel") != dead+1 {
					t.Errorf("%v, %v, channel %d dead with noise at %g dB: %v", kind, v.Bench.Wiring, dead+1, db, err)
				}
			}
		}
	}
}

// An input that is not connected records a trace of the other through the
// interface.
func TestCheckLeakingChannel(t *testing.T) {
	for dead := range 2 {
		for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise} {
			v := benchtop.BenchTop()
			v.Flaws.Noise, v.Flaws.Bits = [2]float64{1e-6, 1e-6}, 24
			s := benchtop.QuickSweep
			s.Kind, s.Period = kind, 1
			rec := benchtop.Record(t, v, s)
			ch := [2][]float64{make([]float64, rec.Frames), make([]float64, rec.Frames)}
			if err := rec.Read(ch[0], ch[1], 0); err != nil {
				t.Fatal(err)
			}
			for i := range ch[dead] {
				ch[dead][i] = 1e-3 * ch[1-dead][i]
			}
			leaky, err := bench.NewRecording(ch[0], ch[1], rec.Rate, "leaky")
			if err != nil {
				t.Fatal(err)
			}
			_, err = Measure(leaky, v.Bench)
			if n := testfiles.CheckNotice(t, err); n.Code != "channel-trace" || n.Int("channel") != dead+1 {
				t.Errorf("%v, channel %d: %v", kind, dead+1, err)
			}
		}
	}
}

// Two channels that both record something, but not the same: none of them is
// dead, even where one is quieter.
func TestCheckUnrelatedChannels(t *testing.T) {
	record := func(kind signal.Kind, level float64, pause bool) []float64 {
		s := benchtop.QuickSweep
		s.Kind, s.Level, s.Period, s.Seed = kind, level, 1, 3
		v := benchtop.BenchTop()
		v.Seed = uint64(kind)
		rec := benchtop.Record(t, v, s)
		x := make([]float64, rec.Frames)
		if err := rec.Read(x, make([]float64, rec.Frames), 0); err != nil {
			t.Fatal(err)
		}
		n := int(7 * rec.Rate)
		if pause {
			return x[:n]
		}
		return x[len(x)-n-int(1.2*rec.Rate):][:n]
	}
	for _, pause := range []bool{true, false} {
		for _, c := range []struct {
			a, b    signal.Kind
			quieter float64
		}{{signal.ExponentialSweep, signal.PinkNoise, 0.5}, {signal.PinkNoise, signal.Multitone, 0.5}, {signal.Multitone, signal.ExponentialSweep, 0.1}, {signal.PinkNoise, signal.ExponentialSweep, 0.05}} {
			rec, err := bench.NewRecording(record(c.a, 0.5, pause), record(c.b, c.quieter, pause), 16000, "unrelated")
			if err != nil {
				t.Fatal(err)
			}
			if got := codes(rec, bench.Bench{Resistor: 10}); len(got) != 1 || got[0] != "no-signal" {
				t.Errorf("%v and %v: %v", c.a, c.b, got)
			}
		}
	}
}

// One channel may be far quieter than the other with nothing wrong: the node of
// a divider with a large resistor, the voltage across a small one.
func TestCheckQuietChannelIsNotDead(t *testing.T) {
	for _, c := range []struct {
		wiring   bench.Wiring
		resistor float64
	}{{bench.ResistorFirst, 1000}, {bench.DriverFirst, 0.1}, {bench.Probes, 0.05}} {
		for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise} {
			for _, level := range []float64{0.5, 0.02} {
				v := benchtop.BenchTop()
				v.Bench.Wiring, v.Bench.Resistor = c.wiring, c.resistor
				v.Flaws.Noise, v.Flaws.Bits = [2]float64{1e-6, 1e-6}, 24
				s := benchtop.QuickSweep
				s.Kind, s.Level, s.Period = kind, level, 1
				m, err := Measure(benchtop.Record(t, v, s), v.Bench)
				if err != nil {
					t.Errorf("%v, %v, %g ohm, level %g: %v", kind, c.wiring, c.resistor, level, err)
					continue
				}
				for _, w := range m.Warnings {
					if w.Code != "noisy" {
						t.Errorf("%v, %v, %g ohm, level %g: %v", kind, c.wiring, c.resistor, level, w)
					}
				}
			}
		}
	}
}
