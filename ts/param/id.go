// Package param says what a value is: its symbol and unit, the value with its
// uncertainty, and the joint uncertainty of many values as named, independent sources. What
// two drivers share, such as the resistor of the bench, has the same name in both and
// cancels in a comparison. It knows nothing of how values are found.
package param

import "math"

// ID names a quantity of a driver or of a part of a network. The set is closed: the table below is
// the only place that knows symbols and units.
type ID uint8

// The quantities, in the order in which they are printed.
const (
	Re         ID = iota // ohm, resistance of the voice coil at direct current
	Fs                   // Hz, resonance frequency: where the mechanical impedance is real
	Qms                  // mechanical quality factor at Fs
	Qes                  // electrical quality factor at Fs
	Qts                  // total quality factor at Fs
	Mms                  // kg, moving mass with the air that moves along
	Cms                  // m/N, compliance of the suspension at Fs
	Rms                  // kg/s, mechanical losses at Fs
	BL                   // T m, force factor
	Vas                  // m^3, volume of air as compliant as the suspension
	Sd                   // m^2, effective area of the cone
	Eta0                 // reference efficiency in half space
	Res                  // ohm, motional resistance BL^2/Rms
	Lces                 // H, motional inductance BL^2 Cms
	Cmes                 // F, motional capacitance Mms/BL^2
	Creep                // fall of compliance per decade of frequency above Fs, as a fraction
	L1k                  // H, inductance of the coil at 1 kHz: Im(ZL)/w
	R1k                  // ohm, loss resistance of the coil at 1 kHz: Re(ZL)
	Friction             // N, dry friction of the coil, at the level of the sweep
	Distortion           // harmonics that the driver adds to its current at the resonance, over the current, at the level of the sweep
	C                    // F, capacitance of a capacitor as a series circuit, at one frequency
	ESR                  // ohm, its resistance in series, at the same
	TanDelta             // its loss factor 2 pi f C ESR, at the same
	L                    // H, inductance of a coil as a series circuit, at one frequency; of a resistor
	Rdc                  // ohm, resistance of a coil at direct current
	Q                    // quality factor of a coil 2 pi f L over its series resistance, at the frequency of L
	R                    // ohm, resistance of a resistor
	Fc                   // Hz, resonance of the driver in a closed box
	Qmc                  // mechanical quality factor in a closed box at Fc, with the losses of the box
	Qec                  // electrical quality factor in a closed box at Fc
	Qtc                  // total quality factor in a closed box at Fc
	Fb                   // Hz, tuning of a vented box
	QB                   // quality factor of all losses of a box: 1/QB = 1/QL + 1/QA + 1/QP
	QL                   // that of its leaks
	QA                   // that of what is absorbed inside
	QP                   // that of the port
	Alpha                // stiffness of the air in the box over that of the suspension: Vas/Vab
	Vab                  // m^3, volume of air as compliant as that in the box
	Count                // how many there are
)

// Info is what the table knows of one quantity.
type Info struct {
	Symbol   string // as in JSON and on screen: "Qts"
	Unit     string // SI unit as in JSON: "m/N"; "1" for a pure number
	Positive bool   // always positive: handled as a logarithm
}

var table = [Count]Info{
	Re:    {"Re", "ohm", true},
	Fs:    {"Fs", "Hz", true},
	Qms:   {"Qms", "1", true},
	Qes:   {"Qes", "1", true},
	Qts:   {"Qts", "1", true},
	Mms:   {"Mms", "kg", true},
	Cms:   {"Cms", "m/N", true},
	Rms:   {"Rms", "kg/s", true},
	BL:    {"BL", "T*m", true},
	Vas:   {"Vas", "m^3", true},
	Sd:    {"Sd", "m^2", true},
	Eta0:  {"eta0", "1", true},
	Res:   {"Res", "ohm", true},
	Lces:  {"Lces", "H", true},
	Cmes:  {"Cmes", "F", true},
	Creep: {"creep", "1", false},
	L1k:   {"L1k", "H", true},
	R1k:   {"R1k", "ohm", false},

	Friction:   {"friction", "N", false},
	Distortion: {"distortion", "1", false},

	C:        {"C", "F", true},
	ESR:      {"ESR", "ohm", false},
	TanDelta: {"tan_delta", "1", false},
	L:        {"L", "H", true},
	Rdc:      {"Rdc", "ohm", false},
	Q:        {"Q", "1", true},
	R:        {"R", "ohm", true},
	Fc:       {"Fc", "Hz", true},
	Qmc:      {"Qmc", "1", true},
	Qec:      {"Qec", "1", true},
	Qtc:      {"Qtc", "1", true},
	Fb:       {"Fb", "Hz", true},
	QB:       {"QB", "1", true},
	QL:       {"QL", "1", true},
	QA:       {"QA", "1", true},
	QP:       {"QP", "1", true},
	Alpha:    {"alpha", "1", true},
	Vab:      {"Vab", "m^3", true},
}

// Info returns the table row of a quantity; it is empty where there is none.
func (id ID) Info() Info {
	if id >= Count {
		return Info{}
	}
	return table[id]
}

// String returns the symbol: "Fs".
func (id ID) String() string {
	if id >= Count {
		return Word(id)
	}
	return table[id].Symbol
}

// All returns every quantity in printing order.
func All() []ID {
	ids := make([]ID, Count)
	for i := range ids {
		ids[i] = ID(i)
	}
	return ids
}

// Parse finds a quantity by its symbol, exactly as written in the table.
func Parse(symbol string) (ID, bool) {
	for id, info := range table {
		if info.Symbol == symbol {
			return ID(id), true
		}
	}
	return 0, false
}

// Scale returns the value on the scale that Parameters uses for id.
func (id ID) Scale(value float64) float64 {
	if id.Info().Positive {
		return math.Log(value)
	}
	return value
}

// Unscale is the inverse of Scale.
func (id ID) Unscale(scaled float64) float64 {
	if id.Info().Positive {
		return math.Exp(scaled)
	}
	return scaled
}
