// Package quantity reads numbers with their unit as people write them on a
// command line or in a file: "15.0g", "262 mm", "22.0L", "21C", "5.61 ohm",
// "15.0 g +- 0.1 g". Everything is SI from here on.
package quantity

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Value is a quantity in SI units, with what its writing says about it.
type Value struct {
	SI float64
	// Tolerance is the half-width, in SI units, of the interval in which the
	// true value lies: what follows "+-", or else one unit of the last digit
	// that was written. 15.0 g stands for 14.9 to 15.1 g.
	Tolerance float64
	Stated    bool   // the tolerance was written, not taken from the digits
	Bare      bool   // no unit was written
	Text      string // as written, for messages
}

// Std returns the standard uncertainty in SI units of a value that lies
// anywhere within the tolerance with equal chance: half-width over root 3.
//
// Source: JCGM 100:2008, 4.3.7.
func (v Value) Std() float64 { return v.Tolerance / math.Sqrt(3) }

// Error is a text that is no quantity of the wanted kind.
type Error struct {
	Msg    string
	Advice string
}

func (e *Error) Error() string { return e.Msg }

// Hint says what to write instead.
func (e *Error) Hint() string { return e.Advice }

// Parse reads a quantity of kind k. The result is finite.
func Parse(text string, k Kind) (Value, error) {
	v, err := parse(text, k)
	if err == nil && (math.IsInf(v.SI, 0) || math.IsInf(v.Tolerance, 0) || math.IsNaN(v.Tolerance)) {
		err = &Error{fmt.Sprintf("%q is not %s", text, k.Name), k.advice()}
	}
	if err != nil {
		return Value{}, err
	}
	return v, nil
}

func parse(text string, k Kind) (Value, error) {
	s := strings.TrimSpace(text)
	body, tolerance, stated := cutTolerance(s)
	if k.Name == Resistance.Name {
		body = resistorCode(body)
	}
	// "15.0 +- 0.1 g": the unit stands once, behind both numbers.
	_, bodyUnit := splitUnit(body)
	_, tolUnit := splitUnit(tolerance)
	if stated && bodyUnit == "" && tolUnit != "" && tolUnit != "%" {
		body += tolUnit
	}
	if stated && tolUnit == "" && bodyUnit != "" {
		tolerance += bodyUnit
	}

	number, unit, err := k.parse(body, text)
	if err != nil {
		return Value{}, err
	}
	v := Value{SI: unit.Factor*number + unit.Offset, Text: s, Stated: stated, Bare: bodyUnit == "" && tolUnit == ""}
	if !stated {
		v.Tolerance = unit.Factor * lastDigit(body)
		return v, nil
	}
	if n, u := splitUnit(tolerance); u == "%" && unit.Name != "%" {
		percent, err := Percent.number(n, text)
		if err != nil {
			return Value{}, err
		}
		v.Tolerance = math.Abs(number*unit.Factor) * percent / 100
	} else {
		half, u, err := k.parse(tolerance, text)
		if err != nil {
			return Value{}, err
		}
		v.Tolerance = half * u.Factor
	}
	if v.Tolerance < 0 {
		return Value{}, &Error{fmt.Sprintf("%q has a negative tolerance", text), "write the half-width as a positive number: 15.0g+-0.1g"}
	}
	return v, nil
}

// code is a resistor as it is printed on the part and in parts lists: 10R, 4R7, 10k, 4k7.
var code = regexp.MustCompile(`^([0-9]+)([RrkK])([0-9]*)$`)

// resistorCode writes a resistor of parts lists with point and unit; any other text comes
// back as it is.
//
// Source: IEC 60062, letter and digit code for resistance values (from memory).
func resistorCode(s string) string {
	m := code.FindStringSubmatch(s)
	if m == nil {
		return s
	}
	unit := "ohm"
	if m[2] == "k" || m[2] == "K" {
		unit = "kohm"
	}
	if m[3] == "" {
		return m[1] + unit
	}
	return m[1] + "." + m[3] + unit
}

// cutTolerance splits "15.0 g +- 0.1 g" at the sign.
func cutTolerance(s string) (body, tolerance string, stated bool) {
	for _, sign := range []string{"±", "+/-", "+-"} {
		if a, b, ok := strings.Cut(s, sign); ok {
			return strings.TrimSpace(a), strings.TrimSpace(b), true
		}
	}
	return s, "", false
}

// parse reads one number with its unit.
func (k Kind) parse(s, whole string) (float64, Unit, error) {
	digits, name := splitUnit(s)
	unit, ok := k.unit(name)
	if !ok {
		if digits == "" {
			return 0, Unit{}, &Error{fmt.Sprintf("%q is not %s", whole, k.Name), k.advice()}
		}
		return 0, Unit{}, &Error{fmt.Sprintf("%q has the unit %q, which is not a unit of %s", whole, name, strings.TrimPrefix(strings.TrimPrefix(k.Name, "a "), "an ")), k.advice()}
	}
	number, err := k.number(digits, whole)
	return number, unit, err
}

func (k Kind) number(digits, whole string) (float64, error) {
	if strings.Contains(digits, ",") {
		return 0, &Error{fmt.Sprintf("%q has a comma in its number", whole), fmt.Sprintf("write the decimals with a point: %s", strings.ReplaceAll(whole, ",", "."))}
	}
	number, err := strconv.ParseFloat(digits, 64)
	if err != nil || math.IsInf(number, 0) || math.IsNaN(number) {
		return 0, &Error{fmt.Sprintf("%q is not %s", whole, k.Name), k.advice()}
	}
	return number, nil
}

// unit finds a unit by name; letter case counts only where it must.
func (k Kind) unit(name string) (Unit, bool) {
	if name == "" {
		return k.Units[0], true
	}
	for _, same := range []func(a, b string) bool{func(a, b string) bool { return a == b }, strings.EqualFold} {
		for _, u := range k.Units {
			for _, n := range append([]string{u.Name}, u.Aliases...) {
				if same(n, name) {
					return u, true
				}
			}
		}
	}
	return Unit{}, false
}

// advice says what k accepts: "write it in ohm, mohm or kohm; a bare number is in ohm".
func (k Kind) advice() string {
	var names []string
	for _, u := range k.Units {
		if u.Name != "" {
			names = append(names, u.Name)
		}
	}
	bare := "a bare number is in " + k.Units[0].Name
	if k.Units[0].Name == "" {
		bare = "a bare number is taken as it is"
	}
	list := names[0]
	if n := len(names); n > 1 {
		list = strings.Join(names[:n-1], ", ") + " or " + names[n-1]
	}
	return fmt.Sprintf("write it in %s; %s", list, bare)
}

// splitUnit parts the number from the unit behind it.
func splitUnit(s string) (digits, unit string) {
	end := skip(s, 0, "+-", 1)
	end = skip(s, end, "0123456789.,", -1)
	if e := skip(s, end, "eE", 1); e > end && end > 0 {
		sign := skip(s, e, "+-", 1)
		if last := skip(s, sign, "0123456789", -1); last > sign {
			end = last
		}
	}
	return s[:end], strings.TrimSpace(s[end:])
}

// skip returns the index behind at most n bytes of set that begin at i; a
// negative n sets no limit.
func skip(s string, i int, set string, n int) int {
	for ; i < len(s) && n != 0 && strings.IndexByte(set, s[i]) >= 0; n-- {
		i++
	}
	return i
}

// lastDigit returns the size of one unit in the last written digit of the
// number in s: 0.1 for "15.0g", 10 for "1.5e2".
func lastDigit(s string) float64 {
	digits, _ := splitUnit(s)
	mantissa, exponent := digits, 0
	if i := strings.IndexAny(digits, "eE"); i >= 0 {
		mantissa = digits[:i]
		exponent, _ = strconv.Atoi(digits[i+1:])
	}
	if i := strings.IndexByte(mantissa, '.'); i >= 0 {
		exponent -= len(mantissa) - i - 1
	}
	return math.Pow10(exponent)
}
