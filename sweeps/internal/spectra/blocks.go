package spectra

import (
	"cmp"

	"conewright/sweeps/bench"
)

// readBlock is how many frames are read at a time: few enough blocks that two cores
// seldom wait for each other.
const readBlock = 1 << 18

// blocks reads a recording from start to end.
type blocks struct {
	rec  *bench.Recording
	swap bool
}

// each calls do for consecutive stretches of the recording. The slices are
// reused.
func (b blocks) each(do func(ch [2][]float64)) error {
	buf := [2][]float64{make([]float64, readBlock), make([]float64, readBlock)}
	for from := 0; from < b.rec.Frames; from += readBlock {
		n := min(readBlock, b.rec.Frames-from)
		ch := [2][]float64{buf[0][:n], buf[1][:n]}
		var failed [2]error
		Both(func(half int) {
			lo, hi := half*n/2, (half+1)*n/2
			failed[half] = b.rec.Read(ch[0][lo:hi], ch[1][lo:hi], from+lo)
		})
		if err := cmp.Or(failed[0], failed[1]); err != nil {
			return err
		}
		if b.swap {
			ch[0], ch[1] = ch[1], ch[0]
		}
		do(ch)
	}
	return nil
}
