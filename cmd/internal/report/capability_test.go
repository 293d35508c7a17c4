package report

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"conewright/cmd/internal/batch"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// lotOf is a lot of units with these values of Fs, in Hz, each with the same random part of
// its uncertainty and a bench that is 1 % off.
func lotOf(t *testing.T, random float64, fs ...float64) *Lot {
	t.Helper()
	l, err := NewLot(&verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 28, Hi: 34}}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range fs {
		p := param.Parameters{IDs: []param.ID{param.Fs}, Scaled: []float64{math.Log(v)}, Origin: []param.Origin{param.FromFit}, Coverage: 1.96,
			Components: []param.Component{{Source: "repeat", Part: param.RepeatPart, Own: true, Effect: []float64{random / v}}, {Source: "bench", Part: param.BenchPart, Effect: []float64{0.01}}}}
		l.Add(&batch.Unit{Name: fmt.Sprintf("u%d", i+1), Parameters: p})
	}
	return l
}

// Ten units, worked by hand: the mean of the moving ranges over d2 = 1.128 (any table of control
// charts) is the scatter within, the standard deviation that of all.
func TestCapabilityOfALot(t *testing.T) {
	fs := []float64{30, 31, 30, 31, 32, 30, 31, 32, 33, 31}
	within := 11. / 9 / 1.128 // moving ranges 1 1 1 1 2 1 1 1 2
	mean, sum := 0.0, 0.0
	for _, v := range fs {
		mean += v / 10
	}
	for _, v := range fs {
		sum += (v - mean) * (v - mean) / 9
	}
	list := lotOf(t, 0, fs...).capabilities()
	if len(list) != 1 || list[0].hidden {
		t.Fatalf("%+v", list)
	}
	x := list[0].index
	for name, pair := range map[string][2]float64{"Cp": {x.Cp.Value, 1 / within}, "Cpk": {x.Cpk.Value, (34 - mean) / (3 * within)},
		"Pp": {x.Pp.Value, 1 / math.Sqrt(sum)}, "Ppk": {x.Ppk.Value, (34 - mean) / (3 * math.Sqrt(sum))}} {
		if math.Abs(pair[0]/pair[1]-1) > 1e-3 {
			t.Errorf("%s %.4f, wanted %.4f", name, pair[0], pair[1])
		}
	}
	if list[0].control != nil {
		t.Error("a control chart from ten units")
	}

	// Half of the variance is that of the measurement, not of the bench, which shifts all alike.
	half := lotOf(t, math.Sqrt(sum/2), fs...).capabilities()[0]
	if math.Abs(half.index.Measured-0.5) > 1e-3 || math.Abs(half.index.Pp.Value*math.Sqrt(0.5)/x.Pp.Value-1) > 1e-3 {
		t.Errorf("share %.3f, Pp %.3f against %.3f", half.index.Measured, half.index.Pp.Value, x.Pp.Value)
	}
	if !lotOf(t, 2, fs...).capabilities()[0].hidden {
		t.Error("the measurement scatters more than the units, and indices are given")
	}
}

// A unit far away and eight in a row are named.
func TestSignalsOfALot(t *testing.T) {
	var fs []float64
	for i := range 30 {
		fs = append(fs, 31+0.1*float64(i%2))
	}
	fs[20] = 33
	l := lotOf(t, 0, fs...)
	said := strings.Join(l.signalWords(l.capabilities()), " ")
	if !strings.HasPrefix(said, "Not steady in Fs: u21 (beyond the control limits)") {
		t.Errorf("it says %q", said)
	}
}
