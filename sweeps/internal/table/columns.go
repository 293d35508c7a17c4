package table

import (
	"strings"

	"conewright/ts/notice"
)

// role is what a column of a table holds.
type role uint8

const (
	ignored role = iota
	frequency
	magnitude
	phase
	realPart
	imagPart
	noise
	sourceVolts
	driverVolts
	resistorVolts
	roles // how many there are
)

// String returns the name that a column of this role has by the columns option.
func (r role) String() string {
	return [...]string{"-", "f", "|Z|", "phase", "re", "im", "sigma", "V source", "V driver", "V resistor"}[r]
}

// unit is what the numbers of a column are counted in.
type unit struct {
	name  string
	kind  kind
	scale float64 // to the SI unit
}

type kind uint8

const (
	noUnit kind = iota
	hertz
	ohms
	decibelOhms // 20 log10 of the ohms
	decibels    // of something not said
	radians
	volts
	decibelVolts
	percent
	ambiguous
)

// column is one column of a table.
type column struct {
	role   role
	unit   unit // kind noUnit: not said
	negate bool // the column holds the value with the opposite sign
	name   string
}

// fits says whether a column of this role can be counted in a unit of kind k.
func (r role) fits(k kind) bool {
	switch r {
	case frequency:
		return k == hertz
	case magnitude:
		return k == ohms || k == decibelOhms || k == decibels || k == ambiguous
	case realPart, imagPart:
		return k == ohms || k == ambiguous
	case phase:
		return k == radians
	case noise:
		return k == ohms || k == percent || k == ambiguous
	case sourceVolts, driverVolts, resistorVolts:
		return k == volts || k == decibelVolts
	}
	return true
}

const degree = 0.017453292519943295769 // rad

// lookUnit finds a unit by the name it has in a header.
func lookUnit(s string) (unit, bool) {
	s = strings.TrimSpace(s)
	s = strings.NewReplacer("Ω", "ohm", "Ω", "ohm", "º", "°", "[", "", "]", "", "(", "", ")", "").Replace(s)
	low := strings.ToLower(strings.Join(strings.Fields(s), ""))
	u := unit{name: s, scale: 1}
	switch low {
	case "hz", "hertz", "1/s", "s^-1":
		u.kind = hertz
	case "khz":
		u.kind, u.scale = hertz, 1e3
	case "rad/s":
		u.kind, u.scale = hertz, 0.15915494309189533577 // 1/(2 pi)
	case "ohm", "ohms":
		u.kind = ohms
	case "kohm", "kohms", "kiloohm", "kilohm", "kiloohms", "kilohms":
		u.kind, u.scale = ohms, 1e3
	case "mohm", "mohms", "milliohm", "milliohms":
		switch {
		case s == strings.ToUpper(s): // all capitals: milli or mega, nobody knows
			u.kind = ambiguous
		case s[0] == 'm':
			u.kind, u.scale = ohms, 1e-3
		default:
			u.kind, u.scale = ohms, 1e6
		}
	case "dbohm", "dbohms", "dbre1ohm", "dbreohm":
		u.kind = decibelOhms
	case "db":
		u.kind = decibels
	case "deg", "degree", "degrees", "°", "deg.":
		u.kind, u.scale = radians, degree
	case "rad", "radian", "radians":
		u.kind = radians
	case "v", "vrms", "volt", "volts":
		u.kind = volts
	case "mv", "mvrms", "millivolt", "millivolts":
		u.kind, u.scale = volts, 1e-3
	case "dbv":
		u.kind = decibelVolts
	case "%", "percent":
		u.kind, u.scale = percent, 0.01
	default:
		return unit{}, false
	}
	return u, true
}

// names of columns: lower case, without blanks, bars, underscores and the
// parentheses of a function.
var roleNames = map[string]role{
	"f": frequency, "freq": frequency, "frequency": frequency, "frequencies": frequency, "frequenz": frequency, "frequence": frequency, "omega": frequency, "ω": frequency,
	"z": magnitude, "mag": magnitude, "magnitude": magnitude, "impedance": magnitude, "impedancemagnitude": magnitude, "magz": magnitude, "zmag": magnitude, "absz": magnitude, "modz": magnitude, "zmod": magnitude, "modulus": magnitude, "impedanz": magnitude, "zabs": magnitude, "magnitudez": magnitude,
	"phase": phase, "ph": phase, "argz": phase, "zarg": phase, "arg": phase, "angle": phase, "phi": phase, "φ": phase, "ϕ": phase, "theta": phase, "θ": phase, "zphase": phase, "phasez": phase, "phz": phase, "impedancephase": phase, "phaseangle": phase, "angz": phase, "anglez": phase,
	"re": realPart, "real": realPart, "rez": realPart, "zre": realPart, "realz": realPart, "zreal": realPart, "z'": realPart, "resistance": realPart, "r": realPart, "realpart": realPart,
	"im": imagPart, "imag": imagPart, "imz": imagPart, "zim": imagPart, "imagz": imagPart, "zimag": imagPart, "z''": imagPart, "z\"": imagPart, "reactance": imagPart, "x": imagPart, "imaginary": imagPart, "imaginarypart": imagPart,
	"sigma": noise, "σ": noise, "std": noise, "sd": noise, "noise": noise, "sigmaz": noise, "stdz": noise, "zstd": noise, "standarddeviation": noise,
	"vsource": sourceVolts, "sourcev": sourceVolts, "vgenerator": sourceVolts, "vgen": sourceVolts, "usource": sourceVolts, "vamplifier": sourceVolts, "vamp": sourceVolts, "vs": sourceVolts,
	"vdriver": driverVolts, "driverv": driverVolts, "vspeaker": driverVolts, "udriver": driverVolts, "vloudspeaker": driverVolts, "vd": driverVolts,
	"vresistor": resistorVolts, "resistorv": resistorVolts, "uresistor": resistorVolts, "vr": resistorVolts,
}

// parseColumn reads the name of one column, such as "Frequency (Hz)", "|Z|[ohm]",
// "Re(Z) / ohm", "phase_deg" or "-im[mohm]".
func parseColumn(text string) column {
	text = strings.TrimSpace(text)
	name, u := takeUnit(text)
	c := column{name: text, unit: u}
	key := nameKey(name)
	if len(key) > 1 && key[0] == '-' {
		c.negate = true
		key = key[1:]
	}
	if r, ok := roleNames[key]; ok {
		c.role = r
		if c.unit.kind == noUnit && (key == "omega" || key == "ω") {
			c.unit, _ = lookUnit("rad/s")
		}
		return c
	}
	if c.unit.kind == noUnit {
		if u, ok := lookUnit(name); ok {
			c.unit = u
			key = ""
		}
	}
	if key == "" { // a unit alone may say enough
		switch c.unit.kind {
		case hertz:
			c.role = frequency
		case ohms, decibelOhms:
			c.role = magnitude
		case radians:
			c.role = phase
		}
	}
	return c
}

// takeUnit cuts the unit off a column name: the longest end of the text that is
// one, with or without brackets, after a slash, a comma, an underscore or "in".
func takeUnit(text string) (name string, u unit) {
	const longest = 24 // bytes of a unit with its brackets
	for i := max(1, len(text)-longest); i < len(text); i++ {
		if strings.IndexByte(" _/,[(", text[i-1]) < 0 && text[i] != '[' && text[i] != '(' {
			continue
		}
		if u, ok := lookUnit(text[i:]); ok {
			name := strings.TrimRight(text[:i], " _/,[(")
			return strings.TrimSpace(strings.TrimSuffix(name, " in")), u
		}
	}
	return text, unit{}
}

// parseHeader reads the names of all columns from one line.
func parseHeader(fields []string) []column {
	cols := make([]column, len(fields))
	for i, s := range fields {
		cols[i] = parseColumn(s)
	}
	return cols
}

// words cuts a line of names at blanks and puts units back to their names, as
// in "Frequency [Hz]  |Z| (ohm)  V source (V)".
func words(line string) []string {
	var out []string
	depth := 0
	all := strings.Fields(line)
	for i, w := range all {
		_, isUnit := lookUnit(w)
		joins := depth > 0 || strings.IndexByte("([/", w[0]) >= 0 || isUnit || strings.EqualFold(w, "in")
		if i > 0 && voltWord(all[i-1]) && out[len(out)-1] == all[i-1] {
			joins = true // the second half of "V source"
		} else if voltWord(w) && depth == 0 && i+1 < len(all) && parseColumn(w+" "+all[i+1]).role != ignored {
			joins = false // its first half
		}
		if n := len(out); n > 0 && (joins || strings.HasSuffix(out[n-1], "/") || strings.HasSuffix(out[n-1], " in")) {
			out[n-1] += " " + w
		} else {
			out = append(out, w)
		}
		depth += strings.Count(w, "(") + strings.Count(w, "[") - strings.Count(w, ")") - strings.Count(w, "]")
	}
	return out
}

// voltWord says whether a word begins a name such as "V source".
func voltWord(s string) bool { return s == "V" || s == "v" || s == "U" || s == "u" }

// complete says whether the columns hold a sweep: a frequency and something that
// gives an impedance.
func complete(cols []column) bool {
	var have [roles]bool
	for _, c := range cols {
		have[c.role] = true
	}
	return have[frequency] && (have[magnitude] || have[realPart] || have[imagPart] ||
		have[driverVolts] && have[sourceVolts] || have[driverVolts] && have[resistorVolts] || have[sourceVolts] && have[resistorVolts])
}

// wrongColumns says what is wrong with the columns, nil for nothing.
func wrongColumns(cols []column) *notice.Notice {
	var seen [roles]bool
	for _, c := range cols {
		if c.role == ignored {
			continue
		}
		if seen[c.role] {
			return notice.New("columns-twice", notice.Facts{"holds": c.role.String()})
		}
		seen[c.role] = true
		if c.unit.kind != noUnit && !c.role.fits(c.unit.kind) {
			return notice.New("column-other-unit", notice.Facts{"name": c.name, "holds": c.role.String(), "unit": c.unit.name})
		}
		if c.unit.kind == ambiguous {
			return notice.New("column-milli-or-mega", notice.Facts{"name": c.name})
		}
		if c.unit.kind == decibels && c.role == magnitude {
			return notice.New("column-decibels", notice.Facts{"name": c.name})
		}
	}
	switch {
	case !seen[frequency]:
		return notice.New("columns-no-frequency", nil)
	case seen[realPart] != seen[imagPart] && !seen[magnitude]:
		return notice.New("columns-half", nil)
	case !complete(cols):
		return notice.New("columns-no-impedance", nil)
	}
	return nil
}
