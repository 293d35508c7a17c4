//go:build outside

package sweeps

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/wav"
	"conewright/sweeps/signal"
)

// What sox does to a recording as a whole leaves the impedance as it is, within
// the noise of the recording and what sox's own dither adds to it.
func TestOutsideSoxEffects(t *testing.T) {
	v := benchtop.BenchTop()
	v.Flaws.Noise = [2]float64{1e-5, 1e-5}
	rec := benchtop.Record(t, v, signal.Signal{Kind: signal.ExponentialSweep, Rate: 48000, Hi: 8000, Duration: 8, Level: 0.4})
	dir := t.TempDir()
	path := filepath.Join(dir, "in.wav")
	a, b := make([]float64, rec.Frames), make([]float64, rec.Frames)
	if err := rec.Read(a, b, 0); err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := wav.Write(f, a, b, 48000); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string][]string{
		"gain":             {"OUT", "gain", "-3.7"},
		"delay of both":    {"OUT", "pad", "0.777"},
		"resampling up":    {"-r", "96000", "OUT"},
		"resampling down":  {"-r", "44100", "OUT"},
		"dither to 16 bit": {"-b", "16", "OUT", "dither"},
		"float":            {"-e", "floating-point", "-b", "32", "OUT"},
	} {
		out := filepath.Join(dir, "out.wav")
		command := []string{path}
		for _, s := range args {
			if s == "OUT" {
				s = out
			}
			command = append(command, s)
		}
		if text, err := exec.Command("sox", command...).CombinedOutput(); err != nil {
			t.Fatal(name, err, string(text))
		}
		z, err := readFile(out, Options{Bench: v.Bench})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if off := worst(z.Freq, z.Z, 10, 7000); off > 2e-3 || z.Len() < 350 {
			t.Errorf("%s: %d points, error %.2g", name, z.Len(), off)
		}
	}
}
