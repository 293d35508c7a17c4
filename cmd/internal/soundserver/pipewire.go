//go:build outside

package soundserver

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"conewright/sweeps/virtual"
)

// pipeWirePrograms are what PipeWire needs, and the Debian packages that have it.
var pipeWirePrograms = map[string]string{"pipewire": "pipewire", "pipewire-pulse": "pipewire-pulse", "wireplumber": "wireplumber",
	"dbus-run-session": "dbus-daemon", "parec": "pulseaudio-utils", "pacat": "pulseaudio-utils", "pactl": "pulseaudio-utils"}

// quantum is how many samples the server computes at a time: 0.17 s at 48 kHz, so that a busy
// machine does not lose any.
const quantum = 8192

// PipeWire starts PipeWire with its server for clients of PulseAudio, points PULSE_SERVER at it,
// and puts the bench between the output bench_out and the input bench_in.monitor. Both are sinks
// that nobody hears: a client of its own records what the first plays, and plays what comes out
// of the bench into the second, with a second of it in hand. Everything ends with the test.
func PipeWire(t *testing.T, bench virtual.Bench, rate int) *Server {
	t.Helper()
	for program, from := range pipeWirePrograms {
		if _, err := exec.LookPath(program); err != nil {
			t.Skipf("%s is not installed (Debian package %s; .ci/run programs installs it)", program, from)
		}
	}
	s := &Server{t: t, dir: shortDir(t)}
	s.address = "unix:" + filepath.Join(s.dir, "pulse", "native")
	settings := filepath.Join(s.dir, "pipewire", "pipewire.conf.d")
	if err := os.MkdirAll(settings, 0o700); err != nil {
		t.Fatal(err)
	}
	clock := fmt.Sprintf("context.properties = { default.clock.rate = %d default.clock.quantum = %[2]d default.clock.min-quantum = %[2]d default.clock.max-quantum = %[2]d }\n", rate, quantum)
	if err := os.WriteFile(filepath.Join(settings, "bench.conf"), []byte(clock), 0o600); err != nil {
		t.Fatal(err)
	}
	s.start("dbus-run-session", "--", "sh", "-c", "pipewire & wireplumber & exec pipewire-pulse")
	t.Setenv("PULSE_SERVER", s.address)
	s.await("")
	for _, sink := range []string{"bench_out", "bench_in"} {
		if out, err := s.Control("load-module", "module-null-sink", "sink_name="+sink, fmt.Sprintf("rate=%d", rate), "channels=2", "channel_map=front-left,front-right"); err != nil {
			t.Fatal(out)
		}
		s.await(sink + ".monitor")
	}
	stream, err := bench.Stream(rate)
	if err != nil {
		t.Fatal(err)
	}
	format := []string{"--raw", "--format=float32le", fmt.Sprintf("--rate=%d", rate), "--channels=2", "--channel-map=front-left,front-right"}
	in := s.client("parec", append(format, "--device=bench_out.monitor", "--latency-msec=100")...)
	out := s.client("pacat", append(format, "--device=bench_in", "--latency-msec=1000")...)
	heard, err := in.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	sounds, err := out.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	for _, cmd := range []*exec.Cmd{in, out} {
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			cmd.Process.Kill()
			cmd.Wait()
		})
	}
	go filter(stream, heard, sounds)
	return s
}

// client is a program that uses the server.
func (s *Server) client(name string, args ...string) *exec.Cmd {
	cmd := exec.Command(name, args...)
	cmd.Env = append(os.Environ(), "PULSE_SERVER="+s.address, "HOME="+s.dir)
	cmd.Stderr = os.Stderr
	return cmd
}
