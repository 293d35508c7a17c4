//go:build outside

package sound

import (
	"errors"
	"math"
	"testing"

	"conewright/cmd/internal/soundserver"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts"
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

var woofer = driver.Driver{Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{K: 0.02, N: 0.7}}

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
	line := openBench(t)
	s := signal.Signal{Rate: line.Rate(), Duration: 10}
	x, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	var ch1, ch2 []float64
	err = line.Run(t.Context(), Play{Samples: x}, func(a, b []float64) error {
		ch1, ch2 = append(ch1, a...), append(ch2, b...)
		if len(ch1) > len(x)+2*line.Rate() {
			return ErrEnough
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	rec, err := bench.NewRecording(ch1, ch2, float64(line.Rate()), "PulseAudio")
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
			t.Errorf("%v is %g, want %g", id, e.Value, want)
		}
	}
}

// openBench opens the output and the input of the server that the test started.
func openBench(t *testing.T) Line {
	t.Helper()
	system, err := NewPulse(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	d, err := system.Devices(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if n := len(d.Inputs); len(d.Outputs) != 1 || n != 2 || !d.Inputs[0].Usual || !d.Inputs[1].Loop || d.Inputs[1].Usual {
		t.Errorf("the devices are %+v", d)
	}
	line, err := system.Open(t.Context(), "", "")
	if err != nil {
		t.Fatal(err)
	}
	return line
}

// What cannot measure is refused, and a device that goes away ends the run with words.
func TestOutsidePulseAudioRefuses(t *testing.T) {
	server := soundserver.Pulse(t, virtual.Bench{Z: woofer.Impedance, Bench: bench.Bench{Resistor: 10}}, 48000)
	line := openBench(t)
	system := &Pulse{}
	code := func(err error) string {
		var n *notice.Notice
		if !errors.As(err, &n) {
			t.Fatalf("%v is no notice", err)
		}
		return n.Code
	}
	if _, err := system.Open(t.Context(), "walnut", ""); code(err) != "sound-unknown-device" {
		t.Errorf("an unknown output: %v", err)
	}
	if out, err := server.Control("load-module", "module-null-sink", "sink_name=narrow", "channels=1", "channel_map=mono"); err != nil {
		t.Fatal(out)
	}
	if _, err := system.Open(t.Context(), "", "narrow.monitor"); code(err) != "sound-mono" {
		t.Errorf("an input of one channel: %v", err)
	}
	if out, err := server.Control("set-source-mute", "bench_in", "1"); err != nil {
		t.Fatal(out)
	}
	if _, err := system.Open(t.Context(), "", ""); code(err) != "sound-muted" {
		t.Errorf("a muted input: %v", err)
	}
	if out, err := server.Control("set-source-mute", "bench_in", "0"); err != nil {
		t.Fatal(out)
	}
	frames := 0
	err := line.Run(t.Context(), Play{Samples: make([]float64, 48000), Loop: true}, func(a, _ []float64) error {
		if before := frames; before < 24000 && frames+len(a) >= 24000 {
			if out, err := server.Control("unload-module", "module-pipe-source"); err != nil {
				t.Error(out)
			}
		}
		frames += len(a)
		return nil
	})
	if frames < 24000 || code(err) != "sound-gone" {
		t.Errorf("the input went away after %d frames: %v", frames, err)
	}
}
