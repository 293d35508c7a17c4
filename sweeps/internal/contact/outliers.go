package contact

import (
	"math"
	"slices"

	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
)

const (
	outlierOut    = 8.0  // times the usual residual nearby, and
	outlierPart   = 0.05 // of the usual channel 2 nearby, which the usual residual must not exceed
	outlierBeside = 20   // stretches on either side that tell what is usual
	outlierFewest = 10   // of them that there must be
	outlierLoud   = 0.05 // power of channel 1 relative to loud stretches, below which there is no signal
	outlierAround = 6    // samples of the level that go with an outlier on either side: its filters smear it
)

// outliers looks for stretches of one level, in order, whose ratio is not that of
// those around them.
func outliers(all []spectra.Stretch) []spectra.Interval {
	var loud []float64
	for i := range all {
		loud = append(loud, all[i].Xx)
	}
	if len(loud) == 0 {
		return nil
	}
	slices.Sort(loud)
	signal := outlierLoud * loud[len(loud)*9/10]
	var s []spectra.Stretch
	var as, bs, sizes []float64
	told := 0
	for _, v := range all {
		if v.Xx > signal {
			a, b := v.Taps()
			s, as, bs, sizes = append(s, v), append(as, a), append(bs, b), append(sizes, math.Sqrt(v.Yy))
			if v.Rest(a, b) < outlierPart*sizes[len(sizes)-1] {
				told++
			}
		}
	}
	if told < len(s)/2 {
		return nil // many frequencies at once
	}
	const reach = outlierBeside * spectra.StretchSeconds
	near := func(i int) (lo, hi int) {
		for lo = i; lo > 0 && s[i].From-s[lo-1].From < reach; lo-- {
		}
		for hi = i + 1; hi < len(s) && s[hi].From-s[i].From < reach; hi++ {
		}
		return lo, hi
	}
	rests := make([]float64, len(s))
	for i := range s {
		lo, hi := near(i)
		rests[i] = s[i].Rest(dsp.Median(as[lo:hi]), dsp.Median(bs[lo:hi]))
	}
	var found []spectra.Interval
	for i := range s {
		lo, hi := near(i)
		if hi-lo <= outlierFewest || rests[i] <= outlierPart*slices.Min(sizes[lo:hi]) {
			continue
		}
		rest, size := dsp.Median(rests[lo:hi]), dsp.Median(sizes[lo:hi])
		if rest < outlierPart*size && rests[i] > max(outlierOut*rest, outlierPart*size) {
			around := outlierAround / s[i].Rate
			found = append(found, spectra.Interval{From: s[i].From - around, To: s[i].To + around})
		}
	}
	return found
}
