package sweeps

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/wav"
	"conewright/sweeps/signal"
)

// longRecording returns a WAV of the given length in seconds, 96 kHz, 24 bit,
// as a file that is not in memory.
func longRecording(tb testing.TB, kind signal.Kind, seconds float64) string {
	tb.Helper()
	v := benchtop.BenchTop()
	rec := benchtop.Record(tb, v, signal.Signal{Kind: kind, Rate: 96000, Lo: 5, Hi: 20000, Duration: seconds - 1.6})
	a, b := make([]float64, rec.Frames), make([]float64, rec.Frames)
	if err := rec.Read(a, b, 0); err != nil {
		tb.Fatal(err)
	}
	path := filepath.Join(tb.TempDir(), "long.wav")
	f, err := os.Create(path)
	if err != nil {
		tb.Fatal(err)
	}
	if err := wav.Write(f, a, b, 96000); err != nil {
		tb.Fatal(err)
	}
	if err := f.Close(); err != nil {
		tb.Fatal(err)
	}
	return path
}

// BenchmarkRecording is a recording of one minute, 96 kHz, 24 bit, from file to
// impedance.
//
//	go test ./sweeps -run xxx -bench Recording -benchmem
func BenchmarkRecording(b *testing.B) {
	for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise} {
		b.Run(fmt.Sprint(kind), func(b *testing.B) {
			path := longRecording(b, kind, 60)
			if keep := os.Getenv("KEEP_RECORDING"); keep != "" {
				if err := os.Rename(path, keep); err != nil {
					b.Fatal(err)
				}
				path = keep
			}
			b.ResetTimer()
			for range b.N {
				if _, err := readFile(path, Options{Bench: bench.Bench{Resistor: 10}}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
