package wording

import (
	"fmt"

	"conewright/ts/notice"
	"conewright/ts/terminals"
)

// terminalSentences are about a whole loudspeaker at its terminals.
var terminalSentences = map[string]sentence{
	"fingerprint-few-points": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the sweep has %s, too few to tell parts apart", count(n.Int("points"), "point")), "sweep the whole loudspeaker from 10 Hz to 20 kHz"
	},
	"fingerprint-driver": func(n notice.Notice) (string, string) {
		if n.Text("part") == "" {
			return "the list has several drivers, or none", "name the one of the fit as in the list: --driver woofer=fit.json"
		}
		return fmt.Sprintf("the list has no driver %q", n.Text("part")), "name it as in the list: --driver woofer=fit.json"
	},
	"fingerprint-coil": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the fit of %s has no coil at 1 kHz, or none with a loss", n.Text("part")), "sweep the driver in free air up to 2 kHz or more, and fit it again"
	},
	"fingerprint-resonance": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the list gives %s a resistance and no resonance, and that of the fit is not the one in the cabinet", n.Text("part")), "give Fs, Qms and Qes of the driver as it works in its cabinet in the list"
	},
	"fingerprint-no-list": fixed("the curve does not follow the list of parts at all", "compare the list with the circuit: nodes, units and values"),
}

// suspectWords is a part with its fault: "C1 is 5.4 uF, 0.80 times its value in the list".
func suspectWords(s terminals.Suspect) string {
	switch s.Fault {
	case terminals.Open:
		return s.Part + " is open, or what leads to it"
	case terminals.Shorted:
		return s.Part + " is shorted"
	case terminals.OtherValue:
		return fmt.Sprintf("%s has %.2f times its value", s.Part, s.Ratio)
	case terminals.Resistance:
		return fmt.Sprintf("%s has %.2g ohm more in series", s.Part, s.Value)
	}
	return "no part is at fault"
}

// Fingerprint says what the curve of a whole loudspeaker says of its parts: a line, and paragraphs.
func Fingerprint(f *terminals.Found) (headline string, body []string) {
	size := fmt.Sprintf("The curve differs from what it should be by %.2g %% rms", 100*f.Rms)
	what := suspectWords(f.Suspect)
	switch {
	case f.Fault == terminals.NoFault && f.Explained:
		return "NO PART AT FAULT THAT THE CURVE SHOWS", []string{size + ", which the tolerances of the parts explain."}
	case !f.Explained:
		return "DIFFERENT, AND NO SINGLE PART FOLLOWS IT", []string{size + "; the nearest is that " + what + ", which does not follow it. Several parts may be at fault, or the list is not that of this loudspeaker. The table says where it differs, and which driver works there."}
	case f.Sure:
		return "DIFFERENT: " + what, []string{size + "; nothing else of the list follows it as well. Measure the part by itself, one end lifted: conewright part."}
	}
	say := size + "; it may be that " + what
	if len(f.Rivals) > 0 {
		var names []string
		for _, r := range f.Rivals {
			names = append(names, suspectWords(r))
		}
		say += ". It cannot be told apart from this: " + List(names)
	} else {
		say += ". With a curve of the same loudspeaker before, or of its twin, it could be sure"
	}
	return "DIFFERENT: perhaps " + what, []string{say + ". Measure the parts by themselves, one end lifted: conewright part."}
}
