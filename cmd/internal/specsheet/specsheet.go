// Package specsheet reads the limits that a driver must meet from a TOML file.
// docs/formats.md describes the file.
package specsheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/settings"
	"conewright/ts/lot"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Sheet is a spec sheet.
type Sheet struct {
	verdict.Spec
	Pair []lot.PairLimit // how much the two of a pair may differ; nil: not said
}

// Read reads a spec sheet and returns it with the bytes of the file.
func Read(path string) (Sheet, []byte, error) {
	entries, data, err := settings.ReadFile(path)
	if err != nil {
		return Sheet{}, nil, err
	}
	sheet, err := fromEntries(entries, path)
	if err != nil {
		return Sheet{}, nil, err
	}
	return sheet, data, nil
}

// Parse reads a spec sheet from memory; file is its name in messages.
func Parse(data []byte, file string) (Sheet, error) {
	entries, err := settings.Parse(data, file)
	if err != nil {
		return Sheet{}, err
	}
	return fromEntries(entries, file)
}

// The keys outside [limits].
var keys = []string{"name", "source", "mounting", "temperature", "limits", "pair", "decision.confidence"}

// limitKeys are the keys of one limit.
var limitKeys = []string{"nominal", "tolerance", "min", "max"}

func fromEntries(entries []settings.Entry, file string) (Sheet, error) {
	spec := Sheet{Spec: verdict.Spec{Temperature: 293.15, Confidence: 0.95}}
	limits := map[param.ID]map[string]settings.Entry{}
	for _, e := range entries {
		var err error
		switch {
		case e.Path[0] == "limits":
			err = addLimit(limits, e)
		case e.Path[0] == "pair":
			var limit lot.PairLimit
			limit, err = pairLimit(e)
			spec.Pair = append(spec.Pair, limit)
		case e.Name() == "name":
			spec.Name = e.Text
		case e.Name() == "source":
			spec.Source = e.Text
		case e.Name() == "mounting":
			spec.Mounting, err = mounting(e)
		case e.Name() == "temperature":
			spec.Temperature, err = number(e, quantity.Temperature, 233.15, 373.15)
		case e.Name() == "decision.confidence":
			spec.Confidence, err = number(e, quantity.Number, 0.5, 0.9999)
		default:
			err = unknown(e.Key(), "key", e.Name(), keys)
		}
		if err != nil {
			return Sheet{}, err
		}
	}
	for _, id := range param.All() {
		if limits[id] == nil {
			continue
		}
		limit, err := oneLimit(id, limits[id])
		if err != nil {
			return Sheet{}, err
		}
		spec.Limits = append(spec.Limits, limit)
	}
	if len(spec.Limits) == 0 && spec.Pair == nil {
		return Sheet{}, settings.Place{File: file}.Errorf(
			`add a table [limits] with a line such as: Fs = { nominal = "31 Hz", tolerance = "10 %" }`, "the sheet sets no limits")
	}
	return spec, nil
}

// pairLimit reads one line below [pair]: Fs = "5 %".
func pairLimit(e settings.Entry) (lot.PairLimit, error) {
	if len(e.Path) != 2 {
		return lot.PairLimit{}, e.Key().Errorf(`write [pair] and below it lines such as: Fs = "5 %"`, "%s is not a limit of a pair", e.Name())
	}
	limit, err := PairLimit(e.Path[1], e.Text)
	if err != nil {
		at := e.At
		if _, known := param.Parse(e.Path[1]); !known {
			at = e.Key()
		}
		return lot.PairLimit{}, at.Wrap(err)
	}
	return limit, nil
}

// PairLimit reads how much two drivers may differ in a quantity: "Fs" and "5 %".
func PairLimit(symbol, text string) (lot.PairLimit, error) {
	id, ok := param.Parse(symbol)
	if !ok || !id.Info().Positive {
		return lot.PairLimit{}, &quantity.Error{Msg: fmt.Sprintf("a pair is not held to %q", symbol), Advice: "usual are Re, Fs and Qts"}
	}
	v, err := quantity.Parse(text, quantity.Percent)
	if err != nil {
		return lot.PairLimit{}, err
	}
	if !(v.SI > 0 && v.SI < 1) {
		return lot.PairLimit{}, &quantity.Error{Msg: fmt.Sprintf("the limit %q of a pair in %s is out of range", text, id), Advice: "write a percentage such as 5 %"}
	}
	return lot.PairLimit{ID: id, Percent: 100 * v.SI}, nil
}

// addLimit files one value below [limits].
func addLimit(limits map[param.ID]map[string]settings.Entry, e settings.Entry) error {
	if len(e.Path) < 2 {
		return e.Key().Errorf("write [limits] and below it one line for each quantity", "limits holds a value")
	}
	id, ok := param.Parse(e.Path[1])
	if !ok {
		var symbols []string
		for _, id := range param.All() {
			symbols = append(symbols, id.String())
		}
		return unknown(e.Keys[1], "quantity", e.Path[1], symbols)
	}
	if len(e.Path) == 2 {
		return e.At.Errorf(fmt.Sprintf("write %s = { nominal = %q, tolerance = \"10 %%\" }, or { min = ..., max = ... }", id, e.Text),
			"the limit of %s is a single value", id)
	}
	name := strings.Join(e.Path[2:], ".")
	if !slices.Contains(limitKeys, name) {
		return unknown(e.Key(), "key", name, limitKeys)
	}
	if limits[id] == nil {
		limits[id] = map[string]settings.Entry{}
	}
	limits[id][name] = e
	return nil
}

// oneLimit computes the limit of one quantity from its entries.
func oneLimit(id param.ID, e map[string]settings.Entry) (verdict.Limit, error) {
	limit := verdict.Limit{ID: id, Lo: math.Inf(-1), Hi: math.Inf(1)}
	nominal, isNominal := e["nominal"]
	tolerance, isTolerance := e["tolerance"]
	lower, isMin := e["min"]
	upper, isMax := e["max"]
	const both = `give nominal and tolerance, or min and max (one of the two is enough)`
	switch {
	case isNominal && (isMin || isMax):
		return limit, nominal.Key().Errorf(both, "%s has a nominal value and also min or max", id)
	case isNominal && !isTolerance:
		return limit, nominal.Key().Errorf(`add the tolerance: { nominal = "`+nominal.Text+`", tolerance = "10 %" }`, "%s has a nominal value without a tolerance", id)
	case isTolerance && !isNominal:
		return limit, tolerance.Key().Errorf(both, "%s has a tolerance without a nominal value", id)
	}

	kind := quantity.Of(id)
	floor, above := math.Inf(-1), math.Inf(-1) // of a lower limit, and of the others
	switch {
	case id.Info().Positive:
		floor, above = math.SmallestNonzeroFloat64, math.SmallestNonzeroFloat64
	case id == param.Friction || id == param.Distortion: // no measurement shows that there is none at all
		floor, above = 0, math.SmallestNonzeroFloat64
	}
	if isNominal {
		middle, err := number(nominal, kind, above, math.Inf(1))
		if err != nil {
			return limit, err
		}
		half, err := halfWidth(tolerance, kind, middle)
		if err != nil {
			return limit, err
		}
		limit.Lo, limit.Hi = middle-half, middle+half
		return limit, nil
	}
	var err error
	if isMin {
		if limit.Lo, err = number(lower, kind, floor, math.Inf(1)); err != nil {
			return limit, err
		}
	}
	if isMax {
		if limit.Hi, err = number(upper, kind, above, math.Inf(1)); err != nil {
			return limit, err
		}
	}
	if limit.Lo >= limit.Hi {
		return limit, lower.At.Errorf("exchange the two, or correct one of them", "the lower limit of %s, %s, is not below the upper one, %s", id, lower.Text, upper.Text)
	}
	return limit, nil
}

// halfWidth reads a tolerance: in percent of the nominal value, or in its unit.
func halfWidth(e settings.Entry, kind quantity.Kind, nominal float64) (float64, error) {
	if strings.HasSuffix(strings.TrimSpace(e.Text), "%") {
		part, err := number(e, quantity.Percent, math.SmallestNonzeroFloat64, 0.99)
		return part * math.Abs(nominal), err
	}
	v, err := quantity.Parse(e.Text, kind)
	if err != nil {
		return 0, e.At.Wrap(err)
	}
	if v.Bare && kind.Units[0].Name == "" {
		return 0, e.At.Errorf(fmt.Sprintf("write \"%s %%\", or give min and max", e.Text), "the tolerance %s does not say whether it is in percent", e.Text)
	}
	if v.Bare {
		return 0, e.At.Errorf(fmt.Sprintf("write \"%[1]s %%\" or \"%[1]s %[2]s\"", e.Text, kind.Units[0].Name), "the tolerance %s has no unit", e.Text)
	}
	// A tolerance is a difference: the offset of a scale does not belong to it.
	if !(v.SI > 0) || v.SI >= math.Abs(nominal) {
		return 0, e.At.Errorf("write it as a part, \"10 %\", or in the unit of the value", "the tolerance %s must be above zero and below the nominal value", e.Text)
	}
	return v.SI, nil
}

func mounting(e settings.Entry) (param.Mounting, error) {
	for _, m := range []param.Mounting{param.FreeAir, param.Baffle} {
		if e.Text == m.String() {
			return m, nil
		}
	}
	return 0, e.At.Errorf("write free-air or baffle", "%q is not a mounting", e.Text)
}

// number reads a quantity within bounds (SI, both included).
func number(e settings.Entry, kind quantity.Kind, lo, hi float64) (float64, error) {
	v, err := quantity.Parse(e.Text, kind)
	if err != nil {
		return 0, e.At.Wrap(err)
	}
	if v.SI < lo || v.SI > hi {
		return 0, e.At.Errorf("check the number and its unit", "%s = %s is out of range", e.Name(), e.Text)
	}
	return v.SI, nil
}

// unknown is the error for a word that has no meaning here.
func unknown(at settings.Place, what, word string, known []string) error {
	advice := "known here: " + strings.Join(known, ", ")
	if near := settings.Nearest(word, known); word == "Le" {
		advice = "the inductance of a coil falls with frequency; L1k is the one at 1 kHz, which data sheets mostly give"
	} else if near != "" {
		advice = "did you mean " + near + "?"
	}
	return at.Errorf(advice, "there is no %s %q in a spec sheet", what, word)
}
