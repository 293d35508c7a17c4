package virtual

import (
	"conewright/sweeps/bench"
	"conewright/ts/notice"
)

// mostSamples bounds the memory of a recording: 2 GB for each of its channels.
const mostSamples = 1 << 28

// check refuses what cannot be played or recorded. The bounds of the flaws lie far
// outside of what a bench does; they keep memory and time bounded.
func (v Bench) check(signal []float64, rate int) error {
	switch {
	case v.Driver != nil:
		if err := v.Driver.check(); err != nil {
			return err
		}
		if v.Flaws.InputResistance != 0 || v.Flaws.Quadratic != 0 || v.Flaws.Cubic != 0 {
			return notice.New("virtual-flaw-in-time", nil)
		}
	case v.Z == nil:
		return notice.New("virtual-driver", nil)
	}
	if err := v.Bench.Check(); err != nil {
		return err
	}
	if len(signal) == 0 || rate < 1000 || rate > 2_000_000 {
		return notice.New("virtual-signal", notice.Facts{"samples": len(signal), "rate": rate})
	}
	if err := bench.Sound(signal, signal, 0, "virtual-bench"); err != nil {
		return err
	}
	fl := v.Flaws
	const hour = 3600
	for _, f := range []struct {
		name   string
		values []float64
		lo, hi float64 // both included
	}{
		{"gain", fl.Gain[:], -1e3, 1e3},
		{"delay", fl.Delay[:], -1, 1},
		{"noise", []float64{fl.Noise[0], fl.Noise[1], fl.CommonNoise}, 0, 1e3},
		{"hum", fl.Hum[:], -1e3, 1e3},
		{"mains-frequency", []float64{fl.HumHz}, 0, 1e3},
		{"offset", fl.Offset[:], -1e3, 1e3},
		{"time", []float64{fl.Latency, fl.After, fl.CutStart, fl.CutEnd}, 0, hour},
		{"clock", []float64{fl.Clock}, -0.5, 1},
		{"bits", []float64{float64(fl.Bits)}, 0, 64},
		{"clipping", []float64{fl.Clip, fl.SoftClip[0], fl.SoftClip[1]}, 0, 1e3},
		{"input-resistance", []float64{fl.InputResistance}, 0, 1e15},
		{"output-resistance", []float64{fl.OutputResistance}, 0, 1e6},
		{"resistor-error", []float64{fl.ResistorError}, -0.99, 1e3},
		{"level-step", []float64{fl.LevelStep}, -1e3, 1e3},
		{"openings", []float64{float64(fl.Openings)}, 0, 1e5},
		{"distortion", []float64{fl.Quadratic, fl.Cubic, fl.AmplifierQuadratic, fl.AmplifierCubic}, -1e3, 1e3},
	} {
		for _, x := range f.values {
			if !(x >= f.lo && x <= f.hi) {
				return notice.New("virtual-flaw", notice.Facts{"flaw": f.name, "value": x, "low": f.lo, "high": f.hi})
			}
		}
	}
	if n := float64(len(signal)) + (fl.Latency+fl.After+settle)*float64(rate); n > mostSamples {
		return notice.New("virtual-long", notice.Facts{"samples": n, "most": float64(mostSamples)})
	}
	return nil
}
