// Package networkfile reads the parts of a dividing network from a TOML file.
// docs/formats.md describes the file.
package networkfile

import (
	"errors"
	"slices"
	"strings"

	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/settings"
	"conewright/ts/network"
	"conewright/ts/notice"
)

// partKind is a kind of part with the keys that belong to it.
type partKind struct {
	kind   network.Kind
	value  quantity.Kind
	series string // the key of its resistance; empty: it has none
	more   []string
}

var partKinds = []partKind{
	{network.Resistor, quantity.Resistance, "", nil},
	{network.Capacitor, quantity.Capacitance, "esr", nil},
	{network.Coil, quantity.Inductance, "rdc", nil},
	{network.Driver, quantity.Resistance, "", []string{"Le", "Fs", "Qms", "Qes"}},
}

// keysOf returns the keys of a part of this kind.
func (k partKind) keysOf() []string {
	keys := []string{k.kind.String(), "from", "to"}
	if k.series != "" {
		keys = append(keys, k.series)
	}
	return append(keys, k.more...)
}

const example = `write a part as: C1 = { capacitor = "6.8 uF", esr = "0.1 ohm", from = "in", to = "a" }`

// Read reads a network and returns it with the bytes of the file.
func Read(path string) (network.Network, []byte, error) {
	entries, data, err := settings.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	n, err := fromEntries(entries, path)
	if err != nil {
		return nil, nil, err
	}
	return n, data, nil
}

// Parse reads a network from memory; file is its name in messages.
func Parse(data []byte, file string) (network.Network, error) {
	entries, err := settings.Parse(data, file)
	if err != nil {
		return nil, err
	}
	return fromEntries(entries, file)
}

func fromEntries(entries []settings.Entry, file string) (network.Network, error) {
	var names []string // in the order of the file
	parts := map[string][]settings.Entry{}
	for _, e := range entries {
		if e.Path[0] != "parts" {
			return nil, e.Keys[0].Errorf("write [parts] and below it one line for each part", "there is no key %q in a network file", e.Name())
		}
		if len(e.Path) != 3 {
			return nil, e.Key().Errorf(example, "%s is not a part", e.Name())
		}
		name := e.Path[1]
		if parts[name] == nil {
			names = append(names, name)
		}
		parts[name] = append(parts[name], e)
	}
	var n network.Network
	for _, name := range names {
		p, err := onePart(name, parts[name])
		if err != nil {
			return nil, err
		}
		n = append(n, p)
	}
	if err := n.Check(); err != nil {
		var said *notice.Notice
		if errors.As(err, &said) {
			err = said.In(file)
		}
		return nil, err
	}
	return n, nil
}

// onePart reads one part from its entries.
func onePart(name string, entries []settings.Entry) (network.Part, error) {
	of := map[string]settings.Entry{}
	for _, e := range entries {
		of[e.Path[2]] = e
	}
	var kinds []partKind
	var words []string
	for _, k := range partKinds {
		words = append(words, k.kind.String())
		if _, ok := of[k.kind.String()]; ok {
			kinds = append(kinds, k)
		}
	}
	at := entries[0].Keys[1]
	if len(kinds) != 1 {
		return network.Part{}, at.Errorf(example, "%s must be one of: %s", name, strings.Join(words, ", "))
	}
	kind := kinds[0]
	known := kind.keysOf()
	for _, e := range entries {
		if key := e.Path[2]; !slices.Contains(known, key) {
			advice := "known here: " + strings.Join(known, ", ")
			if near := settings.Nearest(key, known); near != "" {
				advice = "did you mean " + near + "?"
			}
			return network.Part{}, e.Key().Errorf(advice, "a %s has no key %q", kind.kind, key)
		}
	}
	if _, ok := of["from"]; !ok {
		return network.Part{}, at.Errorf(example, "%s does not say between which nodes it lies", name)
	}
	p := network.Part{Name: name, Kind: kind.kind, From: of["from"].Text, To: network.Ground}
	if to, ok := of["to"]; ok {
		p.To = to.Text
	}
	var err error
	number := func(key string, k quantity.Kind) (si float64) {
		if e, ok := of[key]; ok && err == nil {
			var v quantity.Value
			if v, err = quantity.Parse(e.Text, k); err != nil {
				err = e.At.Wrap(err)
			}
			si = v.SI
		}
		return si
	}
	p.Value = number(kind.kind.String(), kind.value)
	p.Series = number(kind.series, quantity.Resistance)
	moving := network.Moving{Re: p.Value, Le: number("Le", quantity.Inductance), Fs: number("Fs", quantity.Frequency),
		Qms: number("Qms", quantity.Number), Qes: number("Qes", quantity.Number)}
	if err != nil {
		return network.Part{}, err
	}
	if p.Kind == network.Driver && moving != (network.Moving{Re: p.Value}) {
		if err := moving.Check(); err != nil {
			return network.Part{}, at.Errorf("give Fs, Qms and Qes together, as measured, or the resistance alone", "%s is not a driver by these numbers", name)
		}
		p.Moving, p.Curve = &moving, moving.Impedance
	}
	return p, nil
}
