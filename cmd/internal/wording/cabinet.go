package wording

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"conewright/ts/boxed"
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
	"no-second-peak": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there are no two peaks with a dip between them from %s to %s, as a vented box has", hertz(n.Num("from")), hertz(n.Num("to"))),
			"begin the sweep at 5 Hz; with one peak the box is closed, or its port is blocked: leave out --vented, and look into the port"
	},
	"load-in-cabinet":    fixed("a sweep in a cabinet has a load on its cone", "name sweeps of the driver as it works in its cabinet"),
	"closed-with-tuning": fixed("a closed box has no tuning", "leave out --tuning, or --closed"),
	"cabinet-losses-unseen": func(n notice.Notice) (string, string) {
		hint := "give the driver as it is in free air: --driver fit.json"
		if fact[bool](n, "driver") {
			hint = "nothing needs doing: so small they hardly matter"
		}
		return "the losses of the box are too small, or too much like those of the suspension, to be seen", hint
	},
	"cabinet-losses-together": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the curve does not tell %s apart from the other losses of box and driver; QB is that of all losses of the box together", List(strings.Fields(n.Text("quantities")))),
			"use QB; the driver in free air (--driver) tells some of them apart"
	},
	"cabinet-without-driver": func(n notice.Notice) (string, string) {
		if n.Text("kind") == "closed" {
			return "how stiff the air of the box is beside the suspension is not known without the driver in free air; Re and Qec suffer too",
				"give the driver as it is in free air: --driver fit.json; or Re by a meter: --dc"
		}
		return "the volume that the air of the box acts as is not known without the driver in free air", "give it: --driver fit.json, fitted with a mass on the cone and its diameter"
	},
	"cabinet-no-overlap": fixed("the two sweeps have hardly a frequency in common", "sweep both from 5 Hz to 2 kHz"),
	"cabinet-without-vas": fixed("the volume that the air of the box acts as is not known, since the fit of the driver has no Vas",
		"fit the driver with a known mass on the cone and the diameter of the cone"),
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

// Cabinets says in sentences what a box is, and what is wrong with it.
func Cabinets(label string, m *boxed.Measured) []string {
	var say []string
	p := m.Parameters
	head := ""
	if label != "" {
		head = strings.ToUpper(label[:1]) + label[1:] + ": "
	}
	text := func(id param.ID) string {
		e, _ := p.Get(id)
		return valueText(id, e.Value, e.Std)
	}
	if m.Kind == boxed.Closed {
		say = append(say, head+fmt.Sprintf("A closed box: the driver resonates at %s in it, with a Qtc of %s.", text(param.Fc), text(param.Qtc)))
	} else {
		say = append(say, head+fmt.Sprintf("A vented box tuned to %s; its losses have a Q of %s. |Z| has its peaks at %s and %s.",
			text(param.Fb), text(param.QB), hertz(m.Peaks[0].Freq), hertz(m.Peaks[1].Freq)))
	}
	if v, ok := p.Get(param.Vab); ok {
		say[0] += fmt.Sprintf(" Its air acts as %.3g L (95 %%: %.3g to %.3g).", 1e3*v.Value, 1e3*v.Low, 1e3*v.High)
	}
	for _, f := range m.Findings {
		say = append(say, Finding(f))
	}
	return say
}

// BoxesHeadline says in one line what differs between two boxes.
func BoxesHeadline(c *boxed.Compared, labels [2]string) string {
	f := c.Finding
	switch {
	case f.Fault == boxed.NoChange && c.Explained:
		return "NO DIFFERENCE BEYOND WHAT A BENCH SCATTERS"
	case !c.Explained:
		return "DIFFERENT, AND NOTHING KNOWN FOLLOWS IT"
	case !f.Sure:
		return "DIFFERENT: perhaps " + faultWords[f.Fault][0] + " (" + labels[c.Which] + ")"
	}
	return "DIFFERENT: " + faultWords[f.Fault][0] + " (" + labels[c.Which] + ")"
}

// BoxesCompared says in sentences what differs between two boxes.
func BoxesCompared(c *boxed.Compared, labels [2]string) []string {
	f := c.Finding
	size := fmt.Sprintf("The two curves differ by %.2g %% rms", 100*c.Size)
	switch {
	case f.Fault == boxed.NoChange && c.Explained:
		return []string{size + ", which temperature, clamping and the scatter of a suspension explain."}
	case !c.Explained:
		return []string{fmt.Sprintf("%s; the nearest, %s, leaves %.2g %% of it. Several things may have changed at once, or something that works above the resonance: the table says where.",
			size, faultWords[f.Fault][0], 100*c.Rms)}
	}
	s := size + ", which " + faultWords[f.Fault][0] + " explains (" + labels[c.Which] + ")"
	if len(f.Rivals) > 0 {
		var names []string
		for _, r := range f.Rivals {
			names = append(names, faultWords[r][0])
		}
		s += "; " + List(names) + " would follow nearly as well"
	} else {
		s += "; nothing else that is known follows as well"
	}
	s += "."
	if look := faultWords[f.Fault][1]; look != "" {
		s += " " + strings.ToUpper(look[:1]) + look[1:] + "."
	}
	return []string{s}
}

// WholeCompared says how two whole loudspeakers differ, of whose parts there is no list. Half a percent rms is what contacts and temperature leave.
func WholeCompared(c *boxed.Compared) (headline string, body []string) {
	size := fmt.Sprintf("These are whole loudspeakers, by the shape of the curves, and they differ by %.2g %% rms", 100*c.Size)
	if c.Size < likeAgain {
		return "NO DIFFERENCE BEYOND WHAT A BENCH SCATTERS", []string{size + ", as contacts and temperature make it."}
	}
	return "DIFFERENT", []string{size + ". Which part it is cannot be known without the list of the parts: add --network. The table says where they differ, and what works there."}
}

// likeAgain is the rms of ln(Z1/Z0) that two sweeps of one loudspeaker differ by; judgement, as for boxes.
const likeAgain = 0.006

// Works says what decides the impedance in an octave.
func Works(w boxed.Works) string {
	return map[boxed.Works]string{boxed.DriverAndBox: "lowest driver and its box", boxed.CoilOfDriver: "coil, leads and contacts",
		boxed.LowestBranch: "branch of the lowest driver", boxed.UpperBranch: "branches above it"}[w]
}

// WorksNote says how far the words of [Works] go.
func WorksNote(c *boxed.Compared) string {
	whole := slices.ContainsFunc(c.Bands, func(b boxed.Band) bool { return b.Works == boxed.LowestBranch || b.Works == boxed.UpperBranch })
	switch {
	case !slices.ContainsFunc(c.Bands, func(b boxed.Band) bool { return b.Works != "" }):
		return "No resonance of a driver is clear in the curve, so it does not say what works where."
	case whole:
		return fmt.Sprintf("What works there is by the shape of the curve, whose branches meet at the peak of %s; around it both work. Which part of a branch differs cannot be known from this: "+
			"a capacitor, a coil, a contact and a driver look alike. The list of the parts says more: --network. Reversed polarity cannot be seen.", hertz(c.Crossover))
	case slices.ContainsFunc(c.Bands, func(b boxed.Band) bool { return b.Works == "" }):
		return "Branches side by side show in the curve, but no peak between them: above the resonance it does not say what works where. The list of the parts does: --network."
	}
	return "What works there is by the shape of the curve, which is that of one driver."
}

// faultWords are faults as they begin a sentence, and what to look at.
var faultWords = map[boxed.Fault][2]string{
	boxed.NoChange:      {"nothing that the curves show", ""},
	boxed.Leak:          {"a leak of the box", "look at the gasket and the screws of the driver, the terminals, and joints of the cabinet; a leak is heard as a hiss at a loud low tone"},
	boxed.PortBlocked:   {"a blocked port", "look into the port for foam, dust or a shipping plug"},
	boxed.PortChanged:   {"another tuning of the port", "look whether the tube of the port is whole, sits as deep as before and is free"},
	boxed.MoreFilling:   {"more filling in the box", "look at the wool or foam in the cabinet"},
	boxed.LessFilling:   {"less filling in the box", "look at the wool or foam in the cabinet"},
	boxed.LessVolume:    {"a smaller volume", "look for what stands in the cabinet, whether the volume that was given is that of the air inside, and at the diameter of the cone, of which 1 % are 4 % of this volume"},
	boxed.MoreVolume:    {"a larger volume", "look for a missing partition, whether the volume that was given is that of this driver, and at the diameter of the cone, of which 1 % are 4 % of this volume"},
	boxed.Softer:        {"a softer suspension", "sweep the driver in free air"},
	boxed.Stiffer:       {"a stiffer suspension", "sweep the driver in free air"},
	boxed.Heavier:       {"more moving mass", "sweep the driver in free air"},
	boxed.Lighter:       {"less moving mass", "sweep the driver in free air"},
	boxed.MoreLosses:    {"more mechanical losses of the driver", "listen to the coil at a low tone, and sweep the driver in free air"},
	boxed.LessLosses:    {"less mechanical losses of the driver", "sweep the driver in free air"},
	boxed.WeakerMotor:   {"a weaker motor", "sweep the driver in free air"},
	boxed.StrongerMotor: {"a stronger motor", "sweep the driver in free air"},
	boxed.Series:        {"resistance in series", "look at contacts, leads and terminals"},
	boxed.LessSeries:    {"less resistance in series", "look at contacts, leads and terminals"},
}

// FaultName names a fault in a list: "a leak of the box", "perhaps a blocked port".
func FaultName(f boxed.Fault, sure bool) string {
	if sure || f == boxed.NoChange {
		return faultWords[f][0]
	}
	return "perhaps " + faultWords[f][0]
}

// Finding says one finding as a sentence.
func Finding(f boxed.Finding) string {
	words := faultWords[f.Fault]
	start := "The curve points to "
	if f.Sure {
		start = "The curve shows "
	}
	s := start + words[0]
	if id, ok := f.Facts["quantity"].(param.ID); ok {
		low, high := f.Facts["low"].(float64), f.Facts["high"].(float64)
		s += fmt.Sprintf(": the %s is %s (95 %%: %s), and %s was expected", Name(id), valueText(id, f.Facts["value"].(float64), (high-low)/4),
			rangeText(id, low, high), valueText(id, f.Facts["wanted"].(float64), 0))
	}
	if f.Fault == boxed.PortBlocked && f.Facts["tuning"] != nil {
		s += fmt.Sprintf(": it has one peak, at %s, and a box that is open at %s has two", hertz(f.Facts["peak"].(float64)), hertz(f.Facts["tuning"].(float64)))
	}
	if len(f.Rivals) > 0 {
		var names []string
		for _, r := range f.Rivals {
			names = append(names, faultWords[r][0])
		}
		s += "; it cannot be told apart from " + List(names)
	}
	s += "."
	if words[1] != "" {
		s += " " + strings.ToUpper(words[1][:1]) + words[1][1:] + "."
	}
	return s
}
