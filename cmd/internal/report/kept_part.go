package report

import (
	"encoding/json"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/wording"
	"conewright/ts/network"
	"conewright/ts/param"
	"conewright/ts/part"
)

// KeptPart is what the JSON of one part (conewright/part/1) says of it in a line.
type KeptPart struct {
	Kind       string                `json:"kind"`
	Parameters map[string]book.Value `json:"parameters"`
	Bounds     map[string]struct {
		AtMost float64 `json:"at_most"`
	} `json:"bounds"`
}

// ReadPart reads the JSON of one part.
func ReadPart(data []byte) (k KeptPart, err error) {
	err = json.Unmarshal(data, &k)
	return k, err
}

// kind is the kind of the part.
func (k KeptPart) kind() network.Kind {
	for _, kind := range []network.Kind{network.Capacitor, network.Coil} {
		if kind.String() == k.Kind {
			return kind
		}
	}
	return network.Resistor
}

// value writes a value without its unit, "below 0.012" where it is only a bound; empty where there is none.
func (k KeptPart) value(id param.ID) string {
	if b, ok := k.Bounds[id.String()]; ok {
		return "below " + Number(id, b.AtMost, b.AtMost/4)
	}
	if v, ok := k.Parameters[id.String()]; ok {
		return Number(id, v.Value, v.Std)
	}
	return ""
}

// Cells are kind, value with its unit, and the resistance that goes with it with its unit; a resistor has none.
func (k KeptPart) Cells() []string {
	id, loss := part.Main(k.kind()), lossOf(k.kind())
	cells := []string{k.Kind, k.value(id), unitOf(id), "", ""}
	if loss != id {
		cells[3], cells[4] = k.value(loss), unitOf(loss)
	}
	return cells
}

// PartWords are kind, value and the resistance that goes with it, with their units; a resistor has none.
func PartWords(f *part.Found) (kind, value, loss string) {
	id, of := part.Main(f.Kind), lossOf(f.Kind)
	value = wording.WithUnit(shownValue(f, id), unitOf(id))
	if of != id {
		loss = wording.WithUnit(shownValue(f, of), unitOf(of))
	}
	return f.Kind.String(), value, loss
}
