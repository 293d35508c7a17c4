package networkfile

import (
	"math"
	"math/cmplx"
	"os"
	"strings"
	"testing"

	"conewright/cmd/internal/wording"
	"conewright/ts/network"
)

// The example of docs/formats.md is read as it stands there.
func TestParseExample(t *testing.T) {
	text, err := os.ReadFile("../../../docs/formats.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, _ := strings.Cut(string(text), "## Network file")
	_, example, _ := strings.Cut(section, "```toml\n")
	example, _, _ = strings.Cut(example, "```")
	n, err := Parse([]byte(example), "example.toml")
	if err != nil {
		t.Fatal(err)
	}
	if len(n) != 8 {
		t.Fatalf("%d parts, want 8", len(n))
	}
	c1 := n[n.Index("C1")]
	if c1.Kind != network.Capacitor || math.Abs(c1.Value-6.8e-6) > 1e-18 || c1.Series != 0.1 || c1.From != "in" || c1.To != "high" {
		t.Errorf("C1 is %+v", c1)
	}
	if l2 := n[n.Index("L2")]; l2.Kind != network.Coil || l2.Value != 0.35e-3 || l2.Series != 0.3 || l2.To != network.Ground {
		t.Errorf("L2 is %+v", l2)
	}
	if got, want := len(n.Drivers()), 2; got != want {
		t.Errorf("%d drivers, want %d", got, want)
	}
	// at resonance Re + Re Qms/Qes + jwL, by hand
	woofer := n[n.Index("woofer")].Impedance(60)
	if want := complex(5.8+5.8*7.5/0.85, 0.22619467105846508); cmplx.Abs(woofer-want) > 1e-9 {
		t.Errorf("the woofer at its resonance has %v, want %v", woofer, want)
	}
	if z := n[n.Index("tweeter")].Impedance(60); z != 5.2 {
		t.Errorf("a driver without a resonance has %v", z)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct{ text, message, hint string }{
		{"C1 = 3", `n.toml:1:1: there is no key "C1" in a network file`, "[parts]"},
		{"[parts]\nC1 = \"6.8 uF\"", `n.toml:2:1: parts.C1 is not a part`, "capacitor ="},
		{"[parts]\nC1 = { from = \"in\" }", `n.toml:2:1: C1 must be one of: resistor, capacitor, coil, driver`, "capacitor ="},
		{"[parts]\nC1 = { capacitor = \"1 uF\", coil = \"1 mH\", from = \"in\" }", `C1 must be one of`, "capacitor ="},
		{"[parts]\nC1 = { capacitor = \"1 mH\", from = \"in\" }", `n.toml:2:20: "1 mH" has the unit "mH", which is not a unit of capacitance`, "uF"},
		{"[parts]\nC1 = { capacitor = \"1 uF\", rdc = \"1 ohm\", from = \"in\" }", `a capacitor has no key "rdc"`, "esr"},
		{"[parts]\nC1 = { capacitor = \"1 uF\" }", `C1 does not say between which nodes it lies`, "from"},
		{"[parts]\nt = { driver = \"5 ohm\", from = \"in\", Fs = \"900 Hz\" }", `t is not a driver by these numbers`, "Qms"},
		{"[parts]\nC1 = { capacitor = \"1 uF\", from = \"in\", to = \"a\" }", `n.toml: no parts lead from in to ground`, "in"},
		{"[parts]\nC1 = { capacitor = \"1 F\", from = \"in\" }\nR = { resistor = \"0 ohm\", from = \"in\" }", `n.toml: the value of R cannot be`, "unit"},
		{"", `n.toml: the network has no parts`, "[parts]"},
	} {
		n, err := Parse([]byte(c.text), "n.toml")
		if err == nil {
			t.Errorf("%q gives %v", c.text, n)
			continue
		}
		if message, hint := wording.Error(err); !strings.Contains(message, c.message) || !strings.Contains(hint, c.hint) {
			t.Errorf("%q: %q, hint %q", c.text, message, hint)
		}
	}
}

// Whatever a file holds, it is a network that can be solved, or an error.
func FuzzParse(f *testing.F) {
	f.Add("[parts]\nC1 = { capacitor = \"6.8 uF\", esr = \"0.1 ohm\", from = \"in\", to = \"a\" }\nt = { driver = \"5.2 ohm\", from = \"a\", Fs = \"900 Hz\", Qms = 2.5, Qes = 1.2 }")
	f.Add("[parts]\nL1 = { coil = \"0.5 mH\", from = \"in\" }")
	f.Add("[parts]\nR1.resistor = \"1 ohm\"\nR1.from = \"ground\"\nR1.to = \"in\"")
	f.Fuzz(func(t *testing.T, text string) {
		n, err := Parse([]byte(text), "n.toml")
		if err != nil {
			if n != nil || err.Error() == "" {
				t.Fatalf("%v beside %v", n, err)
			}
			return
		}
		r, err := n.At(1e3)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if len(r.Across) != len(n) || cmplx.IsNaN(r.Impedance) {
			t.Fatalf("%q gives %+v", text, r)
		}
	})
}
