package fitted

import (
	"math"

	"conewright/ts/notice"
)

// Second is a second resonance beside the main one: a part of the moving mass on a spring of its own. The values of the
// main one are those without it; Mms holds its mass. theory (3.11).
type Second struct {
	Frequency float64    // Hz, of the part with the cone held
	Q         float64    // of the part alone
	MassShare float64    // its mass over Mms
	Std       [3]float64 // standard uncertainties of the logarithms of the three
}

// Notice says that there is one.
func (s Second) Notice() *notice.Notice {
	return notice.New("second-resonance", notice.Facts{"frequency": s.Frequency, "q": s.Q, "share": s.MassShare})
}

// secondMoved is the number of standard uncertainties of a difference from which on the second resonance is
// said to have changed.
const secondMoved = 3

// SecondChanged says how a second resonance that both fits have changed; nil where it did not, or where one has none.
func SecondChanged(before, after *Result) *notice.Notice {
	if before.Second == nil || after.Second == nil {
		return nil
	}
	b, a := before.Second, after.Second
	at := [3][2]float64{{b.Frequency, a.Frequency}, {b.Q, a.Q}, {b.MassShare, a.MassShare}}
	for i, v := range at {
		if math.Abs(math.Log(v[1]/v[0])) > secondMoved*math.Hypot(b.Std[i], a.Std[i]) {
			return notice.New("second-resonance-changed", notice.Facts{"before": b.Frequency, "after": a.Frequency,
				"q-before": b.Q, "q-after": a.Q, "share-before": b.MassShare, "share-after": a.MassShare})
		}
	}
	return nil
}
