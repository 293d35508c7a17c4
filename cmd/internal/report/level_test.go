package report

import (
	"testing"

	"conewright/ts/measured"
)

func TestLevelBetweenSides(t *testing.T) {
	volts := func(v float64) Side { return Side{Level: measured.Level{Value: v, Volts: true}} }
	parts := func(v float64) Side { return Side{Level: measured.Level{Value: v}} }
	for _, c := range []struct {
		before, after Side
		ratio         float64
		far           int
	}{
		{volts(0.1), volts(0.125), 1.25, 0},
		{volts(0.1), volts(0.4), 4, 1},
		{parts(0.1), parts(0.4), 0, 1},
		{parts(0.1), parts(0.15), 0, 0},
		{volts(0.1), parts(0.4), 0, 0},
		{volts(0.1), Side{}, 0, 0},
	} {
		if ratio, far := LevelBetween(c.before, c.after); ratio != c.ratio || len(far) != c.far {
			t.Errorf("%+v, %+v: ratio %v, %v", c.before.Level, c.after.Level, ratio, far)
		}
	}
}

func TestLevelsOfOneSide(t *testing.T) {
	at := func(v float64) measured.Sweep {
		return measured.Sweep{Impedance: measured.Impedance{Level: measured.Level{Value: v, Volts: true}}}
	}
	level, differ := levelOf([]measured.Sweep{{}, at(0.1), at(0.11), at(0.3)})
	if level.Value != 0.1 || differ == nil || differ.Num("other") != 0.3 {
		t.Errorf("%v, %v", level, differ)
	}
	if _, differ := levelOf([]measured.Sweep{at(0.1), at(0.14), {}}); differ != nil {
		t.Errorf("said to differ: %v", differ)
	}
}
