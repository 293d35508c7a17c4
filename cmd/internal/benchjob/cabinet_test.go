package benchjob

import "testing"

// In the cabinet: first before the work, then after it; files of their own; and sweeps in free air are not mixed with them.
func TestInTheCabinet(t *testing.T) {
	free := func(string) bool { return false }
	must := func(j Job, err error) Job {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return j
	}
	j := New(map[string]string{"resistor": "10 ohm"})
	if _, err := j.WithBox(Box{}); err == nil {
		t.Error("a cabinet without a driver")
	}
	j = must(j.WithBench(j.Typed))
	j = must(j.WithDriver("left", "", nil))
	plan := func() {
		t.Helper()
		s, err := j.Plan(First, free)
		if err != nil {
			t.Fatal(err)
		}
		j = j.Recorded(s)
	}
	plan()
	j = must(j.WithBox(Box{Volume: " 60 L "}))
	if j.Place() != BoxBefore || j.Box.Volume != "60 L" || j.Screen != Cabinet {
		t.Errorf("%+v", j)
	}
	if _, err := j.JudgeBox(); err == nil {
		t.Error("a box without a sweep is judged")
	}
	plan()
	if _, err := j.Plan(First, free); err == nil {
		t.Error("a repeat without its kind")
	}
	j = must(j.Repaired())
	plan()
	j = must(j.WithBox(Box{}))
	plan()
	var files []string
	for _, s := range j.Sweeps {
		files = append(files, s.File)
	}
	want := [...]string{"before-free-1.wav", "cabinet-before-1.wav", "after-free-1.wav", "cabinet-after-1.wav"}
	if [4]string(files) != want {
		t.Errorf("%q", files)
	}
	if len(j.UsedIn(After)) != 1 || len(j.Used(Before, "")) != 1 || len(j.UsedIn(BoxAfter)) != 1 {
		t.Error("sweeps in the cabinet and in free air are mixed")
	}
	for box, free := range map[Phase]Phase{BoxBefore: Before, BoxAfter: After} {
		if got := j.FreeFor(box); got != free {
			t.Errorf("%s is held against %q", box, got)
		}
	}
	if j = must(j.JudgeBox()); j.Screen != Verdict {
		t.Error(j.Screen)
	}
	if j = must(j.Show(Sweeps)); j.Place() != After {
		t.Error("the screen Sweep is about", j.Place())
	}
}
