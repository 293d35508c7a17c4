package report

import (
	"strings"
	"testing"

	"conewright/cmd/internal/wording"
	"conewright/ts/friction"
)

// What is said of the coil stands above the tables, once, whether it is free, rubs, or cannot be told; what to do about a rub stands
// under the notes.
func TestCoilStandsOnTop(t *testing.T) {
	for _, c := range []struct {
		found friction.Found
		say   string
	}{
		{friction.Found{Least: 1e-4, Share: 0.01, Levels: 1}, "The coil is free"},
		{friction.Found{Rubs: true, Force: 5e-3, Low: 4e-3, High: 6e-3, Share: 0.2, Voltage: 0.1, Levels: 1}, "The coil rubs"},
		{friction.Found{Least: 9e-3, Share: 0.4, Voltage: 0.1, Levels: 1}, "Whether the coil rubs cannot be told below 9.0 mN"},
	} {
		for _, label := range []string{"", "after"} {
			side := sampleSide(1, label, sampleTired, 0.003)
			side.Friction = &c.found
			if w := c.found.Warning(); w != nil {
				side.Noticed = append(side.Noticed, wording.Notice(*w))
			}
			r := Fit(Job{Inputs: sampleInputs(label)}, side)
			var text, html strings.Builder
			if err := Text(&text, r); err != nil {
				t.Fatal(err)
			}
			if err := WriteHTML(&html, r); err != nil {
				t.Fatal(err)
			}
			flat, page := oneLine(text.String()), oneLine(html.String())
			said := strings.TrimSuffix(r.Body[0], ".")
			if !strings.HasPrefix(said, c.say) {
				t.Errorf("on top stands %q, not that %q", said, c.say)
			}
			if at := strings.Index(flat, said); at < 0 || at > strings.Index(flat, "Fs ") || strings.Contains(strings.ToLower(flat[at+len(said):]), strings.ToLower(said)) {
				t.Errorf("%q:\n%s", c.say, flat)
			}
			if shown := oneLine(neat(said)); strings.Count(page, "<p>"+shown) != 1 || strings.Count(page, shown[1:]) != 1 {
				t.Errorf("%q stands on the page %d times", shown, strings.Count(page, shown[1:]))
			}
			if hint := "push the cone by hand and listen"; strings.Contains(flat, hint) != c.found.Rubs || strings.Contains(strings.ToLower(page), hint) != c.found.Rubs {
				t.Errorf("%q: the hint", c.say)
			}
		}
	}
}

// oneLine returns s with single blanks.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
