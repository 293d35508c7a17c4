package ts

import (
	"math"
	"slices"
	"testing"
)

// Which sheets contradict themselves follows from 1/Qts = 1/Qms + 1/Qes (so
// Qts is below both) and Fs = 1/(2 pi sqrt(Mms Cms)): Small, 1972.
func TestSpecConflicts(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name   string
		limits []Limit
		want   []ParamID // of the one conflict; nil: none
	}{
		{"Qts alone", []Limit{{Qts, 0.33, 0.46}}, nil},
		{"Qts and Qes that go together", []Limit{{Qts, 0.33, 0.46}, {Qes, 0.36, 0.5}}, nil},
		{"Qts above Qes", []Limit{{Qts, 0.6, 0.7}, {Qes, 0.3, 0.5}}, []ParamID{Qes, Qts}},
		{"Qts above Qms", []Limit{{Qts, 5, inf}, {Qms, 1, 4}}, []ParamID{Qms, Qts}},
		{"Qms too small for the rest", []Limit{{Qts, 0.40, 0.41}, {Qes, 0.41, 0.42}, {Qms, 2, 3}}, []ParamID{Qms, Qes, Qts}},
		{"mass and compliance give the resonance", []Limit{{Fs, 28, 34}, {Mms, 0.039, 0.046}, {Cms, 0.5e-3, 0.74e-3}}, nil},
		{"mass and compliance miss the resonance", []Limit{{Fs, 40, 44}, {Mms, 0.039, 0.046}, {Cms, 0.5e-3, 0.74e-3}}, []ParamID{Fs, Mms, Cms}},
	} {
		got := SpecConflicts(Spec{Limits: c.limits})
		switch {
		case c.want == nil && len(got) > 0:
			t.Errorf("%s: found %v", c.name, got)
		case c.want != nil && (len(got) != 1 || !slices.Equal(got[0].IDs, c.want)):
			t.Errorf("%s: found %v, want %v", c.name, got, c.want)
		}
	}
}
