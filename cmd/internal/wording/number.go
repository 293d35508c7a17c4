package wording

import (
	"math"
	"strconv"
	"strings"

	"conewright/cmd/internal/quantity"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Decimals returns how many digits behind the point a value with the standard
// uncertainty std keeps; negative means tens, hundreds and so on.
//
// The rule is that of the Particle Data Group: where the three leading digits
// of the uncertainty are 100 to 354, keep two digits of it, 355 to 949, keep
// one, and from 950 it is rounded up to 1000 and two are kept.
//
// Source: Particle Data Group, "Review of Particle Physics", Introduction,
// section "Rounding" (from memory).
func Decimals(std float64) int {
	exponent := int(math.Floor(math.Log10(std))) // of the leading digit
	if math.Round(std/math.Pow10(exponent-2)) < 355 {
		return 1 - exponent
	}
	return -exponent // one digit, or the 1.0 that 950 and more is rounded up to
}

// digits returns the number of decimals that shows an uncertainty as [Decimals] says;
// without one it gives three significant figures of the value.
func digits(value, std float64) int {
	if std > 0 && !math.IsInf(std, 0) {
		return max(0, min(Decimals(std), 9))
	}
	if value == 0 || math.IsInf(value, 0) || math.IsNaN(value) {
		return 0
	}
	return max(0, 2-int(math.Floor(math.Log10(math.Abs(value)))))
}

// valueText writes a value in its bench unit, as exact as std (SI; 0: unknown)
// deserves: "36.6 Hz".
func valueText(id param.ID, value, std float64) string {
	unit := quantity.Screen(id)
	v, u := value/unit.Factor, std/unit.Factor
	most := max(0, 3-int(math.Floor(math.Log10(math.Abs(v))))) // four significant figures are enough in a sentence
	return WithUnit(strconv.FormatFloat(v, 'f', min(digits(v, u), most), 64), unit.Name)
}

// rangeText writes an interval in the bench unit: "29.1 to 34.2 Hz".
func rangeText(id param.ID, lo, hi float64) string {
	unit := quantity.Screen(id)
	lo, hi = lo/unit.Factor, hi/unit.Factor
	d := max(digits(lo, 0), digits(hi, 0))
	if hi > lo && !math.IsInf(hi-lo, 0) {
		d = max(d, digits(lo, (hi-lo)/4)) // the ends of a narrow interval must differ in their digits
	}
	return WithUnit(strconv.FormatFloat(lo, 'f', d, 64)+" to "+strconv.FormatFloat(hi, 'f', d, 64), unit.Name)
}

// endText writes one end of a limit as the sheet has it, without its unit.
func endText(id param.ID, x float64) string {
	return strconv.FormatFloat(x/quantity.Screen(id).Factor, 'g', 5, 64)
}

// WithUnit joins a number and a unit, which may be empty: "36.6 Hz".
func WithUnit(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + " " + unit
}

// percentText writes a percentage as exact as its interval deserves.
func percentText(value, lo, hi float64) string {
	d := percentDigits(lo, hi)
	return strconv.FormatFloat(math.Abs(value), 'f', d, 64) + " %"
}

// percentRange writes the interval of a percentage without the sign, smaller end
// first: "33 to 43".
func percentRange(lo, hi float64) string {
	d := percentDigits(lo, hi)
	if lo < 0 && hi > 0 {
		return strconv.FormatFloat(lo, 'f', d, 64) + " to +" + strconv.FormatFloat(hi, 'f', d, 64)
	}
	a, b := math.Abs(lo), math.Abs(hi)
	return strconv.FormatFloat(min(a, b), 'f', d, 64) + " to " + strconv.FormatFloat(max(a, b), 'f', d, 64)
}

func percentDigits(lo, hi float64) int {
	switch width := math.Abs(hi - lo); {
	case width < 0.2:
		return 2
	case width < 5:
		return 1
	}
	return 0
}

// List joins words: "a", "a and b", "a, b and c".
func List(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

// grams writes a mass in kg with three significant digits: "12.3 g".
func grams(kg float64) string { return plainNumber(1e3*kg) + " g" }

// hertz writes a frequency with three significant digits: "36.6 Hz".
func hertz(f float64) string { return plainNumber(f) + " Hz" }

// plainNumber writes three significant digits, without an exponent where a person would.
func plainNumber(v float64) string {
	size := math.Abs(v)
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	if size >= 1e7 || size < 1e-7 {
		return strconv.FormatFloat(v, 'g', 3, 64)
	}
	d := 2 - int(math.Floor(math.Log10(size)))
	p := math.Pow10(d)
	return strconv.FormatFloat(math.Round(v*p)/p, 'f', max(0, d), 64)
}

// limitText writes a limit: "30 to 34 Hz", "at most 34 Hz", "at least 30 Hz".
func limitText(l verdict.Limit) string {
	unit := quantity.Screen(l.ID).Name
	short := func(x float64) string { return endText(l.ID, x) }
	switch lo, hi := l.Scaled(); {
	case math.IsInf(lo, -1):
		return "at most " + WithUnit(short(l.Hi), unit)
	case math.IsInf(hi, 1):
		return "at least " + WithUnit(short(l.Lo), unit)
	}
	return WithUnit(short(l.Lo)+" to "+short(l.Hi), unit)
}
