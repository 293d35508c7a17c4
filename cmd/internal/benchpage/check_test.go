package benchpage

import (
	"testing"

	"conewright/cmd/internal/benchjob"
)

// The check of the bench takes over what it finds and stays on the screen.
func TestCheckOfTheBench(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	if c := r.do(p, "check", map[string]any{"part": "walnut", "typed": map[string]string{"resistor": "10 ohm"}}); c != "page-action" {
		t.Errorf("an unknown part: %q", c)
	}
	if c := r.do(p, "check", map[string]any{"part": "resistor"}); c != "job-resistor" {
		t.Errorf("without a series resistor: %q", c)
	}
	if c := r.do(p, "check", map[string]any{"part": "resistor", "ohm": "27 ohm", "typed": map[string]string{"resistor": "10 ohm"}}); c != "" {
		t.Fatal(c)
	}
	v := r.until(p, "the check", func(v view) bool { return v.Run == "" && len(v.Found) > 0 })
	if v.Found[0] != "checked by 27 ohm" || v.Typed["wiring"] != "resistor-first" || v.Typed["resistor"] != "10 ohm" || v.Screen != benchjob.Bench || len(v.Reached) != 1 {
		t.Errorf("after the check %q, %q on %s", v.Found, v.Typed, v.Screen)
	}
	r.ready(p)
	if c := r.do(p, "sweep", nil); c != "" {
		t.Fatal(c)
	}
	r.until(p, "a sweep", func(v view) bool { return v.Run == "" && len(v.Sweeps) == 1 })
	if c := r.do(p, "check", map[string]any{"part": "channels", "typed": map[string]string{"resistor": "10 ohm"}}); c != "job-bench-in-use" {
		t.Errorf("a check after a sweep, which would change its bench: %q", c)
	}
}
