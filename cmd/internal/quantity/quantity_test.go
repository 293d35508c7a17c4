package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"

	"conewright/ts/param"

	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text      string
		kind      Kind
		si        float64
		tolerance float64
	}{
		{"15.0g", Mass, 0.015, 1e-4},
		{"15 g", Mass, 0.015, 1e-3},
		{"0.015kg", Mass, 0.015, 1e-3},
		{"15", Mass, 0.015, 1e-3},
		{"15.0g+-0.02g", Mass, 0.015, 2e-5},
		{"15.0 ± 0.02 g", Mass, 0.015, 2e-5},
		{"15.0 g +/- 20 mg", Mass, 0.015, 2e-5},
		{"15.0g±1%", Mass, 0.015, 1.5e-4},
		{"10R", Resistance, 10, 1},
		{"4R7", Resistance, 4.7, 0.1},
		{"10k", Resistance, 10e3, 1e3},
		{"4k7", Resistance, 4700, 100},
		{"10R +- 1%", Resistance, 10, 0.1},
		{"0.53oz", Mass, 0.53 * 0.028349523125, 0.01 * 0.028349523125},
		{"0.78 cu ft", Volume, 0.78 * 0.028316846592, 0.01 * 0.028316846592},
		{"262mm", Length, 0.262, 1e-3},
		{"10.3in", Length, 10.3 * 0.0254, 0.1 * 0.0254},
		{"539cm2", Area, 0.0539, 1e-4},
		{"539 cm²", Area, 0.0539, 1e-4},
		{"22.0L", Volume, 0.022, 1e-4},
		{"22000 cm3", Volume, 0.022, 1e-6},
		{"21C", Temperature, 294.15, 1},
		{"-5 °C", Temperature, 268.15, 1},
		{"293.15 K", Temperature, 293.15, 0.01},
		{"68F", Temperature, 293.15, 5.0 / 9},
		{"1013hPa", Pressure, 101300, 100},
		{"101.3 kPa", Pressure, 101300, 100},
		{"1%", Percent, 0.01, 0.01},
		{"1", Percent, 0.01, 0.01},
		{"500 ppm", Percent, 5e-4, 1e-6},
		{"5.61ohm", Resistance, 5.61, 0.01},
		{"5.61 Ω", Resistance, 5.61, 0.01},
		{"50 mohm", Resistance, 0.05, 1e-3},
		{"0.38", Number, 0.38, 0.01},
		{"38%", Number, 0.38, 0.01},
		{"0.62 mm/N", Compliance, 0.62e-3, 0.01e-3},
		{"8.1 T m", ForceFactor, 8.1, 0.1},
		{"8.1Tm", ForceFactor, 8.1, 0.1},
		{"1.5e2 Hz", Frequency, 150, 10},
		{"1.2e-3H", Inductance, 1.2e-3, 1e-4},
		{"-12dB", Decibels, -12, 1},
		{"20s", Duration, 20, 1},
		{"31 HZ", Frequency, 31, 1},
	} {
		v, err := Parse(c.text, c.kind)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if math.Abs(v.SI-c.si) > 1e-12*math.Abs(c.si) || math.Abs(v.Tolerance-c.tolerance) > 1e-9*c.tolerance {
			t.Errorf("%q is %v with tolerance %v, want %v and %v", c.text, v.SI, v.Tolerance, c.si, c.tolerance)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		text          string
		kind          Kind
		message, hint string
	}{
		{"15 lb", Mass, `"15 lb" has the unit "lb", which is not a unit of mass`, "g, kg, mg or oz"},
		{"4k7k", Resistance, `"4k7k" has the unit`, "ohm"},
		{"10R", Mass, `"10R" has the unit "R"`, "g"},
		{"31 mm", Frequency, `"31 mm" has the unit "mm"`, "Hz or kHz; a bare number is in Hz"},
		{"5,61 ohm", Resistance, `"5,61 ohm" has a comma`, "5.61 ohm"},
		{"", Mass, `"" is not a mass`, "g, kg, mg or oz"},
		{"ohm", Resistance, `"ohm" is not a resistance`, "ohm"},
		{"nan", Resistance, `"nan" is not a resistance`, "ohm"},
		{"inf Hz", Frequency, `"inf Hz" is not a frequency`, "Hz"},
		{"1e999", Frequency, `"1e999" is not a frequency`, "Hz"},
		{"0e999", Resistance, `"0e999" is not a resistance`, "ohm"},
		{"1e307 kPa", Pressure, `is not an air pressure`, "hPa"},
		{"1.2.3 g", Mass, `"1.2.3 g" is not a mass`, "g"},
		{"15g+-", Mass, `is not a mass`, "g"},
		{"15g+--1g", Mass, `negative tolerance`, "15.0g+-0.1g"},
		{"+-1g", Mass, `is not a mass`, "g"},
	} {
		v, err := Parse(c.text, c.kind)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q gives %v, %v", c.text, v, err)
			continue
		}
		if !strings.Contains(e.Error(), c.message) || !strings.Contains(e.Hint(), c.hint) {
			t.Errorf("%q: message %q, hint %q", c.text, e.Error(), e.Hint())
		}
	}
}

// JCGM 100:2008, 4.3.7: a rectangle of half-width a has the variance a^2/3.
func TestStd(t *testing.T) {
	v, err := Parse("100+-3 g", Mass)
	if err != nil || math.Abs(v.Std()-0.003/math.Sqrt(3)) > 1e-15 {
		t.Errorf("std %v, %v", v.Std(), err)
	}
}

// Every quantity of a driver can be written in its SI unit and in that of the screen,
// which a bare number takes.
func TestOfAgreesWithTheParameterTable(t *testing.T) {
	for _, id := range param.All() {
		k, screen := Of(id), Screen(id)
		for text, want := range map[string]float64{"2.50": 2.5 * screen.Factor, "2.50 " + screen.Name: 2.5 * screen.Factor, "2.50 " + id.Info().Unit: 2.5} {
			if strings.HasSuffix(text, " 1") {
				continue // a pure number has no unit
			}
			if v, err := Parse(text, k); err != nil || math.Abs(v.SI-want) > 1e-12*want {
				t.Errorf("%s: %q is %v, %v; want %v", id, text, v.SI, err, want)
			}
		}
	}
	for id, want := range map[param.ID]string{param.Mms: "g", param.Cms: "mm/N", param.Vas: "L", param.Sd: "cm2", param.Eta0: "%", param.Qts: ""} {
		if got := Screen(id).Name; got != want {
			t.Errorf("%s is shown in %q, want %q", id, got, want)
		}
	}
}

func TestParseNeverPanics(t *testing.T) {
	kinds := []Kind{Resistance, Length, Temperature, Percent, Number, Decibels}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[-+]?[0-9]{0,4}[.,]?[0-9]{0,4}([eE][-+]?[0-9]{0,3})? ?(g|ohm|%|C|±|\+-)?[0-9]*`)).Draw(t, "text")
		v, err := Parse(text, rapid.SampledFrom(kinds).Draw(t, "kind"))
		if err != nil {
			if v != (Value{}) {
				t.Fatalf("%q gives %v beside an error", text, v)
			}
			return
		}
		if math.IsNaN(v.SI) || math.IsInf(v.SI, 0) || !(v.Tolerance >= 0) || math.IsInf(v.Tolerance, 0) {
			t.Fatalf("%q gives %v", text, v)
		}
	})
}
