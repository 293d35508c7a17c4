package wording

import (
	"fmt"
	"math"
	"strings"

	"conewright/ts/notice"
)

// sameSignalHints say what to do when both channels record the same, by wiring.
var sameSignalHints = map[string]string{
	"resistor-first": "connect channel 2 to the node between resistor and driver; if it is there, no driver is connected to the terminals",
	"driver-first":   "connect channel 2 to the node between driver and resistor; if it is there, the terminals of the driver are shorted",
	"probes":         "connect channel 1 across the driver and channel 2 across the resistor",
}

// otherBenches say what to try instead of a bench that turns the curve upside down.
var otherBenches = map[string]string{
	"driver-first": "--wiring driver-first", "resistor-first": "--wiring resistor-first",
	"swap": "--swap-channels", "no-swap": "no --swap-channels",
}

// deadChannel is what to do about a channel that records nothing of its own.
func deadChannel(n notice.Notice) string {
	hint := "check plug, cable and gain of that input, and that the recorder listens to the input you connected"
	if n.Int("input") != 2 {
		return hint
	}
	if n.Text("wiring") == "resistor-first" {
		return hint + "; shorted terminals of the driver would do the same"
	}
	return hint + "; a driver that is open or not connected would do the same"
}

// clipping says how much of a channel is clipped and where it begins.
func clipping(n notice.Notice) string {
	return fmt.Sprintf("channel %d is clipped at %.0f %% of full scale in %d samples (%.2g %%), first %.2f s from the start",
		n.Int("channel"), 100*n.Num("level"), n.Int("samples"), 100*n.Num("share"), n.Num("first"))
}

// recordingSentences say why a recording is of no use, and what to know about one that is.
var recordingSentences = map[string]sentence{
	"recording-lengths": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the channels have %d and %d samples", n.Int("channel-1"), n.Int("channel-2")), "record both channels in one stereo file"
	},
	"recording-empty": fixed("the recording holds no samples", "record again"),
	"recording-outside": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%d and %d samples from sample %d onwards do not lie within a recording of %d", n.Int("channel-1"), n.Int("channel-2"), n.Int("from"), n.Int("frames")), "read less"
	},
	"bad-sample": func(n notice.Notice) (string, string) {
		if v := n.Num("value"); math.Abs(v) < math.Inf(1) {
			return fmt.Sprintf("sample %d is %.3g times full scale", n.Int("sample"), v), damagedWAV
		}
		return fmt.Sprintf("sample %d is not a finite number", n.Int("sample")), damagedWAV
	},
	"sample-rate": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sample rate is %g Hz", n.Num("rate")), "record at 44100, 48000 or 96000 Hz; if you did, the header of the file is damaged"
	},

	"silence": fixed("both channels are silent",
		"check that the recorder listened to the inputs that are connected, and that the signal was playing"),
	"no-signal": fixed("the two channels have no signal in common",
		"check that the test signal was playing and that both channels were recorded"),
	"channel-silent": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("channel %d is silent", n.Int("channel")), deadChannel(n)
	},
	"channel-noise": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("channel %d records only noise, and nothing of what channel %d records", n.Int("channel"), n.Int("other")), deadChannel(n)
	},
	"channel-trace": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("channel %d records only a trace of what channel %d records, %.2g %% of it", n.Int("channel"), n.Int("other"), 100*n.Num("share")), deadChannel(n)
	},
	"same-signal": func(n notice.Notice) (string, string) {
		return "both channels record the same signal", sameSignalHints[n.Text("wiring")] + "; this is also what a recording of the computer's own output looks like"
	},
	"channels-swapped": func(n notice.Notice) (string, string) {
		return louder(n), "the channels seem to be swapped: say so with --swap-channels, or change them over"
	},
	"channels-not-swapped": func(n notice.Notice) (string, string) {
		return louder(n), "the channels are probably not swapped: leave out --swap-channels"
	},
	"polarity": fixed("the two channels have opposite polarity",
		"one input is wired the wrong way round: change its two leads over and record again"),
	"negative-resistance": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the impedance has a negative real part at %d of %d frequencies, at %.4g Hz for one", n.Int("points"), n.Int("of"), n.Num("frequency")),
			"no driver does that: check the wiring, the order of the channels, and that both come from the same interface"
	},
	"wrong-wiring": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the curve is upside down for the wiring %s: a dip where the resonance should rise", n.Text("wiring")),
			"resistor, driver or channels are probably not where the bench says: try " + otherBenches[n.Text("try")]
	},
	"two-sweeps": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the file holds two runs that do not agree: at %.4g Hz they differ by %.0f %%", n.Num("frequency"), 100*n.Num("difference")),
			"put each condition into a file of its own"
	},
	"clipped": func(n notice.Notice) (string, string) {
		return clipping(n), "turn down the gain of that input, or the amplifier, until the peaks stay below full scale, and record again"
	},

	"clipped-slightly": func(n notice.Notice) (string, string) {
		return clipping(n), "turn that input down a little and record again"
	},
	"soft-clipping": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("channel %d clips softly: it loses %.1f %% of its gain where it is loudest, and the impedance is off by about as much", n.Int("channel"), 100*n.Num("loss")),
			"turn that input down until its peaks are 10 dB lower and record again"
	},
	"dc-offset": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("channel %d has a constant offset of %.0f %% of full scale", n.Int("channel"), 100*n.Num("offset")),
			"no harm to the result; if it comes from the amplifier, direct current pushes the cone out of its rest position"
	},
	"level-low": func(n notice.Notice) (string, string) {
		switch {
		case n.Has("peak"):
			return fmt.Sprintf("the recording is very quiet, with peaks at %.0f dB below full scale", -20*math.Log10(n.Num("peak"))),
				"turn up the inputs, not the amplifier, until the peaks are at 6 to 20 dB below full scale"
		case n.Has("steps"):
			return fmt.Sprintf("channel %d is so quiet that its peaks are only %.0f steps of the recorder high", n.Int("channel"), n.Num("steps")),
				"turn up that input, or record with 24 bit"
		}
		return fmt.Sprintf("the driver gets %.2g mV rms only", 1e3*n.Num("voltage")), "turn the amplifier up to about 0.1 V rms at the driver"
	},
	"level-high": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the driver gets %.2g V rms, which is not small-signal", n.Num("voltage")), "turn the amplifier down to about 0.1 V rms at the driver"
	},
	"hum": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is mains hum at %g Hz and its harmonics; frequencies near it were left out or weigh less", n.Num("mains")),
			"keep the leads away from mains transformers, and use one socket for all devices"
	},
	"noisy": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the noise is %.1f %% of the impedance", 100*n.Num("noise")),
			"turn up the inputs, play a longer signal, or use a series resistor nearer to the driver's impedance"
	},
	"level-changes": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%.1f s from the start the level changes by a factor of %.2f", n.Num("at"), n.Num("factor")),
			"leave all controls alone while recording; what depends on level, such as the suspension, is now a mixture"
	},
	"unsteady-contact": func(n notice.Notice) (string, string) {
		return "the contact was not steady: " + unsteady(n),
			"press the leads firmly to the terminals and record again; if it stays, listen for a coil that scrapes"
	},
	"contact-not-watched": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the recording lasts %.0f minutes, and contacts that open were looked for in the first %.0f only", n.Num("to")/60, n.Num("from")/60),
			"record for a shorter time: some minutes are enough for any signal"
	},
	"distortion": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("distortion is %.1f %% of the signal (even %.1f %%, odd %.1f %%): the level is too high for small-signal values",
				100*n.Num("total"), 100*n.Num("even"), 100*n.Num("odd")),
			"turn the amplifier down; if distortion stays, look for a rubbing coil or a clipping amplifier"
	},
}

// louder says which channel is the louder one and should not be.
func louder(n notice.Notice) string {
	return fmt.Sprintf("channel %d is louder than channel %d, which is connected to the amplifier", n.Int("channel"), n.Int("amplifier"))
}

// unsteady says what a poor contact did: jumps that stayed in, jumps that were left out,
// or points that were.
func unsteady(n notice.Notice) string {
	switch {
	case n.Has("kept"):
		if n.Int("kept") == 1 {
			return fmt.Sprintf("channel %d jumps once, and that part could not be left out", n.Int("channel"))
		}
		return fmt.Sprintf("channel %d jumps %d times, and not all of those parts could be left out", n.Int("channel"), n.Int("kept"))
	case n.Has("gaps"):
		if n.Int("gaps") == 1 {
			return fmt.Sprintf("%.1f s from the start channel %d jumps, and that part was left out", n.Num("first"), n.Int("channel"))
		}
		return fmt.Sprintf("%d times, first %.1f s from the start, channel %d jumps, and those parts were left out", n.Int("gaps"), n.Num("first"), n.Int("channel"))
	}
	return "at " + someHz(n.Facts["frequencies"].([]float64)) + " the curve jumps, and those points were left out"
}

// someHz lists frequencies for a sentence.
func someHz(f []float64) string {
	var words []string
	for _, v := range f[:min(3, len(f))] {
		words = append(words, fmt.Sprintf("%.4g", v))
	}
	text := strings.Join(words, ", ") + " Hz"
	if len(f) > 3 {
		text += fmt.Sprintf(" and %d more", len(f)-3)
	}
	return text
}
