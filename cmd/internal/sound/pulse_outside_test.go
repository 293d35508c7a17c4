//go:build outside

package sound

import (
	"errors"
	"testing"

	"conewright/cmd/internal/soundserver"
	"conewright/sweeps/bench"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"
	"conewright/ts/notice"
)

var woofer = driver.Driver{Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{K: 0.02, N: 0.7}}

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
