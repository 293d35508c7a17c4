package sweeps

import "math"

// resolveUnits settles the units that the header did not give, where the values
// leave one choice; otherwise it asks.
func (t *table) resolveUnits() error {
	for i := range t.cols {
		c := &t.cols[i]
		if c.role == ignored || c.unit.kind != noUnit {
			continue
		}
		lo, hi := t.valueRange(i)
		switch c.role {
		case frequency:
			if !surelyHertz(lo, hi) {
				return t.ask(i, "Hz or kHz")
			}
			c.unit = unit{"Hz", hertz, 1}
		case magnitude:
			if !surelyOhms(lo, hi) {
				return t.ask(i, "ohm, kohm, mohm or dB of ohm")
			}
			c.unit = unit{"ohm", ohms, 1}
		case realPart, imagPart, noise:
			c.unit = unit{"ohm", ohms, 1}
		case phase:
			if !(max(-lo, hi) > math.Pi*1.001 && max(-lo, hi) <= 360) {
				return t.ask(i, "degrees or radians")
			}
			c.unit = unit{"deg", radians, degree}
		case sourceVolts, driverVolts, resistorVolts:
			c.unit = unit{"V", volts, 1}
		}
	}
	return nil
}

// ask is the error for a unit that cannot be known.
func (t *table) ask(i int, choices string) error {
	line := t.headed
	if line == 0 {
		line = t.rows[0].line
	}
	return t.errorAt(line, "say it: "+columnsHint, "column %d holds %s, in %s: the table does not say", i+1, t.cols[i].role, choices)
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

// surelyHertz says whether numbers from lo to hi can only be Hz: as kHz they
// would have to begin at or below 500 Hz and end at or below 200 kHz.
func surelyHertz(lo, hi float64) bool {
	return lo >= 0 && hi > 5 && !(lo <= 0.5 && hi <= 200)
}

// surelyOhms says whether numbers from lo to hi can only be the ohms of a driver:
// as dB of ohm they would have to span at most 30 dB, above 1.2 ohm.
func surelyOhms(lo, hi float64) bool {
	const span, least = 30, 1.6 // dB
	return lo > 0.1 && hi < 5000 && (hi-lo > span || lo < least)
}
