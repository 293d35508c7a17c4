package repeat

import (
	"errors"
	"math"
	"testing"

	"conewright/ts/notice"
)

// A bench that scatters by more than half of the value is none; a study that found that is refused, one that
// found half is taken.
func TestCheckOfScatter(t *testing.T) {
	for _, c := range []struct {
		std  float64
		fine bool
	}{{0, true}, {0.01, true}, {0.5, true}, {0.51, false}, {-0.01, false}, {math.NaN(), false}} {
		for i := range 3 {
			b := Usual
			b[Session].Std[i] = c.std
			err := b.Check()
			var n *notice.Notice
			if fine := err == nil; fine != c.fine || !fine && (!errors.As(err, &n) || n.Code != "bad-repeatability" || n.Text("kind") != Session.String()) {
				t.Errorf("a standard deviation of %v: %v", c.std, err)
			}
		}
	}
}
