package report

import (
	"math"
	"testing"

	"conewright/cmd/internal/wording"
	"conewright/ts/param"
)

// The worked examples are those of the Particle Data Group, "Review of Particle
// Physics", Introduction, section "Rounding" (from memory): 0.827 with 0.119,
// with 0.367, and 14.674 with 0.964. The others are the edges of the rule.
func TestDecimals(t *testing.T) {
	for _, c := range []struct {
		value, std  float64
		want, wantU string
	}{
		{0.827, 0.119, "0.83", "0.12"},
		{0.827, 0.367, "0.8", "0.4"},
		{14.674, 0.964, "14.7", "1.0"},
		{5.6034, 0.0354, "5.603", "0.035"},
		{5.6034, 0.0355, "5.60", "0.04"},
		{5.6034, 0.03545, "5.60", "0.04"}, // leads 354.5, rounds to 355
		{5.6034, 0.0949, "5.60", "0.09"},
		{5.6034, 0.095, "5.60", "0.10"},
		{5.6034, 0.09996, "5.60", "0.10"},
		{1234.5, 12, "1234", "12"},
		{1234.5, 40, "1230", "40"},
		{1234.5, 340, "1230", "340"},
		{1234.5, 400, "1200", "400"},
	} {
		d := wording.Decimals(c.std)
		if got, u := fixed(c.value, d), fixed(c.std, d); got != c.want || u != c.wantU {
			t.Errorf("%v with %v: %s with %s, want %s with %s", c.value, c.std, got, u, c.want, c.wantU)
		}
	}
}

func TestNumbersOnScreen(t *testing.T) {
	for _, c := range []struct {
		id         param.ID
		value, std float64
		want       string
	}{
		{param.Cms, 0.6153e-3, 0.012e-3, "0.615"},
		{param.Mms, 0.04260, 0.0012, "42.6"},
		{param.Qts, 0.38877, 0, "0.3888"},
		{param.Fs, 31, 0, "31.00"},
		{param.Eta0, 0.00725, 0.00008, "0.725"},
		{param.Fs, 31.094071, 1e-5, "31.09"},
		{param.Cms, 0.61503e-3, 1e-9, "0.6150"},
		{param.Fs, 18.40771, 1e-5, "18.408"},
		{param.Cmes, 386.3935e-6, 1e-10, "386.4"},
		{param.Fs, math.NaN(), 0.1, "?"},
		{param.Fs, 31, math.Inf(1), "31.00"},
	} {
		if got := scaleFor(c.id, c.value, c.std).number(c.value); got != c.want {
			t.Errorf("%s %v with %v: %s, want %s", c.id, c.value, c.std, got, c.want)
		}
	}
	for v, want := range map[float64]string{1: "0.0", 1.1834: "+18.3", 0.8166: "-18.3", 0.99999: "0.0"} {
		if got := percent(v, 1); got != want {
			t.Errorf("percent(%v) = %s, want %s", v, got, want)
		}
	}
	if got := fixed(-0.001, 2); got != "0.00" {
		t.Errorf("minus nothing is %s", got)
	}
}

// Two ends that differ never read the same, and no more digits than that.
func TestIntervalShowsItsWidth(t *testing.T) {
	b := scaleFor(param.Fs, 31.1402, 0.0008)
	for _, c := range []struct {
		lo, hi float64
		want   string
	}{
		{31.1386, 31.1418, "31.139 to 31.142"},
		{31.13, 31.15, "31.13 to 31.15"},
		{31.14, 31.14, "31.14 to 31.14"},
		{31.14001, 31.14003, "31.14001 to 31.14003"},
	} {
		if got := b.interval(c.lo, c.hi); got != c.want {
			t.Errorf("%v to %v: %q, want %q", c.lo, c.hi, got, c.want)
		}
	}
}
