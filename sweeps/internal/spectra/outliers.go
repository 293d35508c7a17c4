package spectra

import (
	"math"
	"slices"

	"conewright/sweeps/internal/dsp"
)

// WithoutOutliers leaves out points that their neighbours on both sides contradict: a
// contact that opened while a sweep passed by. The impedance of a driver is a
// smooth curve; a cubic through two points on either side tells its value. It
// returns what is left and the frequencies that went.
func WithoutOutliers(points []Point) (kept []Point, gone []float64) {
	const (
		widest    = 1.018 // ratio of neighbouring frequencies up to which the curve is that smooth
		tolerance = 0.02  // of the ratio
		most      = 40
		reach     = 5 // neighbours on either side that go with a point: the same disturbance spoiled them
	)
	bad := make(map[float64]bool)
	kept = slices.Clone(points)
	for len(gone) < most {
		worst, at := 1.0, -1
		for i := 2; i+2 < len(kept); i++ {
			if kept[i+2].Freq > math.Pow(widest, 4)*kept[i-2].Freq {
				continue
			}
			var w [5]float64 // Lagrange's weights at point i of the four others
			var expected complex128
			variance := kept[i].Variance()
			for a := range w {
				if a == 2 {
					continue
				}
				w[a] = 1
				for b := range w {
					if b != 2 && b != a {
						w[a] *= math.Log(kept[i].Freq/kept[i-2+b].Freq) / math.Log(kept[i-2+a].Freq/kept[i-2+b].Freq)
					}
				}
				expected += complex(w[a], 0) * kept[i-2+a].Ratio
				variance += w[a] * w[a] * kept[i-2+a].Variance()
			}
			// Where the curve bends much within the five points, less is sure.
			bend := math.Sqrt(dsp.SqAbs(expected - (kept[i-1].Ratio+kept[i+1].Ratio)/2))
			size := math.Sqrt(dsp.SqAbs(expected))
			off := math.Sqrt(dsp.SqAbs(kept[i].Ratio-expected)) / (6*math.Sqrt(variance) + tolerance*size + bend)
			if off > worst {
				worst, at = off, i
			}
		}
		if at < 0 {
			break
		}
		gone = append(gone, kept[at].Freq)
		for i := max(0, at-reach); i <= min(len(kept)-1, at+reach); i++ {
			bad[kept[i].Freq] = true
		}
		kept = slices.Delete(kept, at, at+1)
	}
	slices.Sort(gone)
	kept = slices.DeleteFunc(kept, func(p Point) bool { return bad[p.Freq] })
	return kept, gone
}
