package table

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// Names as they stand in headers, and what they stand for: role and unit, the
// scale to its SI unit, a minus for an opposite sign.
func TestParseColumn(t *testing.T) {
	for text, want := range map[string]string{
		"f": "f", "F": "f", "freq": "f", "Frequency": "f", "f[Hz]": "f Hz 1", "f [Hz]": "f Hz 1", "Frequency (kHz)": "f kHz 1000",
		"Freq/Hz": "f Hz 1", "freq_hz": "f hz 1", "Frequency, Hz": "f Hz 1", "Frequency in Hz": "f Hz 1", "Hz": "f Hz 1", "(Hz)": "f Hz 1", "Frequenz [Hz]": "f Hz 1",
		"omega[rad/s]": "f rad/s 0.15915494309189535",
		"|Z|":          "|Z|", "Z": "|Z|", "Impedance": "|Z|", "Impedance (Ohm)": "|Z| Ohm 1", "|Z|[Ω]": "|Z| ohm 1", "|Z| [kΩ]": "|Z| kohm 1000",
		"Z (mOhm)": "|Z| mOhm 0.001", "Z (MOhm)": "|Z| MOhm 1e+06", "abs(Z) [ohm]": "|Z| ohm 1", "Impedance Magnitude (Ohms)": "|Z| Ohms 1", "Ohm": "|Z| Ohm 1",
		"mod Z": "|Z|", "|Z| dB(ohm)": "|Z| dBohm 0", "Z[dBΩ]": "|Z| dBohm 0", "|Z| dB re 1 ohm": "|Z| dB re 1 ohm 0", "Mag (dB)": "|Z| dB 0",
		"phase": "phase", "Phase (deg)": "phase deg 0.017453292519943295", "Phase [°]": "phase ° 0.017453292519943295", "arg(Z)/rad": "phase rad 1",
		"phase_deg": "phase deg 0.017453292519943295", "φ (degrees)": "phase degrees 0.017453292519943295", "Theta": "phase", "-phase[deg]": "phase deg 0.017453292519943295 minus",
		"re": "re", "Re(Z)": "re", "Re(Z) [ohm]": "re ohm 1", "Z' (ohm)": "re ohm 1", "R [ohm]": "re ohm 1", "Real": "re",
		"im[ohm]": "im ohm 1", "Im(Z) / mohm": "im mohm 0.001", "-Z'' (ohm)": "im ohm 1 minus", "−Im(Z)": "im minus", "Z″": "im", "X[ohm]": "im ohm 1", "Reactance": "im",
		"sigma[ohm]": "sigma ohm 1", "std[%]": "sigma % 0.01",
		"V source": "V source", "V source [V]": "V source V 1", "v_source (mV)": "V source mV 0.001", "V driver, V": "V driver V 1", "U resistor in V": "V resistor V 1", "Vr[dBV]": "V resistor dBV 0",
		"-": "-", "": "-", "SPL": "-", "SPL (dB)": "- dB 0", "coherence": "-", "Z left [ohm]": "- ohm 1", "phaze[deg]": "- deg 0.017453292519943295",
		"Frequency range 10 Hz": "- Hz 1", "f1[Hz]": "- Hz 1", "[Hz": "f Hz 1",
	} {
		c := parseColumn(text)
		got := c.role.String()
		if c.unit.kind != noUnit {
			scale := c.unit.scale
			if c.unit.kind == decibelOhms || c.unit.kind == decibels || c.unit.kind == decibelVolts {
				scale = 0
			}
			got += fmt.Sprintf(" %s %v", c.unit.name, scale)
		}
		if c.negate {
			got += " minus"
		}
		if got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}

func TestWords(t *testing.T) {
	for line, want := range map[string]string{
		"f |Z| phase":                       "f;|Z|;phase",
		"f[Hz] |Z|[ohm] phase[deg]":         "f[Hz];|Z|[ohm];phase[deg]",
		"Frequency [Hz]  |Z| ( ohm ) Phase": "Frequency [Hz];|Z| ( ohm );Phase",
		"Frequency Hz Impedance Ohm":        "Frequency Hz;Impedance Ohm",
		"f in Hz |Z| / ohm":                 "f in Hz;|Z| / ohm",
		"f[Hz] V source[V] V driver[V]":     "f[Hz];V source[V];V driver[V]",
		"f Hz V source V V driver V":        "f Hz;V source V;V driver V",
		"V resistor V driver f":             "V resistor;V driver;f",
		"f |Z| dB re 1 ohm":                 "f;|Z| dB;re;1 ohm", // brackets are needed here
		"f |Z| (dB re 1 ohm)":               "f;|Z| (dB re 1 ohm)",
		"V":                                 "V",
		"/ ) ]":                             "/ );]",
	} {
		if got := strings.Join(words(line), ";"); got != want {
			t.Errorf("%q is cut into %q, want %q", line, got, want)
		}
	}
}

// Every name that the messages recommend is understood.
func TestRecommendedNames(t *testing.T) {
	for r := frequency; r < roles; r++ {
		if c := parseColumn(r.String()); c.role != r {
			t.Errorf("%q is read as %s", r, c.role)
		}
	}
	for _, way := range readings {
		cols := parseHeader(splitNames("f[Hz] " + way.String()))
		if n := wrongColumns(cols); n != nil || !slices.ContainsFunc(cols, func(c column) bool { return c.negate == way.minus }) {
			t.Errorf("%q: %v", way, n)
		}
	}
}
