package report

import (
	"conewright/cmd/internal/saved"
	"conewright/ts/param"
	"testing"
)

func TestBenchErrorsCancelOnlyOnOneBench(t *testing.T) {
	side := func(resistor string) Side {
		p := param.Parameters{Components: []param.Component{{Source: "resistor", Part: param.BenchPart}, {Source: "repeats", Part: param.RepeatPart}}}
		return Side{Parameters: p, Bench: saved.Settings{{Name: "resistor", Value: resistor}}}
	}
	same := []Side{side("10 ohm"), side("10 ohm")}
	if w := SeparateBenches(same); w != nil || same[0].Parameters.Components[0].Own {
		t.Errorf("one bench: %v", w)
	}
	differ := []Side{side("10 ohm"), side("22 ohm")}
	before := differ[0].Parameters.Components
	if w := SeparateBenches(differ); len(w) != 1 {
		t.Errorf("two benches: %v", w)
	}
	for _, s := range differ {
		for _, c := range s.Parameters.Components {
			if c.Part == param.BenchPart && !c.Own {
				t.Errorf("%s is still shared", c.Source)
			}
		}
	}
	if before[0].Own {
		t.Error("the caller's components were changed")
	}
}
