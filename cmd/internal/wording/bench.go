package wording

import (
	"fmt"

	"conewright/ts/notice"
)

const (
	measureResistor = "measure the resistor and give it, for example --resistor 10.02"
	makeCalibration = "make the file with conewright calibrate"
)

// benchValues are the values of a bench as they are called in a sentence.
var benchValues = map[string]string{
	"resistor": "a series resistor", "resistor-tolerance": "a resistor tolerance", "leads": "a lead resistance",
	"leads-uncertainty": "an uncertainty of the leads", "channel-tolerance": "a channel tolerance", "full-scale": "a full scale",
	"input-resistance": "an input resistance",
}

// damagedPart is the sentence about a part of a calibration file; the rest follows its name.
func damagedPart(n notice.Notice, rest string) (string, string) {
	return fmt.Sprintf("the part %q is damaged: %s", n.Text("part"), rest), makeCalibration
}

// benchSentences say what is wrong with a bench, its calibration, or the recordings for one.
var benchSentences = map[string]sentence{
	"resistor-missing": fixed("the resistor in series is not known", measureResistor),
	"bench-wiring": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no wiring with the number %d", n.Int("wiring")), "use resistor-first, driver-first or probes"
	},
	"bench-value": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s of %g is not usable", benchValues[n.Text("of")], n.Num("value")), "measure it with a meter and give the reading"
	},

	"calibration-unreadable": func(n notice.Notice) (string, string) { return "cannot be read: " + cause(n.Err), makeCalibration },
	"calibration-too-large": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("is larger than %d MB, far too large for a calibration", n.Int("most")>>20), makeCalibration
	},
	"calibration-not": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("is not a calibration: %v", n.Err), makeCalibration
	},
	"calibration-schema": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("is not a calibration: its schema is %q", n.Text("schema")), makeCalibration
	},
	"calibration-wiring": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%q is not a wiring", n.Text("wiring")), makeCalibration
	},
	"calibration-resistor": fixed("has a resistor without a usable value", makeCalibration),
	"calibration-lengths": func(n notice.Notice) (string, string) {
		return damagedPart(n, fmt.Sprintf("%d frequencies, %d values and %d noise figures belong together", n.Int("frequencies"), n.Int("values"), n.Int("noise")))
	},
	"calibration-order": func(n notice.Notice) (string, string) {
		return damagedPart(n, fmt.Sprintf("frequency %d is out of order", n.Int("point")))
	},
	"calibration-number": func(n notice.Notice) (string, string) {
		return damagedPart(n, fmt.Sprintf("value %d is not a finite number", n.Int("point")))
	},
	"calibration-noise": func(n notice.Notice) (string, string) {
		return damagedPart(n, fmt.Sprintf("noise figure %d is not positive", n.Int("point")))
	},
	"calibration-bench": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the calibration belongs to another bench: %s with %.6g ohm, not %s with %.6g ohm",
				n.Text("wiring"), n.Num("resistor"), n.Text("bench-wiring"), n.Num("bench-resistor")),
			"give the wiring and the resistor of the calibration, or calibrate this bench"
	},
	"calibration-band": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the calibration covers %.3g to %.5g Hz only; beyond, its last value is used", n.Num("low"), n.Num("high")),
			"calibrate with the signal that you measure with"
	},

	"calibration-empty": fixed("there is no recording to calibrate from",
		"give a recording of both channels on one point, or of the leads open, shorted and on a known resistor"),
	"calibration-value": fixed("the value of a calibration resistor is missing or not usable",
		"measure the resistor with a meter and give its value in ohm"),
	"calibration-channels": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the channels differ by up to %.0f %%, so they were not connected to the same point", 100*n.Num("difference")),
			"connect both inputs to the amplifier's output, set both to the same gain, and record again"
	},
	"calibration-open": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("with the leads open the bench reads %.3g ohm", n.Num("reading")), "take the driver off and keep the lead ends apart"
	},
	"calibration-short": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("with the leads shorted the bench reads %.3g ohm", n.Num("reading")), "join the lead ends firmly, where the driver's terminals would be"
	},
	"calibration-load": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the resistor of %.4g ohm reads %.4g ohm", n.Num("resistor"), n.Num("reading")), "check the value of both resistors and the wiring"
	},
}
