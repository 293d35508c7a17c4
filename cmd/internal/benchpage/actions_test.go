package benchpage

import (
	"path/filepath"
	"testing"

	"conewright/cmd/internal/benchjob"
)

// Values of a data sheet make the spec sheet of the job; what is wrong with one is said of its
// field, and the job stays where it was.
func TestPaperValues(t *testing.T) {
	r := start(t, 0)
	p := r.open()
	if got := r.refused(p, "bench", map[string]any{"typed": map[string]string{}}); got.Field != "resistor" {
		t.Errorf("without a resistor: %+v", got)
	}
	r.do(p, "bench", map[string]any{"typed": map[string]string{"resistor": "10 ohm"}})
	wrong := map[string]any{"name": "Left woofer", "paper": map[string]string{"fs": "walnut"}}
	if got := r.refused(p, "driver", wrong); got.Field != "paper-fs" || got.Message == "" {
		t.Errorf("a wrong value: %+v", got)
	}
	if c := r.do(p, "driver", map[string]any{"name": "Left woofer", "paper": map[string]string{"fs": "31"}}); c != "" {
		t.Fatal(c)
	}
	v := r.until(p, "the sweep", func(v view) bool { return v.Screen == benchjob.Sweeps })
	if want := filepath.Join(r.folder, "left-woofer", "Left woofer.toml"); v.Sheet != want || v.Paper["fs"] != "31" || len(v.Paper) != 1 {
		t.Errorf("the sheet is %q of %q, wanted %q", v.Sheet, v.Paper, want)
	}
}
