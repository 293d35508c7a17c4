package wording

import (
	"fmt"
	"math"
	"strings"

	"conewright/ts/notice"
)

// saySure is what to do where a question was answered by looking. A fit that is refused
// stays so.
func saySure(n notice.Notice) string {
	if n.Has("refused") {
		return ""
	}
	return "; if you have looked and it is one driver alone, add --alone"
}

// circuitNames are what two resonances may be.
var circuitNames = map[string]string{
	"vented-box": "the driver in a vented box", "loose-mass": "a mass that sits loosely on the cone (or a part of it that has come off)",
	"two-in-series": "two drivers in series", "two-in-parallel": "two drivers in parallel",
}

// times says a ratio given as such: "1.5 times".
func times(x float64) string { return fmt.Sprintf("%.2g times", x) }

// connectedSentences say what hangs on the leads when it is not one driver alone, and what no
// driver has.
var connectedSentences = map[string]sentence{
	"leads-shorted": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the impedance is %.2g ohm throughout: the leads touch each other, or the terminals are bridged", n.Num("impedance")),
			"look at the clips and at the tinsel leads, then measure again"
	},
	"driver-disconnected": func(n notice.Notice) (string, string) {
		message := fmt.Sprintf("the impedance is %s ohm, more than any driver has", plainNumber(n.Num("impedance")))
		if fact[bool](n, "capacitive") {
			message += ", and falls as that of an open cable"
		}
		return message + ": the driver is not connected, or its coil is open", "look at the clips, then measure the coil with a meter"
	},
	"only-resistor": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the impedance is %s ohm at every frequency: this is a resistor and no driver", plainNumber(n.Num("impedance"))),
			"check where the leads go, and whether resistor and driver were exchanged"
	},
	"capacitor-in-series": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is a capacitor of about %.2g uF in series: towards low frequencies |Z| rises as 1/f, besides the peak at %s", 1e6*n.Num("capacitance"), hertz(n.Num("peak"))),
			"take the driver off its network and measure at its own terminals" + saySure(n)
	},
	"channels-late": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("one channel lags behind the other by about %.2g us (%.1f samples at 48 kHz): the phase turns with frequency as that of no driver", 1e6*n.Num("time"), 48e3*n.Num("time")),
			"record both channels with one device, turn its effects off, or measure both inputs on one point: conewright calibrate --channels" + saySure(n)
	},
	"channels-coupled-apart": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("towards low frequencies the phase turns as that of no driver: it looks like two inputs whose AC coupling differs (lower limits near %s and %s), which makes %s of the impedance at %s, and Re and the Q values are wrong by it",
				number2(n.Num("lower"))+" Hz", number2(n.Num("upper"))+" Hz", percentOf(n.Num("off")), hertz(n.Num("from"))),
			"measure both inputs on one point (conewright calibrate --channels), or let the program that wrote the file compare its inputs, and sweep again; measure Re with a meter"
	},
	"two-resonances": func(n notice.Notice) (string, string) {
		var names []string
		for _, k := range strings.Fields(n.Text("kinds")) {
			names = append(names, circuitNames[k])
		}
		what := "this is " + names[0]
		if len(names) > 1 {
			what = "this is most likely " + names[0] + ", or " + strings.Join(names[1:], ", or ")
		}
		return fmt.Sprintf("there are two resonances, at %s and %s, with a dip near %s: %s", hertz(n.Num("lower")), hertz(n.Num("upper")), hertz(n.Num("between")), what),
			"take the driver out of its box and anything off its cone, measure two drivers one at a time, and look for parts that have come loose" + saySure(n)
	},
	"peak-clipped": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the peak was cut at %s ohm: %d points from %s to %s have that value and the flanks are steep beside them", plainNumber(n.Num("impedance")), int(n.Num("points")), hertz(n.Num("from")), hertz(n.Num("to"))),
			"choose a higher range of the meter and measure again: Qms and with it the other Q values are wrong" + saySure(n)
	},
	"curve-smoothed": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the curve was smoothed over about %.2g octaves, which widens its peak: Qms looks like %.2g and is nearer to %.2g", n.Num("octaves"), n.Num("as"), n.Num("q")),
			"export the curve without smoothing" + saySure(n)
	},
	"unusual-value": func(n notice.Notice) (string, string) {
		low, high := n.Num("low"), n.Num("high")
		switch value := n.Num("value"); n.Text("of") {
		case "Fs":
			return fmt.Sprintf("Fs would be %s, and drivers have %s to %s", hertz(value), hertz(low), hertz(high)), "check the unit of the frequencies (Hz, kHz, rad/s) and which column holds them: --columns" + saySure(n)
		case "Re":
			return fmt.Sprintf("Re would be %s ohm, and coils have %s to %s ohm", plainNumber(value), plainNumber(low), plainNumber(high)), "check the value of --resistor and the unit of the impedance: --columns" + saySure(n)
		case "L/Re":
			return fmt.Sprintf("the inductance would be %s mH for each ohm of Re, and coils have less than %s: there may be a coil of a network in series", plainNumber(1e3*value), plainNumber(1e3*high)),
				"take the driver off its network; check the unit of the frequencies" + saySure(n)
		default:
			return fmt.Sprintf("the moving mass would be %s g for each cm2 of the cone, and drivers have %s to %s", plainNumber(0.1*value), plainNumber(0.1*low), plainNumber(0.1*high)),
				"check the unit of --mass (g, not mg or kg), and whether --diameter is that of the cone and not its radius" + saySure(n)
		}
	},
	"two-drivers": func(n notice.Notice) (string, string) {
		connected := "two in parallel"
		if n.Text("kind") == "two-in-series" {
			connected = "two in series"
		}
		return fmt.Sprintf("Re is %s what it should be, and Fs %s: are these drivers %s, or is it another coil?", times(n.Num("re")), times(n.Num("fs")), connected),
			"measure one driver at a time" + saySure(n)
	},
	"in-a-box": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("Fs is %s and the Q values are %s what they should be, which is a suspension %s as stiff: is the driver in its cabinet?", times(n.Num("fs")), times(n.Num("q")), times(n.Num("stiffness"))),
			"take it out of the box and measure in free air" + saySure(n)
	},
	"mass-on-cone": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("Fs is %s and the Q values are %s what they should be, which is a moving mass %.0f %% higher: is a test mass still on the cone?", times(n.Num("fs")), times(n.Num("q")), 100*n.Num("mass")),
			"take it off and measure again, or name the sweep with --mass" + saySure(n)
	},
	"coil-in-series": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the inductance is %s what it should be and Fs is the same: is there a coil of a network in series, or another voice coil?", times(n.Num("inductance"))),
			"take the driver off its network and measure at its own terminals" + saySure(n)
	},
	"lossless-coil": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("beyond Re the phase is %.0f degrees at the highest frequencies, where the reactance is %s Re, and the iron of a motor gives a voice coil more loss: there may be a coil of a network in series", n.Num("phase")*180/math.Pi, times(n.Num("reactance"))),
			"take the driver off its network and measure at its own terminals" + saySure(n)
	},
	"resistance-in-series": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("Re is %.0f %% and the Q with it %.0f %% above what they should be, and Fs is the same: is there a resistance in series, a contact or the leads?", 100*math.Abs(n.Num("re")-1), 100*math.Abs(n.Num("q")-1)),
			"clean the contacts, give what the leads have (--leads), or compare with a meter (--dc)" + saySure(n)
	},
}
