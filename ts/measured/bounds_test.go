package measured_test

import (
	"errors"
	"math"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// What is entered in another unit, or is none at all, is refused by name.
func TestSlipsAreRefused(t *testing.T) {
	z := simulated.Grid(handmade.CourseWoofer, 5, 2000, 12)
	for _, c := range []struct {
		name, want string // the code, and what a value is called
		change     func(s *measured.Sweep, c *measured.Conditions)
	}{
		{"Celsius", "bad-value temperature", func(_ *measured.Sweep, c *measured.Conditions) { c.Temperature.Value = 20 }},
		{"hPa", "bad-value pressure", func(_ *measured.Sweep, c *measured.Conditions) { c.Pressure.Value = 1013 }},
		{"kPa", "bad-value pressure", func(_ *measured.Sweep, c *measured.Conditions) { c.Pressure.Value = 101.3 }},
		{"percent", "bad-value humidity", func(_ *measured.Sweep, c *measured.Conditions) { c.Humidity = 50 }},
		{"cm2", "bad-value area", func(_ *measured.Sweep, c *measured.Conditions) { c.Sd.Value = 539 }},
		{"an uncertainty above its value", "bad-value resistance", func(_ *measured.Sweep, c *measured.Conditions) { c.DCRe = param.Quantity{Value: 5, Std: 6} }},
		{"an uncertainty of nothing", "bad-value area", func(_ *measured.Sweep, c *measured.Conditions) { c.Sd.Std = math.NaN() }},
		{"a mounting that is none", "bad-mounting", func(_ *measured.Sweep, c *measured.Conditions) { c.Mounting = 9 }},
		{"grams", "bad-value mass", func(s *measured.Sweep, _ *measured.Conditions) {
			s.Load = measured.Load{Kind: measured.AddedMass, Value: 15}
		}},
		{"litres", "bad-value volume", func(s *measured.Sweep, _ *measured.Conditions) {
			s.Load = measured.Load{Kind: measured.KnownBox, Value: 22}
		}},
		{"no size", "bad-value mass", func(s *measured.Sweep, _ *measured.Conditions) { s.Load = measured.Load{Kind: measured.AddedMass} }},
		{"a size without a kind", "free-load", func(s *measured.Sweep, _ *measured.Conditions) { s.Load.Value = 0.015 }},
		{"a load that is none", "load-kind", func(s *measured.Sweep, _ *measured.Conditions) { s.Load.Kind = 7 }},
		{"a magnitude with a phase", "magnitude-complex", func(s *measured.Sweep, _ *measured.Conditions) { s.Impedance.MagnitudeOnly = true }},
		{"no noise at all", "bad-sigma", func(s *measured.Sweep, _ *measured.Conditions) { s.Impedance.Sigma = make([]float64, z.Len()) }},
		{"an effect for each second point", "effects-differ", func(s *measured.Sweep, _ *measured.Conditions) {
			s.Impedance.Systematic = []measured.Systematic{{Source: "leads", Effect: make([]complex128, z.Len()/2)}}
		}},
		{"the zero value", "no-points", func(s *measured.Sweep, _ *measured.Conditions) { *s = measured.Sweep{} }},
		{"a current of nothing", "bad-drive", func(s *measured.Sweep, _ *measured.Conditions) { s.Impedance.Drive = new(measured.Drive) }},
	} {
		s, cond := measured.Sweep{Impedance: z}, measured.Conditions{}
		if err := measured.CheckInput([]measured.Sweep{s}, cond); err != nil {
			t.Fatalf("a sound input: %v", err)
		}
		c.change(&s, &cond)
		var n *notice.Notice
		err := measured.CheckInput([]measured.Sweep{s}, cond)
		if !errors.As(err, &n) {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
			continue
		}
		got := n.Code
		if n.Has("of") {
			got += " " + n.Text("of")
		}
		if got != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
}

// A word that is none says so and does not panic.
func TestWordsOfUnknownValues(t *testing.T) {
	for want, got := range map[string]string{
		"measured.LoadKind(7)": measured.LoadKind(7).String(), "param.Mounting(9)": param.Mounting(9).String(),
		"param.Origin(3)": param.Origin(3).String(), "param.ID(99)": param.ID(99).String(), "": param.ID(99).Info().Symbol,
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
