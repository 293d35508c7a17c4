package benchpage

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/benchjob"
)

// A job is gone on with by another run of the program: its sweeps, values and notes are there, and
// its name is not given to another job.
func TestJobIsGoneOnWith(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	r.ready(p)
	if c := r.do(p, "sweep", nil); c != "" {
		t.Fatal(c)
	}
	first := r.until(p, "the sweep", func(v view) bool { return len(v.Sweeps) == 1 && v.Run == "" })
	r.do(p, "mass", map[string]any{"mass": "20.0 g"})
	r.do(p, "sweep", nil)
	was := r.until(p, "the sweep with a mass", func(v view) bool { return len(v.Sweeps) == 2 && v.Run == "" })

	again := startIn(t, 0, r.folder)
	p = again.open()
	v := again.until(p, "the first screen", func(view) bool { return true })
	if len(v.Waiting) != 1 || v.Waiting[0].Name != "Left woofer" || !strings.HasPrefix(v.Waiting[0].Says, "2 sweeps, before the repair, ") || len(v.Sweeps) != 0 {
		t.Fatalf("it offers %+v", v.Waiting)
	}
	again.do(p, "bench", map[string]any{"typed": map[string]string{"resistor": "10 ohm"}})
	if got := again.refused(p, "driver", map[string]any{"name": "left Woofer"}); got.Code != "job-name-taken" || got.Field != "name" {
		t.Errorf("a new job of that name: %+v", got)
	}
	if c := again.do(p, "continue", map[string]any{"file": "../left-woofer"}); c != "job-unreadable" {
		t.Errorf("a job that is not in the folder: %q", c)
	}
	if c := again.do(p, "continue", map[string]any{"file": "left-woofer"}); c != "" {
		t.Fatal(c)
	}
	v = again.until(p, "the job", func(v view) bool { return len(v.Sweeps) == 2 })
	if v.Screen != benchjob.Mass || v.Mass != "20.0 g" || v.Sweeps[1].File != was.Sweeps[1].File || len(v.Waiting) != 0 || v.Problem != nil {
		t.Errorf("it goes on with %+v on %s, %v", v.Sweeps, v.Screen, v.Problem)
	}
	if len(v.Values) == 0 || v.Values[0].Value != was.Values[0].Value || len(v.Now.Freq) != len(was.Now.Freq) || len(first.Values) == 0 {
		t.Errorf("the values are %+v, and were %+v", v.Values, was.Values)
	}
	if c := again.do(p, "sweep", map[string]any{"kind": "again"}); c != "" {
		t.Fatal(c)
	}
	again.until(p, "a sweep after the pause", func(v view) bool { return len(v.Sweeps) == 3 && v.Sweeps[2].File == "before-20.0g-2-again.wav" })

	// A sweep that is gone is said and left out; the rest goes on.
	if err := os.Remove(filepath.Join(r.folder, "left-woofer", "before-20.0g-1.wav")); err != nil {
		t.Fatal(err)
	}
	third := startIn(t, 0, r.folder)
	p = third.open()
	third.do(p, "continue", map[string]any{"file": "left-woofer"})
	v = third.until(p, "the job with one sweep less", func(v view) bool { return len(v.Sweeps) == 3 })
	if !v.Sweeps[1].Aside || len(v.Sweeps[1].Notes) != 1 || v.Sweeps[0].Aside || v.Sweeps[2].Aside {
		t.Errorf("without a file the sweeps are %+v", v.Sweeps)
	}

	// At the next pause that is not said once more.
	fourth := startIn(t, 0, r.folder)
	p = fourth.open()
	fourth.do(p, "continue", map[string]any{"file": "left-woofer"})
	v = fourth.until(p, "the job once more", func(v view) bool { return len(v.Sweeps) == 3 })
	if len(v.Sweeps[1].Notes) != 1 {
		t.Errorf("a file that is gone is said %+v", v.Sweeps[1].Notes)
	}

	// One that cannot be read is not offered, and nothing replaces it.
	path := filepath.Join(r.folder, "left-woofer", "job.json")
	if err := os.WriteFile(path, []byte("{"), 0o666); err != nil {
		t.Fatal(err)
	}
	broken := startIn(t, 0, r.folder)
	p = broken.open()
	if v := broken.until(p, "the first screen", func(view) bool { return true }); len(v.Waiting) != 0 {
		t.Errorf("it offers %+v", v.Waiting)
	}
	broken.do(p, "bench", map[string]any{"typed": map[string]string{"resistor": "10 ohm"}})
	if c := broken.do(p, "driver", map[string]any{"name": "Left woofer"}); c != "job-unreadable" {
		t.Errorf("a new job in its folder: %q", c)
	}
}
