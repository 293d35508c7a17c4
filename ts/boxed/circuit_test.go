package boxed

import (
	"math/cmplx"
	"testing"

	"conewright/ts/handmade/tables"
)

// simulatedBoxes are the netlists of testdata/box.
var simulatedBoxes = map[string]circuit{
	"closed": box(0, none, none, 0), "closed-losses": box(0, 7, 50, 0), "vented": box(38, none, none, none), "vented-losses": box(38, 7, 50, 60),
}

// A general circuit simulator computes the same impedance. Source: its printed result in testdata/box, see the README there.
func TestCircuitSimulator(t *testing.T) {
	for name, c := range simulatedBoxes {
		rows := tables.Numbers(t, "../../testdata/box/"+name+".out")
		if len(rows) != 79 {
			t.Fatalf("%s: %d rows, want 79", name, len(rows))
		}
		for _, row := range rows {
			want := complex(row[1], row[2])
			if z := c.impedance(row[0], 0); !(cmplx.Abs(z-want) <= 1e-6*cmplx.Abs(want)) {
				t.Errorf("%s at %v Hz: %v, simulator %v", name, row[0], z, want)
			}
		}
	}
}
