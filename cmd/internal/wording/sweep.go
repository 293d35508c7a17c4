package wording

import (
	"fmt"

	"conewright/ts/notice"
)

// moreTo says how far a sweep has to run, from the resonance that it shows.
func moreTo(n notice.Notice) string {
	return fmt.Sprintf("let the sweep run to %s or higher", hertz(10*n.Num("peak")))
}

// sweepSentences are the sentences about sweeps, their loads and their shape.
var sweepSentences = map[string]sentence{
	"no-sweeps":      fixed("there is no sweep to fit", "give at least one sweep of the driver in free air"),
	"no-points":      fixed("the sweep holds no points", "check that the file has one line of numbers for each frequency"),
	"needs-free-air": fixed("there is no sweep of the driver without a load", "measure it once more with nothing on the cone and no box"),
	"lengths-differ": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep has %d frequencies, %d impedances and %d noise figures", n.Int("frequencies"), n.Int("impedances"), n.Int("noise")),
			"every frequency needs one impedance, and one noise figure or none at all"
	},
	"effects-differ": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the bench error %q has %d values for %d frequencies", n.Text("source"), n.Int("effects"), n.Int("frequencies")),
			"every frequency needs one value"
	},
	"bad-effect": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the bench error %q is not a finite number at %v Hz", n.Text("source"), n.Num("frequency")), "leave that error out"
	},
	"bad-free-lines": fixed("what the driver adds between the tones is not a number from 0 on", "leave it out"),
	"bad-harmonics":  fixed("the harmonics of the current are not a list of finite numbers over increasing frequencies", "leave them out"),
	"bad-drive":      fixed("the current through the driver is not a list of finite numbers at a sample rate", "leave it out"),
	"bad-frequency": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("point %d has the frequency %v Hz", n.Int("point"), n.Num("frequency")), "frequencies must be positive numbers"
	},
	"frequency-order": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("point %d (%v Hz) does not lie above the one before it (%v Hz)", n.Int("point"), n.Num("frequency"), n.Num("before")),
			"sort the points by frequency and keep one point for each"
	},
	"bad-impedance": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the impedance at %v Hz is not a finite number", n.Num("frequency")), "remove that point"
	},
	"magnitude-complex": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the magnitude of the impedance at %v Hz is negative or has a phase", n.Num("frequency")), "give the phase with all points or with none"
	},
	"bad-sigma": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the noise figure at %v Hz is %v ohm", n.Num("frequency"), n.Num("sigma")),
			"noise figures must be positive; leave them all out when they are unknown"
	},
	"bad-frequency-error": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("an error of frequencies of %v times their value is none that a bench has", n.Num("std")), "give it as a part of one, at most a tenth"
	},
	"free-load": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a sweep in free air has a load of %v", n.Num("value")), "say whether it is a mass or a box"
	},
	"load-kind": fixed("what is on the cone is neither a mass nor a box", "choose one of the two, or nothing"),
	"too-few-points": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep has only %d points; a resonance and a coil need at least %d", n.Int("points"), n.Int("least")),
			"measure at least ten frequencies: five across the peak, two well below it, three from the minimum upwards"
	},
	"zero-impedance": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep has the impedance zero at %.4g Hz", n.Num("frequency")), "check for a short circuit and for swapped channels"
	},
	"starts-above-resonance": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep starts at %.4g Hz, above the resonance: |Z| only falls from there", n.Num("from")),
			"start the sweep at a third of the resonance frequency or lower"
	},
	"no-peak": func(n notice.Notice) (string, string) {
		message := fmt.Sprintf("the sweep shows no resonance peak between %.4g and %.4g Hz", n.Num("from"), n.Num("to"))
		if fact[bool](n, "rising") {
			message += ": |Z| only rises"
		}
		return message, "check that the driver moves freely and that the sweep covers its resonance; a blocked or open coil shows no peak"
	},
	"two-peaks": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep shows two resonance peaks, at %.3g and %.3g Hz", n.Num("lower"), n.Num("upper")),
			"take the driver out of a vented box and measure it alone; two drivers must be measured one at a time"
	},
	"starts-above-f1": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep starts at %.4g Hz, too close to the resonance at %.4g Hz: |Z| is still above %.3g ohm there", n.Num("from"), n.Num("peak"), n.Num("level")),
			fmt.Sprintf("start the sweep at %s or lower", hertz(n.Num("peak")/3))
	},
	"ends-below-f2": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep ends at %.4g Hz, too close to the resonance at %.4g Hz: |Z| is still above %.3g ohm there", n.Num("to"), n.Num("peak"), n.Num("level")), moreTo(n)
	},
	"no-minimum": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep ends at %.4g Hz while |Z| is still falling: there is no minimum above the resonance", n.Num("to")), moreTo(n)
	},
	"absurd-value": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep asks for %s = %.3g, which no driver has", n.Text("quantity"), n.Num("value")),
			"check the wiring, which channel is which, and the value of the resistor"
	},
}
