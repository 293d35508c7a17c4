package measured

import (
	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
)

// FreeLines is what a multitone shows between its tones: amplitudes of what the driver adds, root of the sum of squares, over
// that of its tones.
type FreeLines struct {
	Even, Odd FreeLine // order
}

// FreeLine is one kind of them.
type FreeLine struct {
	Share float64 // without the noise; 0 where nothing is beyond it
	Floor float64 // that noise alone would show in one of a thousand recordings
}

// Seen says whether there is more than noise.
func (l FreeLine) Seen() bool { return l.Share > l.Floor }

// Check refuses what cannot be.
func (f *FreeLines) Check() error {
	for _, l := range []FreeLine{f.Even, f.Odd} {
		if !(l.Share >= 0) || !(l.Floor >= 0) || !bounds.Finite(l.Share, l.Floor) {
			return notice.New("bad-free-lines", nil)
		}
	}
	return nil
}
