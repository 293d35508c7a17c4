package benchpage

import "testing"

// The screen of parts: what is missing is said beside its field; each recording goes into the list, and parts are said anew after each.
func TestPartsScreen(t *testing.T) {
	r := start(t, 1000)
	p := r.open()
	if c := r.do(p, "parts", nil); c != "job-order" {
		t.Errorf("before there is a loudspeaker: %q", c)
	}
	r.ready(p)
	if c := r.do(p, "parts", nil); c != "" {
		t.Fatal(c)
	}
	of := func(words ...string) map[string]any {
		part := map[string]string{}
		for i := 0; i < len(words); i += 2 {
			part[words[i]] = words[i+1]
		}
		return map[string]any{"of": part}
	}
	for field, body := range map[string]map[string]any{"ohm": of("role", "load"), "name": of("role", "part"), "nominal": of("role", "part", "name", "C1", "nominal", "walnut")} {
		if said := r.refused(p, "sweep", body); said.Field != field {
			t.Errorf("%s: %+v", field, said)
		}
	}
	for i, body := range []map[string]any{of("role", "open"), of("role", "part", "name", "C1")} {
		if c := r.do(p, "sweep", body); c != "" {
			t.Fatal(c)
		}
		v := r.until(p, "the recording", func(v view) bool { return len(v.Sweeps) == i+1 && v.Run == "" })
		if v.Values != nil || v.Now != nil || len(v.Parts.Lines) != i || !v.Sweeps[i].Here || v.Sweeps[i].Aside {
			t.Errorf("%+v, values %v, parts %+v", v.Sweeps, v.Values, v.Parts)
		}
	}
	if c := r.do(p, "judge-parts", nil); c != "" {
		t.Fatal(c)
	}
	if v := r.until(p, "the sheet of parts", func(v view) bool { return v.Answer != nil }); v.Answer.Title != "parts of left-woofer" || v.Values != nil {
		t.Errorf("%+v, values %v", v.Answer, v.Values)
	}
	if c := r.do(p, "parts", nil); c != "" {
		t.Fatal(c)
	}
	if c := r.do(p, "aside", map[string]any{"file": "part-c1.wav", "aside": true}); c != "" {
		t.Fatal(c)
	}
	r.until(p, "the part left out", func(v view) bool { return v.Parts != nil && len(v.Parts.Lines) == 0 })
	if c := r.do(p, "judge-parts", nil); c != "job-parts-first" {
		t.Errorf("without a part: %q", c)
	}
}
