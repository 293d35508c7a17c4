package bench

import "fmt"

// Wiring says where the two channels are connected.
type Wiring uint8

// The wirings. H is channel 2 over channel 1, R the series resistor.
const (
	// ResistorFirst: amplifier, resistor, node, driver, ground; channel 1 is at
	// the amplifier, channel 2 at the node. Z = R H/(1-H).
	ResistorFirst Wiring = iota
	// DriverFirst: amplifier, driver, node, resistor, ground; channel 1 is at
	// the amplifier, channel 2 at the node. Z = R (1/H - 1).
	DriverFirst
	// Probes: channel 1 across the driver, channel 2 across the resistor, both
	// differential. Z = R/H.
	Probes
)

var wiringWords = [...]string{"resistor-first", "driver-first", "probes"}

// String returns the word used in files and on the command line.
func (w Wiring) String() string {
	if !w.known() {
		return fmt.Sprintf("Wiring(%d)", uint8(w))
	}
	return wiringWords[w]
}

func (w Wiring) known() bool { return int(w) < len(wiringWords) }

// Impedance returns Z in ohm from the ratio h of channel 2 to channel 1 and the
// resistor r in ohm.
//
// Source: voltage divider; laboratory notes of a university course (divider),
// general practice (direct).
func (w Wiring) Impedance(h complex128, r float64) complex128 {
	R := complex(r, 0)
	switch w {
	case DriverFirst:
		return R * (1 - h) / h
	case Probes:
		return R / h
	default:
		return R * h / (1 - h)
	}
}
