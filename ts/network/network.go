// Package network is a dividing network as a list of parts between nodes, forward only:
// the impedance that an amplifier sees and the voltage that each part gets, over frequency.
//
// A list of parts between nodes holds any circuit of two terminals: parallel and series
// networks of any order, padding resistors, impedance correction, several drivers.
package network

import (
	"math"
	"slices"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
)

// The two nodes to which the amplifier is connected.
const (
	In     = "in"
	Ground = "ground"
)

// Kind is what a part is.
type Kind uint8

// The kinds.
const (
	Resistor Kind = iota
	Capacitor
	Coil
	Driver
)

var kindWords = [...]string{"resistor", "capacitor", "coil", "driver"}

// String returns the word used in files.
func (k Kind) String() string {
	if int(k) >= len(kindWords) {
		return ""
	}
	return kindWords[k]
}

// Part is one part between two nodes. That of a driver from which its pole marked plus leads
// is From.
type Part struct {
	Name     string
	Kind     Kind
	Value    float64 // ohm, F or H; of a driver ohm
	Series   float64 // ohm in series: ESR of a capacitor, direct-current resistance of a coil
	From, To string

	// Curve is the impedance in ohm at a frequency in Hz, where it is known better than by the numbers above; nil: it is not.
	Curve func(f float64) complex128
	// Moving are the numbers of a driver of which Curve is; nil: it is not of such.
	Moving *Moving
}

// Impedance returns the impedance of the part in ohm at f (Hz):
//
//	R,   Series + 1/(j w C),   Series + j w L
//
// Source: any textbook of circuits. Theory (12.1).
func (p Part) Impedance(f float64) complex128 {
	w := 2 * math.Pi * f
	switch {
	case p.Curve != nil:
		return p.Curve(f)
	case p.Kind == Capacitor:
		return complex(p.Series, -1/(w*p.Value))
	case p.Kind == Coil:
		return complex(p.Series, w*p.Value)
	}
	return complex(p.Value, 0)
}

// Network is a list of parts.
type Network []Part

// Index returns the place of a part, -1 where there is none of that name.
func (n Network) Index(name string) int {
	return slices.IndexFunc(n, func(p Part) bool { return p.Name == name })
}

// Drivers returns the places of the drivers.
func (n Network) Drivers() []int {
	var at []int
	for i, p := range n {
		if p.Kind == Driver {
			at = append(at, i)
		}
	}
	return at
}

// With returns the network with another part in the place of the one at i.
func (n Network) With(i int, p Part) Network {
	other := slices.Clone(n)
	other[i] = p
	return other
}

// Without returns the network with the part at i open: it is left out. What hung on it alone
// is still in the list and carries no current.
func (n Network) Without(i int) Network { return slices.Delete(slices.Clone(n), i, i+1) }

// smallest and largest values of a part, in its unit, far outside of what is made.
var values = [...]bounds.Range{
	Resistor:  {Of: "resistance", Lo: 1e-4, Hi: 1e7},
	Capacitor: {Of: "capacitance", Lo: 1e-12, Hi: 1},
	Coil:      {Of: "inductance", Lo: 1e-9, Hi: 10},
	Driver:    {Of: "resistance", Lo: 1e-4, Hi: 1e7},
}

// Check refuses a list of which no circuit can be made: parts without a name or with one twice,
// values that are none, a part with both ends at one node, nothing between the terminals, or parts that
// nothing connects with them.
func (n Network) Check() error {
	if len(n) == 0 {
		return notice.New("network-empty", nil)
	}
	for i, p := range n {
		switch {
		case p.Name == "" || n.Index(p.Name) != i:
			return notice.New("network-name", notice.Facts{"part": p.Name})
		case int(p.Kind) >= len(values) || !(p.Series >= 0 && values[Resistor].Hi >= p.Series):
			return notice.New("network-value", notice.Facts{"part": p.Name})
		case p.From == "" || p.To == "" || p.From == p.To:
			return notice.New("network-ends", notice.Facts{"part": p.Name})
		}
		if p.Curve != nil {
			continue
		}
		if err := values[p.Kind].Number(p.Value); err != nil {
			return notice.New("network-value", notice.Facts{"part": p.Name}).Because(err)
		}
	}
	reached := n.reach(In)
	if !slices.Contains(reached, Ground) {
		return notice.New("network-open", nil)
	}
	for _, p := range n {
		if !slices.Contains(reached, p.From) {
			return notice.New("network-apart", notice.Facts{"part": p.Name})
		}
	}
	return nil
}

// reach returns the nodes that parts connect with one, itself first.
func (n Network) reach(node string) []string {
	found := []string{node}
	for i := 0; i < len(found); i++ {
		for _, p := range n {
			for _, ends := range [2][2]string{{p.From, p.To}, {p.To, p.From}} {
				if ends[0] == found[i] && !slices.Contains(found, ends[1]) {
					found = append(found, ends[1])
				}
			}
		}
	}
	return found
}
