//go:build outside

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"conewright/cmd/internal/soundserver"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/virtual"
)

// onSmallDisk runs a command whose folder dir is a disk of so many megabytes, part of them
// taken by the file filler. Only that process sees the disk.
func onSmallDisk(dir string, size, filler int, name string, args ...string) *exec.Cmd {
	script := fmt.Sprintf(`mount -t tmpfs -o size=%dm small "$0" && head -c %dM /dev/zero >"$0/filler" && exec "$@"`, size, filler)
	return exec.Command("unshare", append([]string{"--map-root-user", "--mount", "sh", "-c", script, dir, name}, args...)...)
}

// whole fails where a file is no whole sweep.
func whole(t *testing.T, path string) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Error(err)
		return
	}
	rec, err := sweeps.ReadRecording(bytes.NewReader(data), int64(len(data)), path)
	if err != nil || float64(rec.Frames)/rec.Rate < pageSweep.Duration || len(rec.Warnings) > 0 {
		t.Errorf("%s is no whole sweep: %v", path, err)
	}
}

// On a full disk measure says so, leaves nothing half-written, and keeps the sweep elsewhere.
func TestOutsideMeasureOnFullDisk(t *testing.T) {
	dir, other := t.TempDir(), t.TempDir()
	cmd := onSmallDisk(dir, 2, 0, "conewright", "measure", "--virtual", "--speed", "1000", "-o", filepath.Join(dir, "before.wav"))
	cmd.Env = append(os.Environ(), "TMPDIR="+other)
	said, err := cmd.CombinedOutput()
	if err == nil || !strings.Contains(string(said), "before.wav: no space left on device; the sweep is kept as "+other) {
		t.Errorf("%v: %s", err, said)
	}
	whole(t, regexp.MustCompile(regexp.QuoteMeta(other)+`\S+wav`).FindString(string(said)))
}

// On a full disk the page says so and keeps the sweep in hand until there is room.
func TestOutsideBenchOnFullDisk(t *testing.T) {
	dir := t.TempDir()
	page := fastBench(dir)
	k := startKillable(t, onSmallDisk(dir, 9, 4, page.Args[0], page.Args[1:]...))
	k.press("bench", map[string]any{"typed": map[string]string{"resistor": "10.02 ohm"}})
	k.press("driver", map[string]any{"name": "left woofer"})
	k.press("sweep", map[string]any{"kind": "first"})
	k.until(func(v pageView) bool { return v.Run == "" && len(v.Sweeps) == 1 })
	k.press("sweep", map[string]any{"kind": "again"})
	v := k.until(func(v pageView) bool { return v.Run == "" && v.Problem != nil })
	if v.Problem == nil || !strings.Contains(v.Problem.Message, "no space left on device") || v.Problem.Hint == "" || v.Unsaved != "before-free-2-again.wav" || len(v.Sweeps) != 1 {
		t.Fatalf("the page says %+v", v)
	}
	if text := k.refused("sweep", map[string]any{"kind": "again"}); !strings.Contains(text, "job-unsaved") {
		t.Errorf("another sweep meanwhile: %q", text)
	}
	disk := filepath.Join("/proc", fmt.Sprint(k.process.Process.Pid), "root", dir)
	if err := os.Remove(filepath.Join(disk, "filler")); err != nil {
		t.Fatal(err)
	}
	k.press("save", nil)
	k.until(func(v pageView) bool { return len(v.Sweeps) == 2 && v.Unsaved == "" })
	for _, name := range []string{"before-free-1.wav", "before-free-2-again.wav"} {
		whole(t, filepath.Join(disk, "left-woofer", name))
	}
}

// Killed or stopped in mid-sweep, measure leaves no file.
func TestOutsideMeasureEnded(t *testing.T) {
	for _, end := range []os.Signal{os.Kill, os.Interrupt} {
		path := filepath.Join(t.TempDir(), "before.wav")
		cmd := exec.Command("conewright", "measure", "--virtual", "-o", path)
		var said bytes.Buffer
		cmd.Stderr = &said
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.AfterFunc(2*time.Second, func() { cmd.Process.Signal(end) })
		if err := cmd.Wait(); err == nil {
			t.Errorf("%v: it ended well", end)
		}
		if end == os.Interrupt && !strings.Contains(said.String(), "the sweep was stopped; nothing of it was written") {
			t.Errorf("it says %q", said.String())
		}
		if left, err := os.ReadDir(filepath.Dir(path)); err != nil || len(left) > 0 {
			t.Errorf("%v: it left %v, %v", end, left, err)
		}
	}
}

// pulledOut starts a sound server with the woofer of the demo behind it. What it returns pulls the
// input out some seconds later.
func pulledOut(t *testing.T) (later func()) {
	z := demoRecordings()[0].thatDay(1)
	server := soundserver.Pulse(t, virtual.Bench{Z: func(f float64) complex128 { return z.LoadedImpedance(f, 0, 0) }, Bench: bench.Bench{Resistor: virtualResistor}}, 48000)
	return func() {
		time.Sleep(4 * time.Second)
		if out, err := server.Control("unload-module", "module-pipe-source"); err != nil {
			t.Error(out)
		}
	}
}

// A device that goes away in mid-sweep is said by measure, which leaves nothing half-written.
func TestOutsideMeasureDeviceGone(t *testing.T) {
	later, path := pulledOut(t), filepath.Join(t.TempDir(), "before.wav")
	go later()
	said, err := exec.Command("conewright", "measure", "-o", path).CombinedOutput()
	if err == nil || !strings.Contains(string(said), " is gone") || !strings.Contains(string(said), "hint: plug it in again") {
		t.Errorf("%v: %s", err, said)
	}
	if left, err := os.ReadDir(filepath.Dir(path)); err != nil || len(left) > 0 {
		t.Errorf("it left %v, %v", left, err)
	}
}

// On the page it is said as well, and the sweeps that were finished stay.
func TestOutsideBenchDeviceGone(t *testing.T) {
	later, folder := pulledOut(t), t.TempDir()
	k := startKillable(t, exec.Command("conewright", "bench", "--no-open", "--folder", folder))
	k.press("bench", map[string]any{"typed": map[string]string{"resistor": "10.02 ohm"}})
	k.press("driver", map[string]any{"name": "left woofer"})
	k.press("sweep", map[string]any{"kind": "first"})
	k.until(func(v pageView) bool { return v.Run == "" && len(v.Sweeps) == 1 })
	go later()
	k.press("sweep", map[string]any{"kind": "again"})
	v := k.until(func(v pageView) bool { return v.Run == "" && v.Problem != nil })
	if v.Problem == nil || v.Problem.Code != "sound-gone" || !strings.Contains(v.Problem.Hint, "finished sweeps are kept") || len(v.Sweeps) != 1 {
		t.Fatalf("the page says %+v", v)
	}
	whole(t, filepath.Join(folder, "left-woofer", "before-free-1.wav"))
	k.press("sweep", map[string]any{"kind": "again"})
	if v := k.until(func(v pageView) bool { return v.Run == "" && v.Problem != nil }); v.Problem == nil || v.Problem.Code != "sound-no-device" {
		t.Errorf("a sweep without the device: %+v", v)
	}
}
