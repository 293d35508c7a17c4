package network_test

import (
	"errors"
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts/network"
	"conewright/ts/notice"
)

// A part that is open takes what hung on it alone out of the circuit.
func TestWithout(t *testing.T) {
	n := network.Network{
		{Name: "R1", Kind: network.Resistor, Value: 4, From: "in", To: "ground"},
		{Name: "C1", Kind: network.Capacitor, Value: 1e-6, From: "in", To: "a"},
		{Name: "R2", Kind: network.Resistor, Value: 8, From: "a", To: "b"},
		{Name: "tweeter", Kind: network.Driver, Value: 6, From: "b", To: "ground"},
	}
	whole, err := n.At(1e3)
	if want := 1 / (1.0/4 + 1/complex(14, -1/(2*math.Pi*1e3*1e-6))); err != nil || cmplx.Abs(whole.Impedance-want) > 1e-12 {
		t.Errorf("%v, %v, want %v", whole.Impedance, err, want)
	}
	open, err := n.Without(1).At(1e3)
	if err != nil || cmplx.Abs(open.Impedance-4) > 1e-12 || open.Across[2] != 0 {
		t.Errorf("without C1 %v, %v, want 4 ohm and no voltage at the tweeter", open, err)
	}
	nothing, err := n.Without(1).Without(0).At(1e3)
	if err != nil || !math.IsInf(real(nothing.Impedance), 1) {
		t.Errorf("with nothing between the terminals %v, %v", nothing.Impedance, err)
	}
	if len(n) != 4 || n[1].Name != "C1" {
		t.Error("opening a part changed the list it was taken from")
	}
	other := n.With(0, network.Part{Name: "R1", Kind: network.Resistor, Value: 2, From: "in", To: "ground"})
	if other[0].Value != 2 || n[0].Value != 4 {
		t.Errorf("exchanging a part: %v, and the original %v", other[0].Value, n[0].Value)
	}
}

// What cannot be a circuit is refused, and by which part.
func TestCheckRefuses(t *testing.T) {
	r := func(name, from, to string) network.Part {
		return network.Part{Name: name, Kind: network.Resistor, Value: 1, From: from, To: to}
	}
	for name, c := range map[string]struct {
		n          network.Network
		code, part string
	}{
		"nothing":        {nil, "network-empty", ""},
		"no name":        {network.Network{r("", "in", "ground")}, "network-name", ""},
		"twice":          {network.Network{r("R1", "in", "ground"), r("R1", "in", "a")}, "network-name", "R1"},
		"one node":       {network.Network{r("R1", "in", "ground"), r("R2", "a", "a")}, "network-ends", "R2"},
		"never ground":   {network.Network{r("R1", "in", "a")}, "network-open", ""},
		"apart":          {network.Network{r("R1", "in", "ground"), r("R2", "a", "b")}, "network-apart", "R2"},
		"no capacitance": {network.Network{{Name: "C1", Kind: network.Capacitor, From: "in", To: "ground"}}, "network-value", "C1"},
		"millihenries":   {network.Network{{Name: "L1", Kind: network.Coil, Value: 12, From: "in", To: "ground"}}, "network-value", "L1"},
		"negative":       {network.Network{{Name: "L1", Kind: network.Coil, Value: 1e-3, Series: -1, From: "in", To: "ground"}}, "network-value", "L1"},
		"not a number":   {network.Network{{Name: "L1", Kind: network.Coil, Value: 1e-3, Series: math.NaN(), From: "in", To: "ground"}}, "network-value", "L1"},
		"no kind":        {network.Network{{Name: "X1", Kind: 9, Value: 1, From: "in", To: "ground"}}, "network-value", "X1"},
	} {
		var n *notice.Notice
		if err := c.n.Check(); !errors.As(err, &n) || n.Code != c.code || c.part != "" && n.Text("part") != c.part {
			t.Errorf("%s: %v, want %s %s", name, c.n.Check(), c.code, c.part)
		}
	}
}

// An impedance that is none is an error with the name of the part.
func TestAtRefuses(t *testing.T) {
	n := network.Network{{Name: "woofer", Kind: network.Driver, From: "in", To: "ground", Curve: func(float64) complex128 { return 0 }}}
	var got *notice.Notice
	if _, err := n.At(100); !errors.As(err, &got) || got.Code != "network-impedance" || got.Text("part") != "woofer" {
		t.Errorf("%v", err)
	}
}
