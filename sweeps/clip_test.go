package sweeps

import (
	"math"
	"slices"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/virtual"
	"conewright/ts/measured"
)

// clipsSoftly returns the channel that is said to clip softly, 0 for none, and the loss of gain.
func clipsSoftly(z measured.Impedance) (channel int, loss float64) {
	for _, w := range z.Warnings {
		if w.Code == "soft-clipping" {
			return w.Int("channel"), w.Num("loss")
		}
	}
	return 0, 0
}

// One input that clips softly is named with every wiring, and nothing else is. The loss of gain of x - k x^3 is
// 3 k A^2/4 for a sine of the amplitude A: 1.25 % at half of full scale for k = 1/15, the amplifier's level here.
func TestSoftClippingOfOneInput(t *testing.T) {
	for _, wiring := range []bench.Wiring{bench.ResistorFirst, bench.DriverFirst, bench.Probes} {
		for c := range 2 {
			v := benchtop.BenchTop()
			v.Bench.Wiring = wiring
			v.Flaws.Bits = 24
			v.Flaws.SoftClip[c] = 1. / 15
			z, err := Measure(benchtop.Record(t, v, benchtop.QuickSweep), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			channel, loss := clipsSoftly(z)
			if channel != c+1 || len(z.Warnings) != 1 {
				t.Errorf("%v, channel %d clips: %v", wiring, c+1, z.Warnings)
			}
			if want := 0.75 / 15 * 0.25; wiring != bench.Probes && c == 0 && math.Abs(loss/want-1) > 0.15 {
				t.Errorf("%v: a loss of %.4f, want %.4f", wiring, loss, want)
			}
		}
	}
}

// Neither a clean recording nor one of a distorting amplifier or one that is clipped on both channels has one input that
// clips softly. That a distorting driver has none either is asked in sweptTone.
func TestSoftClippingNotSeenElsewhere(t *testing.T) {
	for _, c := range []struct {
		wiring bench.Wiring
		flaws  virtual.Flaws
	}{
		{bench.ResistorFirst, virtual.Flaws{}},
		{bench.DriverFirst, virtual.Flaws{AmplifierCubic: -0.2}},
		{bench.Probes, virtual.Flaws{AmplifierCubic: 0.2, AmplifierQuadratic: 0.2}},
		{bench.ResistorFirst, virtual.Flaws{AmplifierCubic: -0.2, OutputResistance: 1}},
		{bench.ResistorFirst, virtual.Flaws{Clip: 0.41}},
	} {
		v := benchtop.BenchTop()
		v.Bench.Wiring = c.wiring
		c.flaws.Noise, c.flaws.Bits = v.Flaws.Noise, 24
		v.Flaws = c.flaws
		if got := codes(benchtop.Record(t, v, benchtop.QuickSweep), v.Bench); slices.Contains(got, "soft-clipping") {
			t.Errorf("%v, %+v: %v", c.wiring, c.flaws, got)
		}
	}
}
