package wording

import (
	"fmt"
	"math"

	"conewright/ts/cabinet"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// cabinetSentences are about a driver in its cabinet.
var cabinetSentences = map[string]sentence{
	"cabinet-needs": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("what the driver does in its cabinet needs %s, which the sweeps do not give", fact[param.ID](n, "quantity")),
			"sweep once more with a known mass on the cone, and give the diameter of the cone"
	},
	"cabinet-no-level": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no level at %g Hz in this cabinet", n.Num("frequency")), "check volume and tuning"
	},
}

// Cabinet names a cabinet: "a closed box of 40 L".
func Cabinet(c cabinet.Cabinet) string {
	if c.Tuning == 0 {
		return fmt.Sprintf("a closed box of %.3g L", 1e3*c.Volume)
	}
	return fmt.Sprintf("a vented box of %.3g L tuned to %.3g Hz", 1e3*c.Volume, c.Tuning)
}

// Levels below and above which a difference is taken as not heard and as heard, in dB.
// Judgement: level differences of 0.2 to 0.4 dB are just noticed where hearing is best, and
// less at low frequencies.
const (
	hardlyHeard = 0.5
	surelyHeard = 1.0
)

// InCabinet says in one sentence what a difference of levels means to the ear, at the
// frequency where it is largest: "At 40 Hz it is 0.7 dB quieter than before (95 %: 0.3 to 1.1),
// hardly audible."
func InCabinet(d cabinet.Curve, than string) string {
	at := 0
	for i := range d.Level {
		if math.Abs(d.Level[i]) > math.Abs(d.Level[at]) {
			at = i
		}
	}
	size, half := math.Abs(d.Level[at]), d.Half[at]
	word := "louder"
	if d.Level[at] < 0 {
		word = "quieter"
	}
	heard := "which may just be heard"
	switch {
	case size+half < hardlyHeard:
		heard = "which is hardly audible"
	case size-half > surelyHeard:
		heard = "which is audible"
	}
	if size < half {
		return fmt.Sprintf("Below 200 Hz no difference from %s is certain; the largest, %.1f dB at %.0f Hz, is within what the measurement leaves open (%.1f dB).", than, size, d.Freq[at], half)
	}
	return fmt.Sprintf("The largest difference below 200 Hz is at %.0f Hz: %.1f dB %s than %s (95 %%: %.1f to %.1f), %s.",
		d.Freq[at], size, word, than, size-half, size+half, heard)
}
