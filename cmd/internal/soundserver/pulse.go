//go:build outside

package soundserver

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"conewright/sweeps/virtual"
)

// Server is a running sound server.
type Server struct {
	address string // for PULSE_SERVER
	dir     string
	t       *testing.T
}

// Pulse starts PulseAudio with one output and one input of two channels at rate (Hz), and
// the bench between them, and points PULSE_SERVER at it. Everything ends with the test.
func Pulse(t *testing.T, bench virtual.Bench, rate int) *Server {
	t.Helper()
	s := &Server{t: t, dir: shortDir(t)}
	s.address = "unix:" + filepath.Join(s.dir, "native")
	sink, source := filepath.Join(s.dir, "sink"), filepath.Join(s.dir, "source")
	format := fmt.Sprintf("format=float32le rate=%d channels=2", rate)
	s.start("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", "--log-level=error", "--disable-shm=yes",
		"-L", "module-native-protocol-unix auth-anonymous=1 socket="+filepath.Join(s.dir, "native"),
		"-L", "module-pipe-sink sink_name=bench_out file="+sink+" use_system_clock_for_timing=yes "+format,
		"-L", "module-pipe-source source_name=bench_in file="+source+" "+format)
	t.Setenv("PULSE_SERVER", s.address)
	s.await("bench_in")
	s.play(bench, rate, sink, source)
	return s
}

// shortDir is a folder whose name is short enough for a socket.
func shortDir(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "snd")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

// start runs a program, and those that it starts, until the test ends.
func (s *Server) start(name string, args ...string) {
	s.t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Env = append(os.Environ(), "HOME="+s.dir, "XDG_RUNTIME_DIR="+s.dir, "XDG_CONFIG_HOME="+s.dir, "XDG_STATE_HOME="+s.dir)
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if err := cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(func() {
		syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL)
		cmd.Wait()
		if s.t.Failed() && said.Len() > 0 {
			s.t.Logf("%s said: %s", name, said.String())
		}
	})
}

// Control runs pactl.
func (s *Server) Control(args ...string) (string, error) {
	cmd := exec.Command("pactl", args...)
	cmd.Env = append(os.Environ(), "PULSE_SERVER="+s.address, "HOME="+s.dir)
	out, err := cmd.CombinedOutput()
	return string(out), err
}

// await waits until the server knows a source of that name.
func (s *Server) await(source string) {
	s.t.Helper()
	for range 100 {
		if out, err := s.Control("list", "short", "sources"); err == nil && strings.Contains(out, source) {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	s.t.Fatalf("the sound server has no source %s after 10 s", source)
}

// pipeBytes is what a pipe holds, 2.7 s at 48 kHz: the server drops what does not fit, and one of
// the usual size was full when the machine was busy.
const pipeBytes = 1 << 20

// play sends what comes out of the sink through the bench into the source.
func (s *Server) play(bench virtual.Bench, rate int, sink, source string) {
	s.t.Helper()
	stream, err := bench.Stream(rate)
	if err != nil {
		s.t.Fatal(err)
	}
	in, err := os.OpenFile(sink, os.O_RDWR, 0)
	if err != nil {
		s.t.Fatal(err)
	}
	out, err := os.OpenFile(source, os.O_RDWR, 0)
	if err != nil {
		s.t.Fatal(err)
	}
	for _, pipe := range []*os.File{in, out} {
		raw, err := pipe.SyscallConn()
		if err != nil {
			s.t.Fatal(err)
		}
		raw.Control(func(fd uintptr) {
			if _, _, failed := syscall.Syscall(syscall.SYS_FCNTL, fd, syscall.F_SETPIPE_SZ, pipeBytes); failed != 0 {
				s.t.Fatalf("enlarging the pipe: %v", failed)
			}
		})
	}
	s.t.Cleanup(func() {
		in.Close()
		out.Close()
	})
	go filter(stream, in, out)
}

// filter plays the driver: float32, two channels, of which the first is heard.
func filter(stream *virtual.Stream, in io.Reader, out io.Writer) {
	const frame = 8 // bytes
	buf := make([]byte, frame*stream.Block())
	drive := make([]float64, stream.Block())
	for {
		if _, err := io.ReadFull(in, buf); err != nil {
			return
		}
		for i := range drive {
			drive[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(buf[frame*i:])))
		}
		ch1, ch2 := stream.Pass(drive)
		for i := range ch1 {
			binary.LittleEndian.PutUint32(buf[frame*i:], math.Float32bits(float32(ch1[i])))
			binary.LittleEndian.PutUint32(buf[frame*i+frame/2:], math.Float32bits(float32(ch2[i])))
		}
		if _, err := out.Write(buf); err != nil {
			return
		}
	}
}
