package table

import (
	"math"
	"strings"

	"conewright/ts/notice"
)

// resolveUnits settles the units that neither the user nor the header gave,
// where the values leave one choice; otherwise it asks. Then it holds the two
// columns of a complex impedance against each other.
func (t *table) resolveUnits() error {
	fits := t.fitReadings()
	best := fits.only() // how magnitude and phase belong together, where that is clear
	if t.unnamed && best == (reading{form: cartesian}) {
		t.cols[t.column(magnitude)].role, t.cols[t.column(phase)].role = realPart, imagPart
	}
	voltUnits := t.voltUnits()
	for i := range t.cols {
		c := &t.cols[i]
		if c.role == ignored || c.unit.kind != noUnit {
			continue
		}
		lo, hi := t.valueRange(i)
		switch c.role {
		case frequency:
			if !surelyHertz(lo, hi) || t.unnamed && best.form == noForm && !t.monotonic(i) {
				return t.ask(i, best)
			}
			c.unit = unit{"Hz", hertz, 1}
		case magnitude:
			if !ohmSized(lo, hi) || best.form != polar && !surelyNotDecibels(lo, hi) {
				return t.ask(i, best)
			}
			c.unit = unit{"ohm", ohms, 1}
		case realPart, imagPart:
			if !ohmSized(0.1, max(-lo, hi)) {
				return t.ask(i, best)
			}
			c.unit = unit{"ohm", ohms, 1}
		case noise:
			return t.ask(i, best)
		case phase:
			switch {
			case t.unnamed && (best.form != polar || best.minus):
				return t.ask(i, best)
			case best.form <= polarDecibels && best.rad:
				c.unit = unit{"rad", radians, 1}
			case best.form <= polarDecibels, max(-lo, hi) > math.Pi && max(-lo, hi) <= 360:
				c.unit = unit{"deg", radians, degree}
			default:
				return t.ask(i, best)
			}
		case sourceVolts, driverVolts, resistorVolts:
			if voltUnits > 0 {
				return t.ask(i, best)
			}
			c.unit = unit{"V", volts, 1} // any unit will do when it is the same for all
		}
	}
	if err := t.checkReading(fits); err != nil {
		return err
	}
	return t.checkSlips()
}

// ask is the error for a unit that cannot be known; clear is how magnitude and phase belong
// together, if that is clear.
func (t *table) ask(i int, clear reading) error {
	line := t.headed
	if line == 0 {
		line = t.rows[0].line
	}
	unnamed := 0 // columns that nothing names: three may be the parts of Z as well
	if t.unnamed {
		unnamed = t.columns
	}
	if other := t.otherReading(i, clear); other != nil {
		if a, b, ok := t.bothWays(other); ok {
			return t.at(line, notice.New("column-unit-row", notice.Facts{"column": i + 1, "holds": t.cols[i].role.String(), "unnamed": unnamed, "line": a.line, "complex": a.complex,
				"first": a.columns, "frequency": a.f, "size": a.size, "phase": a.phase,
				"second": b.columns, "otherFrequency": b.f, "otherSize": b.size, "otherPhase": b.phase}))
		}
	}
	return t.at(line, notice.New("column-unit", notice.Facts{"column": i + 1, "holds": t.cols[i].role.String(), "example": t.example(), "unnamed": unnamed}))
}

// usualUnits are those of the trade.
var usualUnits = [roles]string{frequency: "Hz", magnitude: "ohm", phase: "deg", realPart: "ohm", imagPart: "ohm", noise: "ohm", sourceVolts: "V", driverVolts: "V", resistorVolts: "V"}

// example returns the columns option that the table would need if its units
// were the usual ones.
func (t *table) example() string {
	names := make([]string, len(t.cols))
	for i, c := range t.cols {
		names[i] = c.role.String()
		if c.negate {
			names[i] = "-" + names[i]
		}
		unit := usualUnits[c.role]
		if c.unit.kind != noUnit && c.unit.name != "" {
			unit = c.unit.name
		}
		if unit != "" {
			names[i] += "[" + unit + "]"
		}
	}
	return strings.Join(names, ", ")
}

// valueRange returns the least and the greatest number in a column.
func (t *table) valueRange(i int) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, row := range t.rows {
		if v := row.cells[i].value; !math.IsNaN(v) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	return lo, hi
}

// monotonic says whether a column only rises or only falls.
func (t *table) monotonic(i int) bool {
	up, down := true, true
	for k := 1; k < len(t.rows); k++ {
		a, b := t.rows[k-1].cells[i].value, t.rows[k].cells[i].value
		up = up && !(b < a)
		down = down && !(b > a)
	}
	return up || down
}

// voltUnits counts the columns of voltages whose unit is given.
func (t *table) voltUnits() int {
	n := 0
	for _, c := range t.cols {
		if (c.role == sourceVolts || c.role == driverVolts || c.role == resistorVolts) && c.unit.kind != noUnit {
			n++
		}
	}
	return n
}

// surelyHertz says whether numbers from lo to hi can only be Hz: as kHz they
// would have to begin at or below 500 Hz and end at or below 200 kHz.
func surelyHertz(lo, hi float64) bool {
	return lo >= 0 && hi > 5 && !(lo <= 0.5 && hi <= 200)
}

// surelyNotDecibels says whether numbers from lo to hi cannot be the impedance of
// a driver in dB of ohm: that would span at most 30 dB, above 1.2 ohm.
func surelyNotDecibels(lo, hi float64) bool {
	const span, least = 30, 1.6 // dB
	return hi-lo > span || lo < least
}

// ohmSized says whether an impedance from lo to hi can be in ohm: the milliohms
// and the kiloohms of a driver look different.
func ohmSized(lo, hi float64) bool { return lo >= 0.1 && hi > 0.5 && hi < 3000 }
