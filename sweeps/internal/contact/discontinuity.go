package contact

import (
	"conewright/sweeps/bench"
	"conewright/sweeps/internal/spectra"
)

const (
	bendOut    = 6.0  // times the usual bend nearby, and
	bendPart   = 0.05 // of the rms of channel 2, and
	bendSteps  = 8.0  // of the converter: rounding makes bends of up to four
	bendBeside = 40   // stretches on either side that tell what is usual
)

// discontinuities looks for intervals in which channel 2 bends far more sharply than
// nearby and channel 1 does not, unless it is behind the contact too: corners that a contact
// makes. They show where the ratio itself has followed a contact, as in a sweep,
// and residuals sees nothing.
func discontinuities(e *spectra.Result, w bench.Wiring) []spectra.Interval {
	sharp, driven := e.Stats[1].Bends, e.Stats[0].Bends
	on, off := played(e)
	least := max(bendPart*e.Stats[1].Rms(), bendSteps*e.Stats[1].Finest)
	var all []spectra.Interval
	for i, k := range sharp {
		at := float64(i) * spectra.StretchSeconds
		if at < on || at > off || float64(k) <= least || !standsOut(sharp, i, bendOut) {
			continue
		}
		if w != bench.Probes && standsOut(driven, i, bendOut/2) {
			continue
		}
		all = append(all, spectra.Interval{From: at - spectra.StretchSeconds, To: at + 2*spectra.StretchSeconds})
	}
	return all
}

// standsOut says whether bend i is more than so many times the median of those around it:
// counting those that are smaller tells it without sorting.
func standsOut(bends []float32, i int, times float64) bool {
	near := bends[max(0, i-bendBeside):min(len(bends), i+bendBeside+1)]
	bound, smaller := float32(float64(bends[i])/times), 0
	for _, k := range near {
		if k < bound {
			smaller++
		}
	}
	return smaller > len(near)/2
}
