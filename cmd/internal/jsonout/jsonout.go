// Package jsonout writes JSON for programs and for people: fields keep their order, a number
// that is not finite is null, and a diff shows what changed.
package jsonout

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
)

// Object is a JSON object that keeps the order of its fields.
type Object []struct {
	Key   string
	Value any
}

// Add adds a field at the end.
func (o *Object) Add(key string, value any) { *o = append(*o, Object{{key, value}}...) }

// MarshalJSON writes the fields in order.
func (o Object) MarshalJSON() ([]byte, error) { return appendObject(nil, o) }

func appendObject(to []byte, o Object) (_ []byte, err error) {
	to = append(to, '{')
	for i, f := range o {
		if i > 0 {
			to = append(to, ',')
		}
		to = append(appendText(to, f.Key), ':')
		if to, err = appendValue(to, f.Value); err != nil {
			return nil, err
		}
	}
	return append(to, '}'), nil
}

// appendValue writes the types of this package by itself: [json.Marshal] would look through what they return once more
// at every level.
func appendValue(to []byte, value any) ([]byte, error) {
	switch v := value.(type) {
	case Object:
		return appendObject(to, v)
	case []Object:
		return appendList(to, v, appendObject)
	case string:
		return appendText(to, v), nil
	case Number:
		return appendNumber(to, v)
	case []Number:
		return appendList(to, v, appendNumber)
	case [][]Number:
		return appendList(to, v, func(to []byte, row []Number) ([]byte, error) { return appendList(to, row, appendNumber) })
	}
	data, err := json.Marshal(value)
	return append(to, data...), err
}

// appendText writes a text; most are plain words, and stand as they are.
func appendText(to []byte, text string) []byte {
	for _, c := range []byte(text) {
		if c < ' ' || c > '~' || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' {
			data, _ := json.Marshal(text) // a text has no error
			return append(to, data...)
		}
	}
	return append(append(append(to, '"'), text...), '"')
}

func appendList[T any](to []byte, list []T, one func([]byte, T) ([]byte, error)) (_ []byte, err error) {
	if list == nil {
		return append(to, "null"...), nil
	}
	to = append(to, '[')
	for i, v := range list {
		if i > 0 {
			to = append(to, ',')
		}
		if to, err = one(to, v); err != nil {
			return nil, err
		}
	}
	return append(to, ']'), nil
}

// Number is a float that JSON can hold: null where it is not finite.
type Number float64

// MarshalJSON writes the shortest digits that give the same number back.
func (n Number) MarshalJSON() ([]byte, error) { return appendNumber(nil, n) }

func appendNumber(to []byte, n Number) ([]byte, error) {
	if math.IsInf(float64(n), 0) || math.IsNaN(float64(n)) {
		return append(to, "null"...), nil
	}
	// As encoding/json writes it: with an exponent, of no more digits than needed, below 1e-6 and from 1e21 on.
	form := byte('f')
	if size := math.Abs(float64(n)); size != 0 && (size < 1e-6 || size >= 1e21) {
		form = 'e'
	}
	to = strconv.AppendFloat(to, float64(n), form, -1, 64)
	if end := len(to); form == 'e' && string(to[end-4:end-1]) == "e-0" {
		to = append(to[:end-2], to[end-1])
	}
	return to, nil
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
