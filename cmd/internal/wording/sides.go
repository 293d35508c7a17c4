package wording

import (
	"fmt"

	"conewright/ts/notice"
	"conewright/ts/repeat"
)

// AssumedRepeatability is the warning for a judgement that rests for a part on how benches repeat as a rule.
func AssumedRepeatability() Said { return Notice(*notice.New(repeat.Assumed, nil)) }

// Percent writes a relative standard deviation in percent.
func Percent(x float64) string { return fmt.Sprintf("%.2g %%", 100*x) }

// sideSentences are the sentences about how the drivers of a report were measured, which
// the command finds itself.
var sideSentences = map[string]sentence{
	repeat.Assumed: func(notice.Notice) (string, string) {
		s := repeat.Usual.Within(repeat.Session).Std
		return fmt.Sprintf("how this bench repeats is assumed: from session to session Fs to %.2g %%, Qms to %.2g %%, Re to %.2g %% (standard deviations), as is usual; the intervals hold that",
				100*s[0], 100*s[1], 100*s[2]),
			"conewright repeat finds out how far this bench really repeats, from some 20 sweeps of one driver on several days"
	},
	"bad-repeatability": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("no bench repeats as is said of it under %q", n.Text("kind")),
			"standard deviations lie from 0 to 50 %, correlations from -1 to 1 and go together, and there is half a degree of freedom at least; conewright repeat writes such a table"
	},
	"repeat-too-few": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s cannot show how a bench repeats", count(int(n.Num("readings")), "sweep")),
			fmt.Sprintf("at least %v sweeps of one driver are needed; 20 are good: on five days, each day twice taken off and put back, each time swept twice", n.Num("least"))
	},
	"bench-has-repeatability": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s has a table [repeatability] already, and it is kept", n.Text("path")),
			"--force replaces it; the rest of the file stays as it is"
	},
	"levels-apart": func(n notice.Notice) (string, string) {
		if n.Facts["volts"] == true {
			return fmt.Sprintf("the driver got %.2g V rms before and %.2g V after: a suspension answers differently when it moves farther, which may be all that changed in Fs, Qms and Cms; their uncertainty holds that", n.Num("before"), n.Num("after")),
				"set the amplifier to one level and measure both again"
		}
		return fmt.Sprintf("the recording after is at %.2g times the level of the one before; if the driver was played to louder or more softly, that alone may change Fs, Qms and Cms, and their uncertainty does not hold it", n.Num("after")/n.Num("before")),
			"measure both at one level, and give --full-scale so that volts are known"
	},
	"levels-differ": func(n notice.Notice) (string, string) {
		if n.Facts["volts"] == true {
			return fmt.Sprintf("the sweeps were not taken at one level: one has %.2g V rms at the driver, another %.2g V; the suspension answers differently, and the values are a mixture", n.Num("first"), n.Num("other")),
				"leave the amplifier alone between the sweeps and measure again, unless they were meant to differ"
		}
		return fmt.Sprintf("the sweeps were not recorded at one level: one is at %.2g times another; if the amplifier was turned, the values are a mixture", n.Num("other")/n.Num("first")),
			"leave the amplifier alone between the sweeps, and give --full-scale so that volts are known"
	},
	"benches-differ": fixed("the sides were measured with different bench settings, so that errors of the bench do not cancel",
		"measure both on the same bench for a sharper comparison"),
}
