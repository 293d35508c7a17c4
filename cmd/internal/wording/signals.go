package wording

import (
	"fmt"

	"conewright/ts/notice"
)

// signalSentences say why a test signal cannot be made, and why the virtual bench cannot
// record.
var signalSentences = map[string]sentence{
	"signal-kind": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no test signal with the number %d", n.Int("kind")), "use sweep, multitone or pink-noise"
	},
	"signal-rate": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a sample rate of %d Hz is not usable", n.Int("rate")), "use the rate of the sound card, 48000 or 96000 Hz"
	},
	"signal-band": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the band from %g to %g Hz is empty", n.Num("low"), n.Num("high")), "the lower limit must be positive and below the upper one"
	},
	"signal-above-rate": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%g Hz cannot be played at a sample rate of %d Hz", n.Num("high"), n.Int("rate")), "lower the upper limit or raise the sample rate"
	},
	"signal-short": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%g s is too short to start at %g Hz", n.Num("duration"), n.Num("low")), "make it longer or raise the lower limit"
	},
	"signal-long": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a signal of %g s is too long", n.Num("duration")), "10 to 60 s are enough"
	},
	"signal-level": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the level %g is not usable", n.Num("level")), "give a fraction of full scale between 0 and 1"
	},
	"signal-fade": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a fade of %g s is not usable", n.Num("fade")), "use a fraction of a second"
	},
	"signal-period": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a period of %g s does not fit a band from %g Hz and a duration of %g s", n.Num("period"), n.Num("low"), n.Num("duration")),
			"use a period of at least 1/lower limit, and at least three of them"
	},
	"signal-empty": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is no tone between %g and %g Hz", n.Num("low"), n.Num("high")), "widen the band or lengthen the period"
	},

	"virtual-driver":       fixed("the virtual bench has no driver, or one that cannot be", "give its impedance over frequency, or a mass, an inductance and springs above zero"),
	"virtual-flaw-in-time": fixed("the virtual bench does not load its inputs, or distort them, with a driver that is followed in time", "leave out these errors"),
	"virtual-signal": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%d samples at %d Hz cannot be played", n.Int("samples"), n.Int("rate")), "play at least one sample, at 1 kHz to 2 MHz"
	},
	"virtual-flaw": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the virtual bench cannot have the %s %g", n.Text("flaw"), n.Num("value")), fmt.Sprintf("it lies from %g to %g", n.Num("low"), n.Num("high"))
	},
	"virtual-long": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a recording of %.0f samples is too long", n.Num("samples")), fmt.Sprintf("record at most %.0f", n.Num("most"))
	},
	"virtual-impedance": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the impedance at %g Hz is not a finite number", n.Num("frequency")), "check the driver"
	},
	"virtual-cut": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("nothing is left of %d samples after the cuts", n.Int("samples")), "cut less"
	},
}
