package spectra

// tops counts samples near the highest level.
type tops struct {
	peak     float64
	interest float64 // lower levels are not counted
	count    [topBins]int
}

const (
	topWidth = 1.0 / 4096 // of a bin, fraction of full scale
	topBins  = 4096 + 512 // up to an eighth above full scale
)

// topBin returns the bin of a level. Float samples may be far above full scale,
// farther than an int reaches.
func topBin(level float64) int { return int(min(level/topWidth, topBins-1)) }

func (t *tops) see(level float64) {
	if level > t.peak {
		t.peak = level
		t.interest = 0.9 * level
	}
	t.count[topBin(level)]++
}

// clipped returns how many samples stick to the peak, 0 when the peak looks
// like that of any wave. Where a wave turns by itself, the time it spends within
// a distance d of its peak grows like the root of d, so the nearest four bins
// hold at most 2.4 times what the next four hold; a clipped wave jumps from its
// plateau. Theory (6.16), derived.
func (t *tops) clipped() int {
	const near, most, fewest = 4, 10, 20
	top := topBin(t.peak)
	if t.peak < 0.02 || top < 2*near {
		return 0
	}
	var stuck, next int
	for i := range near {
		stuck += t.count[top-i]
		next += t.count[top-near-i]
	}
	if stuck < fewest || stuck <= most*next {
		return 0
	}
	return stuck
}
