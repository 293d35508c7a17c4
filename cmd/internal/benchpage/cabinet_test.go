package benchpage

import (
	"testing"

	"conewright/cmd/internal/benchjob"
)

// The screen of the cabinet: sweeps of its own, no values of a driver in free air, and an answer about the box.
func TestCabinetScreen(t *testing.T) {
	r := start(t, 1000)
	p := r.open()
	if c := r.do(p, "cabinet", nil); c != "job-order" {
		t.Errorf("before the driver is named: %q", c)
	}
	r.ready(p)
	if said := r.refused(p, "cabinet", map[string]any{"box": map[string]string{"volume": "walnut"}}); said.Field != "volume" {
		t.Errorf("%+v", said)
	}
	if c := r.do(p, "cabinet", map[string]any{"box": map[string]string{"volume": "60 L"}}); c != "" {
		t.Fatal(c)
	}
	if c := r.do(p, "judge-cabinet", nil); c != "job-box-first" {
		t.Errorf("without a sweep: %q", c)
	}
	for i, phase := range []benchjob.Phase{benchjob.BoxBefore, benchjob.BoxAfter} {
		if c := r.do(p, "cabinet", map[string]any{"box": map[string]string{"volume": "60 L", "phase": string(phase)}}) + r.do(p, "sweep", nil); c != "" {
			t.Fatal(c)
		}
		v := r.until(p, "the sweep in the cabinet", func(v view) bool { return len(v.Sweeps) == i+1 && v.Run == "" })
		if v.Box.Phase != phase || v.Box.Volume != "60 L" || v.Values != nil || v.Now == nil || (v.Other == nil) != (i == 0) || !v.Sweeps[i].Here || i > 0 && v.Sweeps[0].Here {
			t.Errorf("%s: box %+v, values %v, curves %v %v, sweeps %+v", phase, v.Box, v.Values, v.Now != nil, v.Other != nil, v.Sweeps)
		}
	}
	if c := r.do(p, "judge-cabinet", nil); c != "" {
		t.Fatal(c)
	}
	v := r.until(p, "the answer", func(v view) bool { return v.Screen == benchjob.Verdict && v.Answer != nil })
	if !v.Answer.Cabinet || v.Answer.Title != "box of left-woofer" || v.Values != nil {
		t.Errorf("%+v, values %v", v.Answer, v.Values)
	}
}
