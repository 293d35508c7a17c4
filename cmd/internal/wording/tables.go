package wording

import (
	"fmt"
	"math"

	"conewright/ts/notice"
)

// What to do about a table.
const (
	columnsOption = `--columns "f[Hz] |Z|[ohm] phase[deg]" (or re[ohm] im[ohm], or V source[V] V driver[V] V resistor[V])`
	sayColumns    = "say what the columns hold: " + columnsOption
	columnOrder   = "check the order of the columns: " + columnsOption
	ownFile       = "save the points of one sweep in a file of its own"
	otherVoltages = "read the voltages across the driver and across the resistor, which give the impedance exactly, or use a resistor at least ten times the peak of the impedance"
)

// unitChoices are the units that a column may be in when the table does not say, by what it holds.
var unitChoices = map[string]string{
	"f": "in Hz or kHz", "|Z|": "in ohm, kohm, mohm or dB of ohm", "re": "in ohm, kohm or mohm", "im": "in ohm, kohm or mohm",
	"sigma": "in ohm or %", "phase": "in degrees or radians", "V source": "in V or mV", "V driver": "in V or mV", "V resistor": "in V or mV",
}

// tableSentences say what is wrong with a text table or a Touchstone file, and what was put right in it.
var tableSentences = map[string]sentence{
	"text-not": fixed("this is neither a text table nor a recording", sweepFiles),
	"text-too-large": func(n notice.Notice) (string, string) {
		size := fmt.Sprintf("%d lines", n.Int("count"))
		if n.Text("of") == "bytes" {
			size = fmt.Sprintf("%d MB", n.Int("count")>>20)
		}
		return "a text file with " + size + " is larger than a sweep can be; 4 MB and 70000 lines are the most", ownFile
	},
	"line-too-long": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a line of %d characters is longer than a row of a sweep can be", n.Int("characters")), ownFile
	},
	"table-none": fixed("this text holds no table of numbers", sweepFiles),
	"table-row-length": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the row has %d columns, the others have %d", n.Int("columns"), n.Int("others")), "complete the row, or put a # in front of it"
	},
	"table-no-row": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("this is not a row of numbers: %q", n.Text("text")), "correct the line, or put a # in front of it"
	},
	"table-comma-twice": fixed("the comma is both decimal mark and separator here, so the numbers cannot be told apart",
		"save the table with semicolons or tabs between the columns"),
	"table-header-length": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the header names %d columns, the rows have %d", n.Int("named"), n.Int("columns")),
			"name every column, a - for one to skip: " + columnsOption
	},
	"cell-no-number": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%q is not a number for %s", n.Text("text"), n.Text("holds")), "correct the value, or leave it empty"
	},
	"table-frequency": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the frequency is %v Hz", n.Num("frequency")), columnOrder
	},
	"table-magnitude": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the magnitude of the impedance is %v ohm", n.Num("magnitude")), columnOrder
	},
	"table-noise": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the noise is %v ohm, it must be positive", n.Num("noise")), "skip the column with a - when the noise is unknown"
	},
	"frequency-error-unread": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the line does not say how exact the frequencies are: %q", n.Text("text")), "write it like: frequency error 0.1 % (or in ppm), at most 10 %"
	},
	"table-too-large": fixed("a value is too large", "correct the value"),
	"table-few-points": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the table holds %s that can be used, a sweep needs at least %d", count(n.Int("points"), "point"), n.Int("least")),
			"measure more frequencies, most of them around the peak"
	},
	"table-second-sweep": fixed("a second sweep begins here",
		"save each sweep in a file of its own; several files of one condition can be given together as repeats"),

	"columns-unknown": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%q names no column that is known", n.Text("name")), columnsOption
	},
	"columns-too-many": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%d columns are named, the table has %d", n.Int("named"), n.Int("columns")), columnsOption
	},
	"columns-unnamed": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the table has %d columns and no header that names them", n.Int("columns")), "say what they hold: " + columnsOption
	},
	"columns-twice": func(n notice.Notice) (string, string) {
		return "two columns hold " + n.Text("holds"), "say which one counts: " + columnsOption + "; a - stands for a column to skip"
	},
	"column-other-unit": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the column %q holds %s, which cannot be counted in %s", n.Text("name"), n.Text("holds"), n.Text("unit")),
			"check whether two columns were mistaken for each other, or " + sayColumns
	},
	"column-milli-or-mega": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the unit of the column %q may be milliohm or megohm", n.Text("name")), "say which: " + columnsOption
	},
	"column-decibels": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the column %q is in dB, but not said of what", n.Text("name")),
			`if it is dB of one ohm, say so: --columns "f[Hz] |Z|[dBohm] phase[deg]"`
	},
	"columns-no-frequency": fixed("no column holds the frequency", sayColumns),
	"columns-no-impedance": fixed("no column holds an impedance", sayColumns),
	"columns-half":         fixed("there is a real or an imaginary part, but not both", "give both, or the magnitude |Z|"),
	"columns-mistaken": func(n notice.Notice) (string, string) {
		return "taken as " + n.Text("named") + ", the columns cannot belong to one impedance; taken as " + n.Text("fits") + " they do",
			`if that is what they hold, say so: --columns "f[Hz] ` + n.Text("fits") + `"`
	},
	"column-unit": func(n notice.Notice) (string, string) {
		return unitQuestion(n), `say it, for example --columns "` + n.Text("example") + `"`
	},
	"column-unit-row": func(n notice.Notice) (string, string) {
		row, choose := bothReadings(n)
		return unitQuestion(n) + ". " + row, choose
	},
	"column-slip": func(n notice.Notice) (string, string) {
		var why string
		switch value := n.Num("value"); n.Text("of") {
		case "peak":
			why = fmt.Sprintf("the peak would lie at %s, and drivers have it between 5 and 5,000 Hz", hertz(value))
		case "end":
			why = fmt.Sprintf("the sweep would end at %s; in rad/s its ends are those that one enters in Hz", hertz(value))
		case "lowest":
			why = fmt.Sprintf("the impedance would nowhere be below %s ohm, and coils have 0.5 to 100 ohm", plainNumber(value))
		default:
			why = fmt.Sprintf("the peak would be only %s times as high as the lowest value, which is that of dB of a usual coil", plainNumber(value))
		}
		row, choose := bothReadings(n)
		return fmt.Sprintf("column %d is hardly in the unit that its header gives: %s. %s", n.Int("column"), why, row), choose
	},
	"column-ratio": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("column %d goes from %s to %s and never above 1: that is a ratio of two voltages and not an impedance in ohm", n.Int("column"), plainNumber(n.Num("lowest")), plainNumber(n.Num("highest"))),
			`write both voltages and say so: --columns "f[Hz] V driver[V] V resistor[V]"; if it is in ohm: --columns "f[Hz] |Z|[ohm]"`
	},
	"column-guessed": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the column %q was taken for %s", n.Text("name"), n.Text("holds")), "if it holds something else: " + columnsOption
	},

	"points-missing": func(n notice.Notice) (string, string) {
		return count(n.Int("points"), "point") + " without a value left out", "leave it at that, or measure them again"
	},
	"point-at-zero": func(n notice.Notice) (string, string) {
		return count(n.Int("points"), "point") + " at 0 Hz left out", "nothing to do"
	},
	"points-unsorted": fixed("the points were not in order of frequency and were sorted", "nothing to do, unless two tables were mixed"),
	"points-repeated": func(n notice.Notice) (string, string) {
		return count(n.Int("points"), "point") + " at a frequency that was there already; points at the same frequency were averaged",
			"nothing to do, unless two tables were mixed"
	},
	"points-held": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s below %.4g Hz have one and the same value, which the device held and did not measure; they were left out",
			count(n.Int("points"), "point"), n.Num("below")), "nothing to do; a device that measures lower gives more"
	},

	"lines-held": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the file fills %s from %s that were measured, one every %.3g Hz; each of them counts once",
			count(n.Int("rows"), "row"), count(n.Int("points"), "point"), n.Num("step")), "nothing to do; a longer recording has finer points"
	},

	"volts-without-resistor": fixed("the table holds voltages, and the resistor in series is not known", measureResistor),
	"table-voltage": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is %v V, it must be positive", n.Text("holds"), n.Num("voltage")), "leave the value empty if it was not read"
	},
	"table-above-source": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s (%v V) is not below V source (%v V), which a resistor and a driver in series cannot give",
			n.Text("holds"), n.Num("voltage"), n.Num("source")), columnOrder
	},
	"voltages-contradict": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("in %s (the first in line %d) V source does not fit V driver and V resistor, the other two were used",
			count(n.Int("rows"), "row"), n.Int("first")), "check the connections and that the meter measures true at every frequency"
	},
	"two-voltages-few": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("V source and one other voltage at %s do not give an impedance", count(n.Int("points"), "point")),
			fmt.Sprintf("read at least %d frequencies, or read the voltages across the driver and across the resistor: those give the impedance exactly", n.Int("least"))
	},
	"two-voltages-phase": fixed("V source and one other voltage do not give the impedance here: it depends on the phase between them, which is not known", otherVoltages),
	"two-voltages":       fixed("V source and one other voltage give the impedance only by way of an estimated phase, which widens all intervals", otherVoltages),
	"points-uncertain": func(n notice.Notice) (string, string) {
		return count(n.Int("points"), "point") + " left out at which the estimated phase matters too much", otherVoltages
	},
}

// unitQuestion asks for the unit of a column.
func unitQuestion(n notice.Notice) string {
	choices := unitChoices[n.Text("holds")]
	if n.Int("unnamed") >= 3 && n.Text("holds") == "phase" {
		choices += ", or the imaginary part in ohm"
	}
	return fmt.Sprintf("column %d holds %s, but the table does not say whether %s", n.Int("column"), n.Text("holds"), choices)
}

// bothReadings say what one row means in either of two ways, and how to choose one.
func bothReadings(n notice.Notice) (message, choose string) {
	meaning := func(f, size, phase string) string {
		text := fmt.Sprintf("%s, %s ohm", hertz(n.Num(f)), plainNumber(n.Num(size)))
		if fact[bool](n, "complex") {
			text += fmt.Sprintf(", %s°", plainNumber(n.Num(phase)*180/math.Pi))
		}
		return text
	}
	return fmt.Sprintf("Line %d means %s, or %s", n.Int("line"), meaning("frequency", "size", "phase"), meaning("otherFrequency", "otherSize", "otherPhase")),
		fmt.Sprintf(`choose: --columns "%s" for the first, --columns "%s" for the second`, n.Text("first"), n.Text("second"))
}
