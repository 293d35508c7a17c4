package benchjob

import (
	"errors"
	"slices"
	"testing"

	"conewright/ts/notice"
)

// Known things come one after the other, then parts; each recording has a file of its own, and a known thing that was recorded again
// stands for the one before.
func TestParts(t *testing.T) {
	files := map[string]bool{}
	taken := func(file string) bool { return files[file] }
	j := New(map[string]string{"resistor": "10 ohm"})
	if _, err := j.ToParts(); err == nil {
		t.Error("parts without a loudspeaker")
	}
	j, _ = j.WithBench(j.Typed)
	j, _ = j.WithDriver("left", "", nil)
	j, err := j.ToParts()
	if err != nil || j.Part.Role != OpenEnds || j.Place() != OfParts {
		t.Fatalf("%+v, %v", j, err)
	}
	record := func(p Part) {
		t.Helper()
		next, err := j.WithPart(p)
		if err != nil {
			t.Fatal(err)
		}
		s, err := next.Plan(First, taken)
		if err != nil {
			t.Fatal(err)
		}
		files[s.File] = true
		j = next.Recorded(s)
	}
	for want, p := range map[string]Part{"job-known": {Role: Known}, "job-part-name": {Role: OnePart, Name: " / "}, "job-order": {Role: "spoon"}} {
		_, err := j.WithPart(p)
		var n *notice.Notice
		if !errors.As(err, &n) || n.Code != want {
			t.Errorf("%+v: %v", p, err)
		}
	}
	for _, next := range []Role{JoinedEnds, Known, OnePart} {
		record(Part{Role: j.Part.Role, Ohm: "100.0 ohm", Name: "nothing"})
		if j.Part != (Part{Role: next}) {
			t.Errorf("then comes %+v, wanted %s", j.Part, next)
		}
	}
	record(Part{Role: OnePart, Name: "C1 left", Nominal: "6.8 uF", Ohm: "9"})
	if j.Part != (Part{Role: OnePart, Nominal: "6.8 uF"}) {
		t.Errorf("the next part begins as %+v", j.Part)
	}
	record(Part{Role: OnePart, Name: "C1 left"})
	record(Part{Role: Known, Ohm: "47.0 ohm"})
	var names []string
	for _, s := range j.Sweeps {
		names = append(names, s.File)
	}
	if want := []string{"part-open.wav", "part-short.wav", "part-load.wav", "part-c1-left.wav", "part-c1-left-2.wav", "part-load-2.wav"}; !slices.Equal(names, want) {
		t.Errorf("%q", names)
	}
	if s, ok := j.KnownThing(Known); !ok || s.Part.Ohm != "47.0 ohm" {
		t.Errorf("%+v", s)
	}
	j, _ = j.SetAside("part-c1-left.wav", true)
	if used := j.UsedParts(); len(used) != 1 || used[0].File != "part-c1-left-2.wav" || used[0].Part.Ohm != "" {
		t.Errorf("%+v", used)
	}
	if len(j.UsedIn(Before)) > 0 || j.FreeFor(BoxBefore) != "" {
		t.Error("a part counts as the driver")
	}
}
