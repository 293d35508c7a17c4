// Package figure writes numbers as text.
package figure

import (
	"math"
	"strconv"
	"strings"

	"conewright/ts/param"
)

// Digits returns the number of decimals that shows an uncertainty with two
// significant figures if they are below 36, with one otherwise: the rule of the
// Particle Data Group (Review of Particle Physics, Introduction), from memory.
// Without an uncertainty it gives three significant figures of the value.
func Digits(value, std float64) int {
	if std <= 0 || math.IsNaN(std) || math.IsInf(std, 0) {
		if value == 0 || math.IsInf(value, 0) || math.IsNaN(value) {
			return 0
		}
		return max(0, 2-int(math.Floor(math.Log10(math.Abs(value)))))
	}
	exp := int(math.Floor(math.Log10(std)))
	lead := std / math.Pow(10, float64(exp)) * 100 // 100 to 999
	d := -exp
	if math.Round(lead) < 355 {
		d++
	}
	return max(0, min(d, 9))
}

// ValueText writes a value in its bench unit, as exact as std (SI; 0: unknown)
// deserves: "36.6 Hz".
func ValueText(id param.ParamID, value, std float64) string {
	info := id.Info()
	v, u := value/info.PerBench, std/info.PerBench
	most := max(0, 3-int(math.Floor(math.Log10(math.Abs(v))))) // four significant figures are enough in a sentence
	return WithUnit(strconv.FormatFloat(v, 'f', min(Digits(v, u), most), 64), info.BenchUnit)
}

// RangeText writes an interval in the bench unit: "29.1 to 34.2 Hz".
func RangeText(id param.ParamID, lo, hi float64) string {
	info := id.Info()
	lo, hi = lo/info.PerBench, hi/info.PerBench
	d := max(Digits(lo, 0), Digits(hi, 0))
	if hi > lo && !math.IsInf(hi-lo, 0) {
		d = max(d, Digits(lo, (hi-lo)/4)) // the ends of a narrow interval must not read alike
	}
	return WithUnit(strconv.FormatFloat(lo, 'f', d, 64)+" to "+strconv.FormatFloat(hi, 'f', d, 64), info.BenchUnit)
}

// EndText writes one end of a limit as the sheet has it, without its unit.
func EndText(id param.ParamID, x float64) string {
	return strconv.FormatFloat(x/id.Info().PerBench, 'g', 5, 64)
}

func WithUnit(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + " " + unit
}

// PercentText writes a percentage as exact as its interval deserves.
func PercentText(value, lo, hi float64) string {
	d := percentDigits(lo, hi)
	return strconv.FormatFloat(math.Abs(value), 'f', d, 64) + " %"
}

// PercentRange writes the interval of a percentage without the sign, smaller end
// first: "33 to 43".
func PercentRange(lo, hi float64) string {
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

func Capital(word string) string { return string(word[0]-'a'+'A') + word[1:] }

// Grams writes a mass in kg with three significant digits: "12.3 g".
func Grams(kg float64) string { return plainNumber(1e3*kg) + " g" }

// Hertz writes a frequency with three significant digits: "36.6 Hz".
func Hertz(f float64) string { return plainNumber(f) + " Hz" }

// plainNumber writes three significant digits without an exponent.
func plainNumber(v float64) string {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	d := 2 - int(math.Floor(math.Log10(math.Abs(v))))
	p := math.Pow10(d)
	return strconv.FormatFloat(math.Round(v*p)/p, 'f', max(0, d), 64)
}
