package network_test

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts/handmade/tables"
	"conewright/ts/network"
)

// motional is a driver as a circuit: its coil, and the resonance as r, c and l side by side.
func motional(re, le, r, c, l float64) func(f float64) complex128 {
	return func(f float64) complex128 {
		s := complex(0, 2*math.Pi*f)
		return complex(re, 0) + s*complex(le, 0) + 1/(complex(1/r, 0)+s*complex(c, 0)+1/(s*complex(l, 0)))
	}
}

// circuits are the netlists of testdata/network.
var circuits = map[string]network.Network{
	"two-way": {
		{Name: "L1", Kind: network.Coil, Value: 0.56e-3, Series: 0.25, From: "in", To: "w"},
		{Name: "woofer", Kind: network.Driver, From: "w", To: "ground", Curve: motional(5.8, 0.6e-3, 51.1363636364, 391.111111e-6, 18.306e-3)},
		{Name: "R1", Kind: network.Resistor, Value: 6.2, From: "w", To: "z"},
		{Name: "C2", Kind: network.Capacitor, Value: 15e-6, From: "z", To: "ground"},
		{Name: "C1", Kind: network.Capacitor, Value: 6.8e-6, Series: 0.1, From: "in", To: "h"},
		{Name: "L2", Kind: network.Coil, Value: 0.35e-3, Series: 0.3, From: "h", To: "ground"},
		{Name: "R2", Kind: network.Resistor, Value: 1.5, From: "h", To: "t"},
		{Name: "tweeter", Kind: network.Driver, From: "ground", To: "t", Curve: network.Moving{Re: 5.2, Le: 0.03e-3, Fs: 900, Qms: 2.5, Qes: 1.2}.Impedance},
	},
	"three-way": {
		{Name: "L1", Kind: network.Coil, Value: 4.2e-3, Series: 0.4, From: "in", To: "a"},
		{Name: "C1", Kind: network.Capacitor, Value: 100e-6, Series: 0.15, From: "a", To: "ground"},
		{Name: "L2", Kind: network.Coil, Value: 2.1e-3, Series: 0.3, From: "a", To: "b"},
		{Name: "C2", Kind: network.Capacitor, Value: 27e-6, Series: 0.05, From: "b", To: "ground"},
		{Name: "woofer", Kind: network.Driver, Value: 7.2, From: "b", To: "ground"},
		{Name: "C3", Kind: network.Capacitor, Value: 39e-6, Series: 0.08, From: "in", To: "c"},
		{Name: "L3", Kind: network.Coil, Value: 0.27e-3, Series: 0.2, From: "c", To: "d"},
		{Name: "R1", Kind: network.Resistor, Value: 1.8, From: "d", To: "e"},
		{Name: "R2", Kind: network.Resistor, Value: 18, From: "e", To: "ground"},
		{Name: "middle", Kind: network.Driver, Value: 6.4, From: "e", To: "ground"},
		{Name: "C4", Kind: network.Capacitor, Value: 4.7e-6, Series: 0.02, From: "in", To: "g"},
		{Name: "L4", Kind: network.Coil, Value: 0.22e-3, Series: 0.25, From: "g", To: "ground"},
		{Name: "C5", Kind: network.Capacitor, Value: 15e-6, Series: 0.01, From: "g", To: "h"},
		{Name: "tweeter", Kind: network.Driver, Value: 5.6, From: "h", To: "ground"},
	},
}

// A general circuit simulator computes the same impedance at the terminals and the same voltage across every
// driver. Source: its printed result in testdata/network, see the README there.
func TestCircuitSimulator(t *testing.T) {
	for name, n := range circuits {
		if err := n.Check(); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		rows := tables.Numbers(t, "../../testdata/network/"+name+".out")
		if len(rows) != 67 {
			t.Fatalf("%s: %d rows, want 67", name, len(rows))
		}
		for _, row := range rows {
			f := row[0]
			got, err := n.At(f)
			if err != nil {
				t.Fatalf("%s at %v Hz: %v", name, f, err)
			}
			values := []complex128{got.Impedance}
			for _, i := range n.Drivers() {
				values = append(values, got.Across[i])
			}
			if len(row) != 1+2*len(values) {
				t.Fatalf("%s: %d columns for %d values", name, len(row), len(values))
			}
			for i, v := range values {
				want := complex(row[1+2*i], row[2+2*i])
				if !(cmplx.Abs(v-want) <= 1e-9*cmplx.Abs(want)) {
					t.Errorf("%s at %v Hz, column %d: %v, simulator %v", name, f, i, v, want)
				}
			}
		}
	}
}
