package saved

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"

	"conewright/cmd/internal/jsonout"
	"conewright/ts/measured"
)

// Input is one file that was read.
type Input struct {
	Path   string
	SHA256 string // lower-case hexadecimal
	Side   string // "", "before", "after", "left", "right"
	Load   measured.Load
	Saved  bool // a fit that was saved as JSON, not a sweep
	// MadeOf are the hashes of the sweeps behind a saved fit.
	MadeOf []string
}

// Content are the hashes of all data in the file: its own, and those of the sweeps that a
// saved fit was made of.
func (in Input) Content() []string {
	if in.SHA256 == "" {
		return slices.Clone(in.MadeOf)
	}
	return append([]string{in.SHA256}, in.MadeOf...)
}

// MarshalJSON writes the file with its load; a saved fit has none of its own.
func (in Input) MarshalJSON() ([]byte, error) {
	o := jsonout.Object{{"path", in.Path}, {"sha256", in.SHA256}}
	if in.Side != "" {
		o.Add("side", in.Side)
	}
	if in.Saved {
		o.Add("saved_fit", true)
		if in.MadeOf != nil {
			o.Add("made_of", in.MadeOf)
		}
		return o.MarshalJSON()
	}
	o.Add("load", in.Load.Kind.String())
	switch in.Load.Kind {
	case measured.AddedMass:
		o.Add("load_value", jsonout.Number(in.Load.Value))
		o.Add("load_unit", "kg")
	case measured.KnownBox:
		o.Add("load_value", jsonout.Number(in.Load.Value))
		o.Add("load_unit", "m^3")
	}
	return o.MarshalJSON()
}

// UnmarshalJSON reads what MarshalJSON writes, but for the side.
func (in *Input) UnmarshalJSON(data []byte) error {
	var line struct {
		Path   string   `json:"path"`
		SHA256 string   `json:"sha256"`
		Load   string   `json:"load"`
		Value  float64  `json:"load_value"`
		Saved  bool     `json:"saved_fit"`
		MadeOf []string `json:"made_of"`
	}
	if err := json.Unmarshal(data, &line); err != nil {
		return err
	}
	kind, _ := wordOf(line.Load, measured.Free, measured.AddedMass, measured.KnownBox)
	*in = Input{Path: line.Path, SHA256: line.SHA256, Load: measured.Load{Kind: kind, Value: line.Value}, Saved: line.Saved, MadeOf: line.MadeOf}
	return nil
}

// Setting is one line of the record of how it was measured.
type Setting struct {
	Name  string // as on the command line, without dashes: "resistor"
	Value string // as written, or the default
}

// Settings say how it was measured; they keep their order.
type Settings []Setting

// Get returns the value of that name, "" if there is none.
func (s Settings) Get(name string) string {
	for _, set := range s {
		if set.Name == name {
			return set.Value
		}
	}
	return ""
}

// MarshalJSON writes the settings as an object of texts.
func (s Settings) MarshalJSON() ([]byte, error) {
	o := jsonout.Object{}
	for _, set := range s {
		o.Add(set.Name, set.Value)
	}
	return o.MarshalJSON()
}

// UnmarshalJSON reads such an object.
func (s *Settings) UnmarshalJSON(data []byte) error {
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
