// Package jsonout writes JSON for programs and for people: fields keep their order, a number
// that is not finite is null, and a diff shows what changed.
package jsonout

import (
	"bytes"
	"encoding/json"
	"math"
)

// Object is a JSON object that keeps the order of its fields.
type Object []struct {
	Key   string
	Value any
}

// Add adds a field at the end.
func (o *Object) Add(key string, value any) { *o = append(*o, Object{{key, value}}...) }

// MarshalJSON writes the fields in order.
func (o Object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, f := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		key, err := json.Marshal(f.Key)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(f.Value)
		if err != nil {
			return nil, err
		}
		b.Write(key)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// Number is a float that JSON can hold: null where it is not finite.
type Number float64

// MarshalJSON writes the shortest digits that give the same number back.
func (n Number) MarshalJSON() ([]byte, error) {
	if math.IsInf(float64(n), 0) || math.IsNaN(float64(n)) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(n))
}

// Spread breaks compact JSON into lines: a line a field, and within a field a
// line an entry, so that a person can read it and a diff shows what changed.
// Deeper levels stay on their line.
func Spread(data []byte) []byte {
	const levels = 2
	var out bytes.Buffer
	depth, inText := 0, false
	newline := func() {
		out.WriteByte('\n')
		for range depth {
			out.WriteString("  ")
		}
	}
	for i := 0; i < len(data); i++ {
		c := data[i]
		switch {
		case inText:
			if c == '\\' { // take the escaped character along
				out.WriteByte(c)
				i++
				c = data[i]
			} else if c == '"' {
				inText = false
			}
			out.WriteByte(c)
		case c == '"':
			inText = true
			out.WriteByte(c)
		case c == '{' || c == '[':
			out.WriteByte(c)
			depth++
			if depth <= levels && data[i+1] != c+2 { // "}" and "]" come two after their openers
				newline()
			}
		case c == '}' || c == ']':
			depth--
			if depth < levels && data[i-1] != c-2 {
				newline()
			}
			out.WriteByte(c)
		case c == ',':
			out.WriteByte(c)
			if depth <= levels {
				newline()
			} else {
				out.WriteByte(' ')
			}
		case c == ':':
			out.WriteString(": ")
		default:
			out.WriteByte(c)
		}
	}
	return out.Bytes()
}
