package benchpage

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"conewright/cmd/internal/benchjob"
)

// A sweep is on the disk when it is over, its values are those of the driver, and the second
// page that is open sees the same.
func TestSweepIsKept(t *testing.T) {
	r := start(t, 0)
	p, other := r.open(), r.open()
	r.ready(p)
	if c := r.do(p, "sweep", nil); c != "" {
		t.Fatal(c)
	}
	over := func(v view) bool { return len(v.Sweeps) == 1 && v.Run == "" }
	v := r.until(p, "the sweep", over)
	r.until(other, "the sweep on the other page", over)
	if i := slices.IndexFunc(v.Values, func(v valueView) bool { return v.Symbol == "Fs" }); i < 0 || v.Values[i].Value != "33.55 Hz" { // 1/(2 pi sqrt(Mms Cms))
		t.Errorf("the values are %+v", v.Values)
	}
	if v.Now == nil || len(v.Now.Freq) < 100 || len(v.Sweeps[0].Notes) > 0 {
		t.Errorf("the sweep is %+v", v.Sweeps[0])
	}
	if info, err := os.Stat(filepath.Join(r.folder, "left-woofer", "before-free-1.wav")); err != nil || info.Size() < 4*48000*6 {
		t.Errorf("the file: %v", err)
	}
	if c := r.do(p, "sweep", map[string]any{"kind": "first"}); c != "job-kind" {
		t.Errorf("a repeat without a kind: %q", c)
	}
	if c := r.do(p, "sweep", map[string]any{"kind": "re-clamped"}); c != "" {
		t.Error(c)
	}
	v = r.until(p, "the repeat", func(v view) bool { return len(v.Sweeps) == 2 && v.Run == "" })
	if v.Sweeps[1].File != "before-free-2-re-clamped.wav" {
		t.Errorf("the repeat is %+v", v.Sweeps[1])
	}
	// Values stay until a sweep changes.
	r.desk.mu.Lock()
	both, again := r.desk.fit(r.desk.job, benchjob.Before), r.desk.fit(r.desk.job, benchjob.Before)
	r.desk.mu.Unlock()
	if len(both) == 0 || &both[0] != &again[0] {
		t.Error("nothing changed, and the sweeps were fitted again")
	}
	r.do(p, "aside", map[string]any{"file": v.Sweeps[1].File, "aside": true})
	r.desk.mu.Lock()
	one := r.desk.fit(r.desk.job, benchjob.Before)
	r.desk.mu.Unlock()
	if len(one) == 0 || &one[0] == &both[0] {
		t.Error("a sweep was left out, and the values are the old ones")
	}
	if v := r.shop.kept; v["resistor"] != "10 ohm" {
		t.Errorf("the bench that is kept is %q", v)
	}
}

// A loose clip is told while the sweep plays, and by one note when it is over.
func TestLooseClipIsOneNote(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	r.ready(p)
	if c := r.do(p, "sweep", map[string]any{"goesWrong": "loose-clip"}); c != "" {
		t.Fatal(c)
	}
	v := r.until(p, "the sweep", func(v view) bool { return len(v.Sweeps) == 1 && v.Run == "" })
	r.desk.mu.Lock()
	live := r.desk.live.Found
	r.desk.mu.Unlock()
	if len(live) != 1 || live[0].Code != "live-contact" {
		t.Errorf("while it played: %+v", live)
	}
	if notes := v.Sweeps[0].Notes; len(notes) != 1 || notes[0].Code != "unsteady-contact" {
		t.Errorf("when it was over: %+v", notes)
	}
}

// The sound has one owner, and falls silent when that page is gone.
func TestOneOwnerOfTheSound(t *testing.T) {
	r := start(t, 0.1) // a sweep takes 50 s
	p, other := r.open(), r.open()
	r.ready(p)
	if c := r.do(p, "tone", nil); c != "" {
		t.Fatal(c)
	}
	if c := r.do(other, "tone", nil); c != "sound-busy" {
		t.Errorf("the other page begins a tone as well: %q", c)
	}
	if c := r.do(p, "sweep", nil); c != "" { // its own tone ends first
		t.Fatal(c)
	}
	for _, action := range []string{"tone", "sweep", "next", "bench", "mass"} {
		if c := r.do(p, action, map[string]any{"typed": map[string]string{"resistor": "9 ohm"}}); c != "sound-busy" {
			t.Errorf("%s in mid-sweep: %q", action, c)
		}
	}
	if c := r.do(p, "level", map[string]any{"level": -40}); c != "" {
		t.Errorf("quieter in mid-sweep: %q", c)
	}
	sounds := func() bool {
		r.desk.mu.Lock()
		defer r.desk.mu.Unlock()
		return r.desk.run != nil && r.desk.run.what == "sweep" && r.desk.live.Peak[0] > 0
	}
	for end := time.Now().Add(time.Minute); !sounds(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the sweep does not begin")
		}
	}
	began := time.Now()
	p.close()
	for r.running.Load() > 0 {
		if time.Since(began) > 20*time.Second { // long before the sweep ends
			t.Fatal("the tone goes on without its page")
		}
		time.Sleep(time.Millisecond)
	}
	t.Logf("silent %.0f ms after the page was closed", 1e3*time.Since(began).Seconds())
	v := r.until(other, "the end of the sound", func(v view) bool { return v.Run == "" && v.Problem != nil })
	if v.Problem.Code != "page-gone" || len(v.Sweeps) > 0 {
		t.Errorf("the other page says %+v", v.Problem)
	}
	if c := r.do(p, "tone", nil); c != "page-gone" {
		t.Errorf("a page that is gone begins a tone: %q", c)
	}
	if c := r.do(other, "tone", nil); c != "" {
		t.Errorf("the other page does not get the sound: %q", c)
	}
}

func TestSweepThatCannotBeWritten(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	r.ready(p)
	dir := filepath.Join(r.folder, "left-woofer")
	if err := os.WriteFile(dir, nil, 0o666); err != nil { // no folder can be made there
		t.Fatal(err)
	}
	if c := r.do(p, "sweep", nil); c != "save-failed" {
		t.Errorf("without a folder: %q", c)
	}
	os.Remove(dir)
	if c := r.do(p, "sweep", nil); c != "" {
		t.Fatal(c)
	}
	os.RemoveAll(dir)
	v := r.until(p, "the failure", func(v view) bool { return v.Run == "" && v.Unsaved != "" })
	if v.Unsaved != "before-free-1.wav" || v.Problem == nil {
		t.Errorf("the page says %q, %+v", v.Unsaved, v.Problem)
	}
	for _, action := range []string{"sweep", "next"} {
		if c := r.do(p, action, nil); c != "job-unsaved" {
			t.Errorf("%s with a sweep in hand: %q", action, c)
		}
	}
	if c := r.do(p, "save", nil); c == "" {
		t.Error("it was saved into a folder that is not there")
	}
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	// Pressed twice, it is saved once, and the next sweep can come.
	codes := make(chan string)
	for range 2 {
		go func() { codes <- r.do(p, "save", nil) }()
	}
	if got := []string{<-codes, <-codes}; !slices.Contains(got, "") || slices.Contains(got, "save-exists") {
		t.Errorf("saved twice at once: %q", got)
	}
	r.until(p, "the sweep", func(v view) bool { return len(v.Sweeps) == 1 && v.Unsaved == "" })
	if c := r.do(p, "sweep", map[string]any{"kind": "again"}); c != "" {
		t.Errorf("the sweep after that: %q", c)
	}
}

func TestCardPulledOut(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	r.ready(p)
	if c := r.do(p, "sweep", map[string]any{"goesWrong": "unplugged"}); c != "" {
		t.Fatal(c)
	}
	v := r.until(p, "the failure", func(v view) bool { return v.Run == "" && v.Problem != nil })
	if v.Problem.Code != "sound-gone" || len(v.Sweeps) != 0 {
		t.Errorf("the page says %+v", v.Problem)
	}
	if c := r.do(p, "sweep", nil); c != "" {
		t.Errorf("the next sweep: %q", c)
	}
	r.until(p, "the next sweep", func(v view) bool { return len(v.Sweeps) == 1 })
}
