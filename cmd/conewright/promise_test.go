package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The shapes that programs of others rely on: fields may be added, none may be
// renamed or change its kind. Each value stands for its JSON kind; "a|b" lists
// the words that are allowed. docs/formats.md says the same in words.
var (
	promisedParameter = map[string]any{"value": 1.0, "unit": "", "std": 1.0, "low": 1.0, "high": 1.0, "origin": "fitted|entered|derived",
		"budget": map[string]any{"noise": 1.0, "model": 1.0, "bench": 1.0, "repeat": 1.0}}
	promisedParameters = map[string]any{"Re": promisedParameter, "Fs": promisedParameter, "Qms": promisedParameter, "Qes": promisedParameter, "Qts": promisedParameter,
		"Mms": promisedParameter, "Cms": promisedParameter, "Rms": promisedParameter, "BL": promisedParameter, "Vas": promisedParameter}
	promisedWarnings = []any{map[string]any{"code": "", "message": "", "hint": ""}}
	promisedCheck    = map[string]any{"parameter": "", "lower": 1.0, "upper": 1.0, "unit": "", "value": 1.0, "std": 1.0, "probability_in": 1.0,
		"verdict": "in-spec|out-of-spec|undecided"}
	promisedSteps = []any{map[string]any{"do": "", "gain": ""}}
	promisedInput = map[string]any{"path": "", "sha256": "", "load": "free|mass|box"}

	promisedFit = map[string]any{"schema": "conewright/fit/1", "version": "",
		"inputs":     []any{promisedInput},
		"parameters": promisedParameters,
		"model":      map[string]any{"coil": "", "creep": true, "alternatives": []any{map[string]any{"coil": "", "weight": 1.0}}},
		"quality":    map[string]any{"residual_rms_percent": 1.0, "white": true, "band_hz": []any{1.0}, "points": 1.0},
		"warnings":   promisedWarnings}
	promisedChecked = map[string]any{"schema": "conewright/check/1", "version": "", "inputs": []any{promisedInput},
		"parameters": promisedParameters, "checks": []any{promisedCheck}, "verdict": "in-spec|out-of-spec|undecided", "next": promisedSteps, "warnings": promisedWarnings}
	promisedCompared = map[string]any{"schema": "conewright/compare/1", "version": "", "inputs": []any{promisedInput},
		"before": promisedParameters, "after": promisedParameters,
		"changes": map[string]any{
			"Mms": map[string]any{"ratio": 1.0, "low": 1.0, "high": 1.0, "how": "added-mass|BL unchanged"},
			"Cms": map[string]any{"ratio": 1.0, "low": 1.0, "high": 1.0}, "Rms": map[string]any{"ratio": 1.0, "low": 1.0, "high": 1.0}},
		"checks": []any{promisedCheck}, "verdict": "in-spec|out-of-spec|undecided",
		"causes": []any{map[string]any{"cause": "", "percent": 1.0, "low": 1.0, "high": 1.0, "probability": 1.0}},
		"next":   promisedSteps, "warnings": promisedWarnings}
)

// breaks compares a JSON value with a promised shape.
func breaks(got, promised any, at string) []string {
	switch want := promised.(type) {
	case map[string]any:
		object, ok := got.(map[string]any)
		if !ok {
			return []string{fmt.Sprintf("%s is %T, not an object", at, got)}
		}
		var list []string
		for key, shape := range want {
			value, have := object[key]
			if !have {
				list = append(list, at+"."+key+" is missing")
				continue
			}
			list = append(list, breaks(value, shape, at+"."+key)...)
		}
		return list
	case []any:
		entries, ok := got.([]any)
		if !ok {
			return []string{fmt.Sprintf("%s is %T, not a list", at, got)}
		}
		var list []string
		for i, e := range entries {
			list = append(list, breaks(e, want[0], fmt.Sprintf("%s[%d]", at, i))...)
		}
		return list
	case string:
		text, ok := got.(string)
		if !ok || want != "" && !slices.Contains(strings.Split(want, "|"), text) {
			return []string{fmt.Sprintf("%s is %v, not a text like %q", at, got, want)}
		}
	case float64:
		if _, ok := got.(float64); !ok {
			return []string{fmt.Sprintf("%s is %v, not a number", at, got)}
		}
	case bool:
		if _, ok := got.(bool); !ok {
			return []string{fmt.Sprintf("%s is %v, not true or false", at, got)}
		}
	}
	return nil
}

func TestJSONKeepsItsPromise(t *testing.T) {
	t.Chdir(t.TempDir())
	for name, words := range map[string][]string{
		"before.csv": {"Cms=0.86mm/N", "seed=1"}, "before-mass.csv": {"Cms=0.86mm/N", "seed=2", "mass=20g"},
		"after.csv": {"seed=3"}, "after-mass.csv": {"seed=4", "mass=20g"}} {
		r, err := parseRecipe(words)
		if err != nil {
			t.Fatal(err)
		}
		table, err := r.table()
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, table, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile("larch.toml", []byte(demoSheet), 0o666); err != nil {
		t.Fatal(err)
	}
	for command, promised := range map[string]any{
		"fit after.csv --mass 20.0g=after-mass.csv --diameter 210mm":                                                                                             promisedFit,
		"check after.csv --mass 20.0g=after-mass.csv --diameter 210mm --spec larch.toml":                                                                         promisedChecked,
		"compare --before before.csv --before-mass 20.0g=before-mass.csv --after after.csv --after-mass 20.0g=after-mass.csv --diameter 210mm --spec larch.toml": promisedCompared,
	} {
		var out, errs bytes.Buffer
		if code := run(append(strings.Fields(command), "--json"), nil, &out, &errs); code != 0 {
			t.Fatalf("%s: exit code %d: %s", command, code, errs.String())
		}
		var got map[string]any
		if err := json.Unmarshal(out.Bytes(), &got); err != nil {
			t.Fatalf("%s: %v", command, err)
		}
		for _, b := range breaks(got, promised, "") {
			t.Errorf("%s: %s", command, b)
		}
		// SI units, spelled as promised.
		parameters, _ := got["parameters"].(map[string]any)
		if parameters == nil {
			parameters = got["after"].(map[string]any)
		}
		for symbol, unit := range map[string]string{"Re": "ohm", "Fs": "Hz", "Qts": "1", "Mms": "kg", "Cms": "m/N", "Rms": "kg/s", "BL": "T*m", "Sd": "m^2", "Vas": "m^3", "L1k": "H", "Cmes": "F"} {
			if p, ok := parameters[symbol].(map[string]any); !ok || p["unit"] != unit {
				t.Errorf("%s: %s has the unit %v, not %s", command, symbol, p["unit"], unit)
			}
		}
		inputs := got["inputs"].([]any)
		last := inputs[len(inputs)-1].(map[string]any)
		if last["load"] != "mass" || last["load_value"] != 0.02 || last["load_unit"] != "kg" || len(last["sha256"].(string)) != 64 {
			t.Errorf("%s: input %v", command, last)
		}
		if filepath.Base(last["path"].(string)) != "after-mass.csv" {
			t.Errorf("%s: path %v", command, last["path"])
		}
	}
}

// The JSON of a part, here from a table of a capacitor of 8 uF with 0.5 ohm in series.
func TestPartJSONKeepsItsPromise(t *testing.T) {
	t.Chdir(t.TempDir())
	var table strings.Builder
	table.WriteString("f[Hz],re[ohm],im[ohm]\n")
	for f := 10.0; f < 2e4; f *= 1.05 {
		fmt.Fprintf(&table, "%.6g,%.9g,%.9g\n", f, 0.5, -1/(2*math.Pi*f*8e-6))
	}
	if err := os.WriteFile("c.csv", []byte(table.String()), 0o666); err != nil {
		t.Fatal(err)
	}
	promised := map[string]any{"schema": "conewright/part/1", "version": "", "inputs": []any{promisedInput}, "kind": "capacitor|coil|resistor", "frequency_hz": 1.0,
		"parameters":     map[string]any{"C": promisedParameter, "ESR": promisedParameter, "tan_delta": promisedParameter},
		"bounds":         map[string]any{},
		"over_frequency": []any{map[string]any{"frequency_hz": 1.0, "C": map[string]any{"value": 1.0, "unit": "F", "std": 1.0}, "series_resistance": map[string]any{"value": 1.0, "unit": "ohm", "std": 1.0}}},
		"checks":         []any{promisedCheck}, "verdict": "in-spec|out-of-spec|undecided", "warnings": promisedWarnings}
	var out, errs bytes.Buffer
	if code := run(strings.Fields("part c.csv --nominal 8uF --json"), nil, &out, &errs); code != 0 {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	var got map[string]any
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	for _, b := range breaks(got, promised, "") {
		t.Error(b)
	}
	c := got["parameters"].(map[string]any)["C"].(map[string]any)
	if v := c["value"].(float64); c["unit"] != "F" || math.Abs(v/8e-6-1) > 1e-5 {
		t.Errorf("C is %v", c)
	}
}

// The comparison with a shape must be able to fail.
func TestBreaks(t *testing.T) {
	shape := map[string]any{"a": 1.0, "b": []any{map[string]any{"c": "x|y"}}, "d": true}
	for text, n := range map[string]int{
		`{"a":2,"b":[{"c":"x"},{"c":"y","more":1}],"d":false}`: 0,
		`{"a":"2","b":[{"c":"z"},{}],"d":0}`:                   4,
		`{"b":{}}`:                                             3,
		`[]`:                                                   1,
	} {
		var v any
		if err := json.Unmarshal([]byte(text), &v); err != nil {
			t.Fatal(err)
		}
		if got := breaks(v, shape, ""); len(got) != n {
			t.Errorf("%s: %q", text, got)
		}
	}
}
