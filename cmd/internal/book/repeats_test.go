package book

import (
	"slices"
	"testing"

	"conewright/ts/measured"
)

// TestRepeats: which sweeps of a stage stand in one row, and what each has in common with the others,
// as operator, session and clamping.
func TestRepeats(t *testing.T) {
	mass := measured.Load{Kind: measured.AddedMass, Value: 0.02}
	type sweep struct {
		kind string
		load measured.Load
	}
	free := func(kind string) sweep { return sweep{kind, measured.Load{}} }
	for name, c := range map[string]struct {
		sweeps []sweep
		want   [][]string
	}{
		"each kind holds those before it": {
			[]sweep{free(""), free("again"), free("re-clamped"), free("session"), free("operator"), free("again")},
			[][]string{{"0 0 0", "0 0 0", "0 0 1", "0 1 2", "1 2 3", "1 2 3"}}},
		"one sweep shows no scatter":              {[]sweep{free("")}, nil},
		"nothing said, nothing known":             {[]sweep{free(""), free(""), free("again")}, [][]string{{"0 0 0", "0 0 0"}}},
		"a mass beside it changes nothing":        {[]sweep{free(""), {"", mass}, free("again")}, [][]string{{"0 0 0", "0 0 0"}}},
		"a mass on another day changes what came": {[]sweep{free(""), {"session", mass}, free("again")}, [][]string{{"0 0 0", "0 1 1"}}},
	} {
		var s Stage
		for _, w := range c.sweeps {
			s.Sweeps = append(s.Sweeps, Sweep{Repeat: w.kind, Load: w.load})
		}
		var got [][]string
		for _, row := range s.Repeats() {
			var places []string
			for _, r := range row {
				places = append(places, r.Place.Operator+" "+r.Place.Session+" "+r.Place.Clamping)
			}
			got = append(got, places)
		}
		if !slices.EqualFunc(got, c.want, slices.Equal) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
