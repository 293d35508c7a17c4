package wording

import (
	"fmt"
	"math"
	"strings"

	"conewright/cmd/internal/quantity"
	"conewright/ts/lot"
	"conewright/ts/network"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/part"
	"conewright/ts/verdict"
)

// Wanted is what a part is said to be.
type Wanted struct {
	Given bool
	Kind  network.Kind
	Text  string // "8 uF"
}

// Other says whether a part is of another kind.
func (w Wanted) Other(kind network.Kind) bool { return w.Given && w.Kind != kind }

// PartKind names a kind with its article: "a capacitor".
func PartKind(kind network.Kind) string { return "a " + kind.String() }

// OtherPart says that a part is not what it is said to be.
func OtherPart(f *part.Found, w Wanted) string {
	return fmt.Sprintf("it is %s of %s and not %s of %s", PartKind(f.Kind), mainValue(f), PartKind(w.Kind), w.Text)
}

// mainValue is the value by which a part is bought: "8.02 uF".
func mainValue(f *part.Found) string {
	e, _ := f.Parameters.Get(part.Main(f.Kind))
	return valueText(e.ID, e.Value, e.Std)
}

// Part says in one sentence what a part is.
func Part(f *part.Found) string {
	say := fmt.Sprintf("%s of %s at %s", upperFirst(PartKind(f.Kind)), mainValue(f), hertz(f.Frequency))
	with := func(id param.ID, name string) string {
		if f.Kind == network.Resistor { // its inductance is a thousandth of that of a coil
			if most, ok := f.Bounds[id]; ok {
				return fmt.Sprintf("%s below %.2g uH", name, 1e6*most)
			}
			e, _ := f.Parameters.Get(id)
			return fmt.Sprintf("%s %.2g uH", name, 1e6*e.Value)
		}
		if most, ok := f.Bounds[id]; ok {
			return fmt.Sprintf("%s below %s", name, valueText(id, most, most/4))
		}
		if e, ok := f.Parameters.Get(id); ok {
			return fmt.Sprintf("%s %s", name, valueText(id, e.Value, e.Std))
		}
		return ""
	}
	var more []string
	for _, one := range map[network.Kind][]struct {
		id   param.ID
		name string
	}{
		network.Capacitor: {{param.ESR, "ESR"}, {param.TanDelta, "loss factor"}},
		network.Coil:      {{param.Rdc, "resistance at direct current"}, {param.Q, "quality factor"}},
		network.Resistor:  {{param.L, "inductance"}},
	}[f.Kind] {
		if text := with(one.id, one.name); text != "" {
			more = append(more, text)
		}
	}
	if more != nil {
		say += ", " + List(more)
	}
	return say + "."
}

// PairedParts says whether two parts match.
func PairedParts(p *lot.Paired) string {
	say := explainVerdict(p)
	if p.Verdict == verdict.OutOfSpec {
		say += " Pair each with another one."
	}
	return say
}

// Exchange says what a new part in the place of an old one does.
func Exchange(x *part.Exchange) []string {
	lo, hi := 100*(x.Size.Low-1), 100*(x.Size.High-1)
	d := percentDigits(lo, hi)
	within := fmt.Sprintf(" (95 %%: %+.*f to %+.*f)", d, lo, d, hi)
	if hi-lo < 0.02 {
		within = "" // it is known better than it is written
	}
	say := []string{fmt.Sprintf("The %s of the new %s is %+.*f %% off that of the old one%s.", Name(part.Main(x.Kind)), x.Kind, d, 100*(x.Size.Value-1), within)}
	if x.Kind != network.Resistor {
		say = append(say, lossChange(x))
	}
	if x.In == "" {
		return say
	}
	as := fmt.Sprintf("As %s of the network", x.In)
	if math.Abs(x.Drivers[0].Largest) < unheard {
		return append(say, fmt.Sprintf("%s it changes what the drivers get by %.2f dB at most: no need to do anything.", as, math.Abs(x.Drivers[0].Largest)))
	}
	if d := x.ByLoss; math.Abs(d.Largest) >= unheard && x.Loss.Told(0) {
		effect := fmt.Sprintf("%s, by its resistance alone: %s %s %s", as, d.Name, decibels(d.Largest), between(d))
		if x.Restoring > 0 {
			effect += fmt.Sprintf("; a resistor of %s in series with the new part restores it", ohms(x.Restoring))
		} else {
			effect += "; nothing in series takes resistance away: take a part with less of it"
		}
		say = append(say, effect+".")
	}
	if d := x.BySize; math.Abs(d.Largest) >= unheard {
		say = append(say, fmt.Sprintf("%s, by its %s: %s %s %s.", as, Name(part.Main(x.Kind)), d.Name, decibels(d.Largest), between(d)))
	}
	return say
}

// decibels writes a change of level: "+0.8 dB".
func decibels(d float64) string { return fmt.Sprintf("%+.1f dB", d) }

// unheard is the change in dB below which nothing has to be done: half of what is just noticed where hearing is best.
const unheard = 0.1

func lossChange(x *part.Exchange) string {
	if !x.Loss.Told(0) {
		return fmt.Sprintf("Its resistance in series is the same to within %s (95 %%).", ohms(math.Max(math.Abs(x.Loss.Low), math.Abs(x.Loss.High))))
	}
	word, lo, hi := "more", x.Loss.Low, x.Loss.High
	if x.Loss.Value < 0 {
		word, lo, hi = "less", -hi, -lo
	}
	return fmt.Sprintf("It has %s %s in series at %s (95 %%: %s to %s).", ohms(math.Abs(x.Loss.Value)), word, hertz(x.Frequency), plainNumber(lo), plainNumber(hi))
}

// between says where a change is.
func between(d part.DriverChange) string {
	switch {
	case d.ToTheEnd:
		return "above " + hertz(d.Between[0])
	case d.Between[0] < 25:
		return "below " + hertz(d.Between[1])
	}
	return fmt.Sprintf("from %s to %s", plainNumber(d.Between[0]), hertz(d.Between[1]))
}

// ohms writes a resistance with two digits: "0.50 ohm".
func ohms(r float64) string {
	if r < 1 {
		return fmt.Sprintf("%.2f ohm", r)
	}
	return fmt.Sprintf("%.2g ohm", r)
}

// PartCautions are what to mind with parts.
func PartCautions(kind network.Kind) []string {
	say := []string{"Measure a part out of its circuit, or with one end lifted. Nothing else is connected to it: no amplifier, no mains."}
	if kind == network.Capacitor {
		say = append(say, "Discharge a capacitor through a resistor before it is touched or connected.")
	}
	return append(say, "Local codes and licensed practice come first.")
}

// partSentences are about parts of a network.
var partSentences = map[string]sentence{
	"terms-order": fixed("the recordings of the joined lead ends, of the known resistor and of the open lead ends do not go together",
		"see that --short, --load and --open name the right files, and that the wiring (--wiring) and the channels (--swap-channels) are those of the bench"),
	"terms-load": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the recording of the known resistor is of something else: its phase is %.0f degrees", n.Num("phase")), "see that --load names the right file; take a film resistor of 50 to 200 ohm"
	},
	"terms-missing": func(n notice.Notice) (string, string) {
		var costs []string
		for _, term := range strings.Fields(n.Text("terms")) {
			costs = append(costs, map[string]string{
				"open":  "without --open, what lies across the part counts into it: 0.1 nF and the inputs are assumed",
				"short": "without --short, the leads count into the resistance: up to 0.1 ohm is assumed where --leads does not say it",
				"load":  "without --load, the tolerance of the series resistor and the difference of the channels are in every value",
			}[term])
		}
		return "not all known things were recorded: " + strings.Join(costs, "; "), "record it with the same leads and settings; all three together correct the bench whatever its wiring"
	},
	"part-magnitude": fixed("a curve without phase does not tell what a part is", "measure with both channels, or give a table with its phase"),
	"part-few-points": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("only %d points tell the part from the noise; %d are needed", n.Int("points"), n.Int("least")), "play louder or longer, and see that the clips hold"
	},
	"part-open": fixed("nothing is connected between the lead ends, or the part is open inside", "see that the clips hold; an open part is defective"),
	"part-joined": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the lead ends are joined, or the part is shorted inside: %.3g ohm at all frequencies", n.Num("resistance")), "see that the clips do not touch; a shorted part is defective"
	},
	"part-outside": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is outside of the curve, which goes from %s to %s", hertz(n.Num("frequency")), hertz(n.Num("low")), hertz(n.Num("high"))), "choose a frequency within with --at"
	},
	"part-unreadable": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("at %s the curve is not that of a %s", hertz(n.Num("frequency")), n.Text("kind")), "name another frequency with --at, or another kind with --kind"
	},
	"part-several": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("this is not a single part: its phase goes from %.0f to %+.0f degrees, as that of a driver or of several parts does", n.Num("low"), n.Num("high")),
			"take the part out of its circuit, or lift one end of it; if it is one part after all, name it with --kind"
	},
	"part-doubtful": func(n notice.Notice) (string, string) {
		size := valueText(param.L, n.Num("size"), 0)
		if n.Text("kind") == network.Capacitor.String() {
			size = valueText(param.C, n.Num("size"), 0)
		}
		return fmt.Sprintf("the curve may be that of a %s of %s, or of a resistor of %s", n.Text("kind"), size, quantity.Resistance.Format(math.Round(n.Num("resistance")*1e3)/1e3)),
			fmt.Sprintf("say which: --kind %s or --kind resistor", n.Text("kind"))
	},
	"part-beside": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("something of about %.2g ohm lies in parallel to the %s", n.Num("resistance"), n.Text("kind")), "take it out of its circuit, or lift one end, and measure again"
	},
	"exchange-kinds": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the old part is a %s and the new one a %s", n.Text("before"), n.Text("after")), "name two parts of one kind"
	},
	"exchange-no-driver": fixed("the network has no driver, so nothing can be said of what it gets", `add a line such as: tweeter = { driver = "5.2 ohm", from = "high" }`),
	"exchange-unknown": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the network has no part %q", n.Text("part")), "name it as in the network file"
	},
	"exchange-other": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is a %s in the network, and a %s was measured", n.Text("part"), n.Text("kind"), n.Text("measured")), "name the part that was exchanged with --replaces"
	},
	"exchange-which": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the old part may be %s or %s of the network", n.Text("one"), n.Text("other")), "say which with --replaces"
	},
	"exchange-none": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("no %s of the network is near the old part", n.Text("kind")), "name the part that was exchanged with --replaces, and check its value in the network file"
	},
}
