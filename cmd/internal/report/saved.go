package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"conewright/cmd/internal/wording"
	"conewright/ts/param"
	"conewright/ts/verdict"

	"gonum.org/v1/gonum/mat"
)

// A fit that was written as JSON can be read again in place of its sweeps: its
// field "joint" holds the values with their whole joint uncertainty, source by
// source, so that shared errors cancel as if the sweeps were at hand.

// jointJSON is the joint uncertainty of all values.
func jointJSON(p param.Parameters) object {
	ids, scaled, origins := []string{}, []number{}, []string{}
	for i, id := range p.IDs {
		ids = append(ids, id.String())
		scaled = append(scaled, number(p.Scaled[i]))
		origins = append(origins, p.Origin[i].String())
	}
	noise := [][]number{}
	if p.Noise != nil {
		for i := range p.IDs {
			row := make([]number, i+1)
			for k := range row {
				row[k] = number(p.Noise.At(i, k))
			}
			noise = append(noise, row)
		}
	}
	components := []object{}
	for _, c := range p.Components {
		effect := make([]number, len(c.Effect))
		for i, e := range c.Effect {
			effect[i] = number(e)
		}
		components = append(components, object{{"source", c.Source}, {"part", partNames[c.Part]}, {"own", c.Own}, {"effect", effect}})
	}
	skew := [][2]number{}
	for _, s := range p.Skew {
		skew = append(skew, [2]number{number(s[0]), number(s[1])})
	}
	return object{{"parameters", ids}, {"scaled", scaled}, {"origin", origins}, {"noise_covariance", noise}, {"components", components}, {"skew", skew},
		{"coverage", number(p.Coverage)}, {"mounting", p.Mounting.String()}, {"temperature_kelvin", number(p.Temperature)}}
}

var partNames = [...]string{param.NoisePart: "noise", param.ModelPart: "model", param.BenchPart: "bench", param.RepeatPart: "repeat"}

// Saved is a fit that was read from JSON.
type Saved struct {
	Parameters param.Parameters
	Bench      []Setting // how it was measured
	Runs       int       // sweeps in free air behind it
	Warnings   []wording.Said
}

// IsSaved says whether the first bytes of a file look like a report in JSON.
func IsSaved(head []byte) bool {
	return bytes.HasPrefix(bytes.TrimLeft(head, " \t\r\n\ufeff"), []byte("{"))
}

// SavedError is a JSON file that is not a usable fit.
type SavedError struct {
	File, Msg string
	Err       error
}

func (e *SavedError) Error() string { return e.File + ": " + e.Msg }

// Unwrap returns the cause, if there is one.
func (e *SavedError) Unwrap() error { return e.Err }

// Hint says what can be read.
func (e *SavedError) Hint() string {
	return "a saved fit is what conewright fit, check or lesson writes with --json; name the sweep itself otherwise"
}

// ReadSaved reads a fit from JSON; file is its name in messages.
func ReadSaved(data []byte, file string) (*Saved, error) {
	var in struct {
		Schema   string         `json:"schema"`
		Inputs   []inputLine    `json:"inputs"`
		Bench    settings       `json:"bench"`
		Warnings []wording.Said `json:"warnings"`
		Joint    *joint         `json:"joint"`
	}
	if err := json.Unmarshal(data, &in); err != nil {
		return nil, &SavedError{file, "is JSON but cannot be read: " + err.Error(), err}
	}
	oneDriver := slices.ContainsFunc([]string{"fit", "check", "lesson"}, func(kind string) bool {
		return strings.HasPrefix(in.Schema, "conewright/"+kind+"/")
	})
	if !oneDriver || in.Joint == nil {
		return nil, &SavedError{file, "is JSON, but not a saved fit", nil}
	}
	p, err := in.Joint.parameters(file)
	if err != nil {
		return nil, err
	}
	var inputs []Input
	for _, i := range in.Inputs {
		inputs = append(inputs, i.input())
	}
	// That it was swept once is said anew where it matters.
	warnings := slices.DeleteFunc(in.Warnings, func(w wording.Said) bool { return w.Code == verdict.NoRepeat })
	return &Saved{p, in.Bench, freeRuns(inputs), warnings}, nil
}

// joint is the field of that name: see jointJSON.
type joint struct {
	Parameters []string    `json:"parameters"`
	Scaled     []float64   `json:"scaled"`
	Origin     []string    `json:"origin"`
	Noise      [][]float64 `json:"noise_covariance"`
	Components []struct {
		Source string    `json:"source"`
		Part   string    `json:"part"`
		Own    bool      `json:"own"`
		Effect []float64 `json:"effect"`
	} `json:"components"`
	Skew        [][]float64 `json:"skew"`
	Coverage    float64     `json:"coverage"`
	Mounting    string      `json:"mounting"`
	Temperature float64     `json:"temperature_kelvin"`
}

// parameters checks the field and returns what it says.
func (j *joint) parameters(file string) (param.Parameters, error) {
	refuse := func(format string, args ...any) (param.Parameters, error) {
		return param.Parameters{}, &SavedError{file, fmt.Sprintf(format, args...), nil}
	}
	n := len(j.Parameters)
	if n == 0 || len(j.Scaled) != n || len(j.Origin) != n || len(j.Noise) != n && len(j.Noise) != 0 {
		return refuse("the field joint is not complete")
	}
	p := param.Parameters{Scaled: j.Scaled, Coverage: j.Coverage, Temperature: j.Temperature}
	for i, symbol := range j.Parameters {
		id, ok := param.Parse(symbol)
		if !ok {
			return refuse("%s in the field joint is unknown", symbol)
		}
		p.IDs = append(p.IDs, id)
		origin, ok := wordOf(j.Origin[i], param.FromFit, param.Entered, param.Derived)
		if !ok {
			return refuse("%q is not an origin", j.Origin[i])
		}
		p.Origin = append(p.Origin, origin)
	}
	var ok bool
	if p.Mounting, ok = wordOf(j.Mounting, param.FreeAir, param.Baffle); !ok {
		return refuse("%q is not a mounting", j.Mounting)
	}
	if len(j.Noise) > 0 {
		p.Noise = mat.NewSymDense(n, nil)
		for i, row := range j.Noise {
			if len(row) != i+1 {
				return refuse("row %d of noise_covariance is not usable", i+1)
			}
			for k, v := range row {
				p.Noise.SetSym(i, k, v)
			}
		}
	}
	for _, c := range j.Components {
		part := param.Part(slices.Index(partNames[:], c.Part))
		if !slices.Contains(partNames[:], c.Part) || len(c.Effect) != n {
			return refuse("the component %q is not complete", c.Source)
		}
		p.Components = append(p.Components, param.Component{Source: c.Source, Part: part, Own: c.Own, Effect: c.Effect})
	}
	if len(j.Skew) > 0 { // files of older versions have none
		if p.Skew = j.skew(p); p.Skew == nil {
			return refuse("the field skew is not complete or out of range")
		}
	}
	if err := p.Check(); err != nil {
		message, _ := wording.Error(err)
		return refuse("%s", message)
	}
	return p, nil
}

// mostSkew is more than a skew can be in parts of the variance: an error bar ends before
// the farthest of several things that may be true, and one that counts for less
// than 2.5 % does not move it.
const mostSkew = 100

// skew returns the field of that name; nil if it cannot be one.
func (j *joint) skew(p param.Parameters) [][2]float64 {
	if len(j.Skew) != len(p.IDs) {
		return nil
	}
	all := make([][2]float64, len(j.Skew))
	total := p.Covariance()
	for i, s := range j.Skew {
		if len(s) != 2 {
			return nil
		}
		for side, v := range s {
			if most := mostSkew * total.At(i, i); !(v <= most && v >= -most) {
				return nil
			}
			all[i][side] = v
		}
	}
	return all
}

// settings reads an object of texts and keeps their order.
type settings []Setting

// UnmarshalJSON reads the object.
func (s *settings) UnmarshalJSON(data []byte) error {
	dec := json.NewDecoder(bytes.NewReader(data))
	if _, err := dec.Token(); err != nil {
		return err
	}
	for dec.More() {
		name, err := dec.Token()
		if err != nil {
			return err
		}
		var value string
		if err := dec.Decode(&value); err != nil {
			return err
		}
		*s = append(*s, Setting{fmt.Sprint(name), value})
	}
	return nil
}

// wordOf finds the value that is written as word.
func wordOf[T fmt.Stringer](word string, choices ...T) (T, bool) {
	for _, c := range choices {
		if c.String() == word {
			return c, true
		}
	}
	return choices[0], false
}
