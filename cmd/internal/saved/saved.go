// Package saved is what a result keeps of itself so that it can be used again: the files
// that it came from, how it was measured, and the values with their joint uncertainty,
// written as fields of its JSON and read back.
//
// A fit that was written as JSON is read in place of its sweeps: its field "joint" holds the
// values with their whole joint uncertainty, source by source, so that shared errors cancel
// as if the sweeps were at hand.
package saved

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/friction"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/repeat"

	"gonum.org/v1/gonum/mat"
)

// Joint is the field of that name: values with their joint uncertainty.
func Joint(p param.Parameters) jsonout.Object {
	ids, scaled, origins := []string{}, []jsonout.Number{}, []string{}
	for i, id := range p.IDs {
		ids = append(ids, id.String())
		scaled = append(scaled, jsonout.Number(p.Scaled[i]))
		origins = append(origins, p.Origin[i].String())
	}
	noise := [][]jsonout.Number{}
	if p.Noise != nil {
		p.Noise = semidefinite(p)
		for i := range p.IDs {
			row := make([]jsonout.Number, i+1)
			for k := range row {
				row[k] = jsonout.Number(p.Noise.At(i, k))
			}
			noise = append(noise, row)
		}
	}
	components := []jsonout.Object{}
	for _, c := range p.Components {
		effect := make([]jsonout.Number, len(c.Effect))
		for i, e := range c.Effect {
			effect[i] = jsonout.Number(e)
		}
		o := jsonout.Object{{"source", c.Source}, {"part", partNames[c.Part]}, {"own", c.Own}, {"effect", effect}}
		if c.Scatter != "" {
			o = append(o, jsonout.Object{{"scatter", c.Scatter}, {"degrees_of_freedom", jsonout.Number(c.Dof)}, {"assumed", c.Assumed}}...)
		}
		components = append(components, o)
	}
	skew := [][2]jsonout.Number{}
	for _, s := range p.Skew {
		skew = append(skew, [2]jsonout.Number{jsonout.Number(s[0]), jsonout.Number(s[1])})
	}
	o := jsonout.Object{{"parameters", ids}, {"scaled", scaled}, {"origin", origins}, {"noise_covariance", noise}, {"components", components}, {"skew", skew},
		{"coverage", jsonout.Number(p.Coverage)}, {"mounting", p.Mounting.String()}, {"temperature_kelvin", jsonout.Number(p.Temperature)},
		{"alone", p.OneDriver}, {"doubts", doubts(p.Doubts)}}
	if p.MeterOff != 0 {
		o.Add("meter_off", jsonout.Number(p.MeterOff))
	}
	return o
}

// doubts are the doubts about a set: code and facts.
func doubts(list []notice.Notice) []jsonout.Object {
	out := []jsonout.Object{}
	for _, n := range list {
		facts := jsonout.Object{}
		for _, name := range slices.Sorted(maps.Keys(n.Facts)) {
			v := n.Facts[name]
			if x, ok := v.(float64); ok {
				v = jsonout.Number(x)
			}
			facts.Add(name, v)
		}
		out = append(out, jsonout.Object{{"code", n.Code}, {"facts", facts}})
	}
	return out
}

var partNames = [...]string{param.NoisePart: "noise", param.ModelPart: "model", param.BenchPart: "bench", param.RepeatPart: "repeat"}

// Fit is a fit that was read from JSON.
type Fit struct {
	Parameters param.Parameters
	Bench      Settings // how it was measured
	Warnings   []wording.Said
	Level      measured.Level
	MadeOf     []string        // hashes of the sweeps behind it
	Friction   *friction.Found // nil: nothing is known of it
}

// Is says whether the first bytes of a file look like a report in JSON.
func Is(head []byte) bool {
	return bytes.HasPrefix(bytes.TrimLeft(head, " \t\r\n\ufeff"), []byte("{"))
}

// Error is a JSON file that is not a usable fit.
type Error struct {
	File, Msg string
	Err       error
}

func (e *Error) Error() string { return e.File + ": " + e.Msg }

// Unwrap returns the cause, if there is one.
func (e *Error) Unwrap() error { return e.Err }

// Hint says what can be read.
func (e *Error) Hint() string {
	return "a saved fit is what conewright fit, check or lesson writes with --json; name the sweep itself otherwise"
}

// Read reads a fit from JSON; file is its name in messages.
func Read(data []byte, file string) (*Fit, error) {
	var in struct {
		Schema   string          `json:"schema"`
		Inputs   []Input         `json:"inputs"`
		Bench    Settings        `json:"bench"`
		Warnings []wording.Said  `json:"warnings"`
		Values   json.RawMessage `json:"parameters"`
		Joint    json.RawMessage `json:"joint"`
		Checksum string          `json:"checksum"`
		Friction *savedFriction  `json:"friction"`
		Level    savedLevel      `json:"level"`
	}
	if err := json.Unmarshal(data, &in); err != nil {
		return nil, &Error{file, "is JSON but cannot be read: " + err.Error(), err}
	}
	oneDriver := slices.ContainsFunc([]string{"fit", "check", "lesson"}, func(kind string) bool {
		return strings.HasPrefix(in.Schema, "conewright/"+kind+"/")
	})
	if !oneDriver || in.Joint == nil {
		return nil, &Error{file, "is JSON, but not a saved fit", nil}
	}
	if in.Values == nil {
		return nil, &Error{file, "the values are missing", nil}
	}
	switch sum, err := Checksum(in.Values, in.Joint); {
	case err != nil:
		return nil, &Error{file, "is JSON but cannot be read: " + err.Error(), err}
	case in.Checksum == "":
		return nil, &Error{file, "has no checksum: it was cut, or written by an older version", nil}
	case sum != in.Checksum:
		return nil, &Error{file, "was changed after it was written: its numbers do not agree with its checksum", nil}
	}
	p, err := ReadJoint(in.Joint, file)
	if err != nil {
		return nil, err
	}
	// That repeatability is assumed is said anew where it matters.
	warnings := slices.DeleteFunc(in.Warnings, func(w wording.Said) bool { return w.Code == repeat.Assumed })
	fit := &Fit{Parameters: p, Bench: in.Bench, Warnings: warnings}
	for _, f := range in.Inputs {
		fit.MadeOf = append(fit.MadeOf, f.Content()...)
	}
	var ok bool
	if fit.Level, ok = in.Level.level(); !ok {
		return nil, &Error{file, "the field level is out of range", nil}
	}
	if in.Friction != nil {
		found, ok := in.Friction.found()
		if !ok {
			return nil, &Error{file, "the field friction is out of range", nil}
		}
		fit.Friction = &found
	}
	return fit, nil
}

// ReadJoint reads the field that [Joint] writes; file is its name in messages.
func ReadJoint(data []byte, file string) (param.Parameters, error) {
	var j joint
	if err := json.Unmarshal(data, &j); err != nil {
		return param.Parameters{}, &Error{file, "is JSON but cannot be read: " + err.Error(), err}
	}
	return j.parameters(file)
}

// joint is the field of that name.
type joint struct {
	Parameters []string   `json:"parameters"`
	Scaled     []number   `json:"scaled"`
	Origin     []string   `json:"origin"`
	Noise      [][]number `json:"noise_covariance"`
	Components []struct {
		Source string   `json:"source"`
		Part   string   `json:"part"`
		Own    bool     `json:"own"`
		Effect []number `json:"effect"`
		// of what lies between repeats
		Scatter string  `json:"scatter"`
		Dof     float64 `json:"degrees_of_freedom"`
		Assumed bool    `json:"assumed"`
	} `json:"components"`
	Skew        [][]number      `json:"skew"`
	Coverage    number          `json:"coverage"`
	Mounting    string          `json:"mounting"`
	Temperature number          `json:"temperature_kelvin"`
	Alone       bool            `json:"alone"`
	Doubts      []notice.Notice `json:"doubts"`
	MeterOff    number          `json:"meter_off"`
}

// parameters checks the field and returns what it says.
func (j *joint) parameters(file string) (param.Parameters, error) {
	refuse := func(format string, args ...any) (param.Parameters, error) {
		return param.Parameters{}, &Error{file, fmt.Sprintf(format, args...), nil}
	}
	n := len(j.Parameters)
	if n == 0 || len(j.Scaled) != n || len(j.Origin) != n || len(j.Noise) != n && len(j.Noise) != 0 {
		return refuse("the field joint is not complete")
	}
	p := param.Parameters{Scaled: floats(j.Scaled), Coverage: float64(j.Coverage), Temperature: float64(j.Temperature), MeterOff: float64(j.MeterOff)}
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
	p.OneDriver = j.Alone
	for _, d := range j.Doubts {
		if !wording.Says(d) {
			return refuse("the doubt %q is not usable", d.Code)
		}
		p.Doubts = append(p.Doubts, d)
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
				p.Noise.SetSym(i, k, float64(v))
			}
		}
	}
	if p.Noise != nil && !isSemidefinite(p.Noise) {
		return refuse("noise_covariance is no covariance")
	}
	for _, c := range j.Components {
		part := param.Part(slices.Index(partNames[:], c.Part))
		if !slices.Contains(partNames[:], c.Part) || len(c.Effect) != n {
			return refuse("the component %q is not complete", c.Source)
		}
		p.Components = append(p.Components, param.Component{Source: c.Source, Part: part, Own: c.Own, Effect: floats(c.Effect),
			Scatter: c.Scatter, Dof: c.Dof, Assumed: c.Assumed})
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
	if wrong := impossible(p); wrong != "" {
		return refuse("%s", wrong)
	}
	if !slices.ContainsFunc(p.Components, func(c param.Component) bool { return c.Scatter != "" }) {
		p = repeat.Usual.Include(p, repeat.Again) // a file of an older version knows of no repeats
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
			if most := mostSkew * total.At(i, i); !(float64(v) <= most && float64(v) >= -most) {
				return nil
			}
			all[i][side] = float64(v)
		}
	}
	return all
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
