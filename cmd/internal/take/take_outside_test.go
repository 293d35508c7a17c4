//go:build outside

package take_test

import (
	"math"
	"testing"

	"conewright/cmd/internal/sound"
	"conewright/cmd/internal/soundserver"
	"conewright/cmd/internal/take"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// truth are the values of the woofer: Fs = 1/(2 pi sqrt(Mms Cms)), Qms = 2 pi Fs Mms/Rms,
// Qes = 2 pi Fs Mms Re/BL^2.
func truth() map[param.ID]float64 {
	omega := 1 / math.Sqrt(woofer.Mms*woofer.Cms)
	return map[param.ID]float64{param.Re: woofer.Re, param.Fs: omega / (2 * math.Pi),
		param.Qms: omega * woofer.Mms / woofer.Rms, param.Qes: omega * woofer.Mms * woofer.Re / (woofer.BL * woofer.BL)}
}

// A sweep through PulseAudio gives the values of the driver behind it within 0.1 %.
func TestOutsidePulseAudioChain(t *testing.T) {
	soundserver.Pulse(t, virtual.Bench{Z: woofer.Impedance, Bench: bench.Bench{Resistor: 10}}, 48000)
	isWoofer(t, "", "")
}

// The same through PipeWire, which speaks the protocol of PulseAudio.
func TestOutsidePipeWireChain(t *testing.T) {
	soundserver.PipeWire(t, virtual.Bench{Z: woofer.Impedance, Bench: bench.Bench{Resistor: 10}}, 48000)
	isWoofer(t, "bench_out", "bench_in.monitor")
}

// isWoofer sweeps what is behind the sound server until a sweep has nothing wrong: a busy machine
// may lose samples, which the watch must find. That sweep has to be right.
func isWoofer(t *testing.T, output, input string) {
	t.Helper()
	system, err := sound.NewPulse(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	line, err := system.Open(t.Context(), output, input)
	if err != nil {
		t.Fatal(err)
	}
	const tries = 5
	for range tries {
		took, err := take.Sweep(t.Context(), line, signal.Signal{Duration: 10, Level: 0.5}, nil)
		if err != nil {
			t.Logf("swept again: %v", err)
			continue
		}
		if len(took.Found) > 0 {
			t.Logf("swept again: %v", took.Found)
			continue
		}
		rec, err := bench.NewRecording(took.Ch1, took.Ch2, float64(took.Rate), system.Name())
		if err != nil {
			t.Fatal(err)
		}
		z, err := sweeps.Measure(rec, bench.Bench{Resistor: 10})
		if err != nil {
			t.Fatal(err)
		}
		f, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for id, want := range truth() {
			e, _ := f.Parameters.Get(id)
			t.Logf("%v is %g, %.4f %% off", id, e.Value, 100*(e.Value/want-1))
			if math.Abs(e.Value/want-1) > 1e-3 {
				t.Errorf("%v is %g, want %g; notes %v", id, e.Value, want, z.Warnings)
			}
		}
		return
	}
	t.Errorf("none of %d sweeps came through whole", tries)
}
