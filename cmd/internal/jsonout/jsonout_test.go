package jsonout

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"
)

// What the package writes by itself is what encoding/json makes of the same values, one by one and inside others.
func TestObject(t *testing.T) {
	whole, none := []Number{1, 2.5e-9, Number(math.NaN()), Number(math.Inf(-1))}, []Number(nil)
	values := []any{Object{}, Object{{"a <&> \u2028\x01\"", "b <&> \u2028\x01\""}}, []Object{}, []Object(nil), []Object{{{"x", 1}}, nil, {{"y", []string{"z"}}}},
		Number(0.1), Number(math.Inf(1)), whole, none, [][]Number{whole, none, {}}, [2]Number{1, 2}, []string{"a"}, []string(nil), nil, true, 3, "text", "", "a b~", "\x7f", "<", ">", "&", `\`, `"`, "\n", "é", "\xff",
		json.RawMessage(`{"raw":[1,2]}`), map[string]Number{"k": 5}}
	for i, v := range values {
		want, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		got, err := appendValue(nil, v)
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%d: %s, want %s, %v", i, got, want, err)
		}
		nested, err := Object{{"in", Object{{"side", v}}}}.MarshalJSON()
		if plain := `{"in":{"side":` + string(want) + `}}`; err != nil || string(nested) != plain {
			t.Errorf("%d: %s, want %s, %v", i, nested, plain, err)
		}
	}
	for _, f := range []float64{1, 0, math.Copysign(0, -1), 0.1, 2.5e-9, -1e-6, 9.999e-7, 1e21, -1.5e21, 9.99e20, 1e-10, 1.25e-100, 123456789e12, 5e-324, math.MaxFloat64} {
		want, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := json.Marshal(Number(f)); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%v: %s, want %s, %v", f, got, want, err)
		}
	}
	for _, bad := range []any{make(chan int), math.NaN()} {
		if data, err := (Object{{"list", []Object{{{"bad", bad}}}}}).MarshalJSON(); err == nil {
			t.Errorf("%v was written: %s", bad, data)
		}
	}
}
