package report

import (
	"math"
	"strconv"

	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/wording"
	"conewright/ts/param"
)

// fixed writes v with the given number of decimals; negative ones round to
// tens, hundreds and so on.
func fixed(v float64, decimals int) string {
	if decimals < 0 {
		p := math.Pow10(-decimals)
		v = math.Round(v/p) * p
		decimals = 0
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if f, _ := strconv.ParseFloat(s, 64); f == 0 && s[0] == '-' {
		return s[1:]
	}
	return s
}

// bench is a value on the screen's scale of its quantity.
type bench struct {
	perBench float64
	decimals int
}

// scaleFor chooses the digits of one row: by the uncertainty where there is
// one, four significant digits otherwise.
func scaleFor(id param.ID, value, std float64) bench {
	b := bench{perBench: quantity.Screen(id).Factor}
	std, value = std/b.perBench, math.Abs(value/b.perBench)
	switch {
	case std > 0 && !math.IsInf(std, 0):
		b.decimals = wording.Decimals(std)
	case value > 0 && !math.IsInf(value, 0):
		b.decimals = 3 - int(math.Floor(math.Log10(value)))
	}
	if value > 0 && !math.IsInf(value, 0) {
		b.decimals = min(b.decimals, mostDecimals(value))
	}
	return b
}

// mostDecimals keeps four digits of a value, five where the first is a 1: no
// bench gives more, however small the uncertainty that noise leaves. JSON and
// CSV have them all.
func mostDecimals(value float64) int {
	exponent := int(math.Floor(math.Log10(value)))
	if value < 2*math.Pow10(exponent) {
		return 4 - exponent
	}
	return 3 - exponent
}

func (b bench) number(si float64) string {
	if math.IsInf(si, 0) || math.IsNaN(si) {
		return "?"
	}
	return fixed(si/b.perBench, b.decimals)
}

// interval writes "36.4 to 36.8", with more digits where two ends that differ
// would read the same.
func (b bench) interval(lo, hi float64) string {
	for more := 0; more < 6 && lo < hi && b.number(lo) == b.number(hi); more++ {
		b.decimals++
	}
	return b.number(lo) + " to " + b.number(hi)
}

// limit writes a limit with the digits it was most likely given in: as few as
// say it to one part in ten million.
func limit(id param.ID, si float64) string {
	return strconv.FormatFloat(si/quantity.Screen(id).Factor, 'g', 7, 64)
}

// unitOf is the unit of a quantity on screen; "" for a pure number.
func unitOf(id param.ID) string { return quantity.Screen(id).Name }

// percent writes a ratio minus one as signed percent.
func percent(ratio float64, decimals int) string {
	s := fixed(100*(ratio-1), decimals)
	if s[0] != '-' && ratio > 1 {
		s = "+" + s
	}
	return s
}
