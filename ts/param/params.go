// Package param says what a value is: its symbol and unit, the value with its
// uncertainty, and the joint uncertainty of many values as named, independent sources. What
// two drivers share, such as the resistor of the bench, has the same name in both and
// cancels in a comparison. It knows nothing of how values are found.
package param

import "fmt"

// ParamID names a quantity of a driver. The set is closed: the table below is
// the only place that knows symbols, units and names.
type ParamID uint8

// The quantities, in the order in which they are printed.
const (
	Re    ParamID = iota // ohm, resistance of the voice coil at direct current
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
	NumParams
)

// ParamInfo is what the table knows of one quantity.
type ParamInfo struct {
	Symbol    string  // as in JSON and on screen: "Qts"
	Name      string  // in words: "total Q"
	Unit      string  // SI unit as in JSON: "m/N"; "1" for a pure number
	BenchUnit string  // unit on screen: "mm/N"; "" for a pure number
	PerBench  float64 // SI value of one bench unit: 1e-3 m/N
	Positive  bool    // always positive: handled as a logarithm
}

var paramTable = [NumParams]ParamInfo{
	Re:    {"Re", "coil resistance", "ohm", "ohm", 1, true},
	Fs:    {"Fs", "resonance", "Hz", "Hz", 1, true},
	Qms:   {"Qms", "mechanical Q", "1", "", 1, true},
	Qes:   {"Qes", "electrical Q", "1", "", 1, true},
	Qts:   {"Qts", "total Q", "1", "", 1, true},
	Mms:   {"Mms", "moving mass", "kg", "g", 1e-3, true},
	Cms:   {"Cms", "compliance", "m/N", "mm/N", 1e-3, true},
	Rms:   {"Rms", "mechanical losses", "kg/s", "kg/s", 1, true},
	BL:    {"BL", "force factor", "T*m", "T m", 1, true},
	Vas:   {"Vas", "equivalent volume", "m^3", "L", 1e-3, true},
	Sd:    {"Sd", "cone area", "m^2", "cm2", 1e-4, true},
	Eta0:  {"eta0", "reference efficiency", "1", "%", 1e-2, true},
	Res:   {"Res", "motional resistance", "ohm", "ohm", 1, true},
	Lces:  {"Lces", "motional inductance", "H", "mH", 1e-3, true},
	Cmes:  {"Cmes", "motional capacitance", "F", "uF", 1e-6, true},
	Creep: {"creep", "suspension creep per decade", "1", "", 1, false},
	L1k:   {"L1k", "coil inductance at 1 kHz", "H", "mH", 1e-3, true},
	R1k:   {"R1k", "coil loss at 1 kHz", "ohm", "ohm", 1, false},
}

// Info returns the table row of a quantity.
func (id ParamID) Info() ParamInfo { return paramTable[id] }

// String returns the symbol: "Fs".
func (id ParamID) String() string {
	if id >= NumParams {
		return fmt.Sprintf("ParamID(%d)", uint8(id))
	}
	return paramTable[id].Symbol
}

// AllParams returns every quantity in printing order.
func AllParams() []ParamID {
	ids := make([]ParamID, NumParams)
	for i := range ids {
		ids[i] = ParamID(i)
	}
	return ids
}

// ParseParam finds a quantity by its symbol, exactly as written in the table.
func ParseParam(symbol string) (ParamID, bool) {
	for id, info := range paramTable {
		if info.Symbol == symbol {
			return ParamID(id), true
		}
	}
	return 0, false
}
