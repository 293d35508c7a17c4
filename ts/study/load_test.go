package study

import (
	"math"
	"slices"
	"testing"

	"conewright/ts/handmade/tables"
)

// load reads a table of testdata/study: groups outermost first, and columns of values.
func load(t *testing.T, name string) (levels []string, places []Place, values map[string][]float64) {
	t.Helper()
	heads, rows := tables.Read(t, "../../testdata/study/"+name+".csv")
	values = map[string][]float64{}
	for _, row := range rows {
		var p Place
		for i, cell := range row {
			switch head := heads[i]; {
			case head == "driver":
				p.Driver = cell
			case slices.Contains([]string{"value", "fs", "qms"}, head):
				values[head] = append(values[head], tables.Number(t, cell))
			default:
				p.Groups = append(p.Groups, cell)
			}
		}
		places = append(places, p)
	}
	for _, head := range heads {
		if head != "driver" && values[head] == nil {
			levels = append(levels, head)
		}
	}
	return append(levels, "again"), places, values
}

// analysed reads a table with one column of values and analyses it.
func analysed(t *testing.T, name string, priors ...Spread) *Nested {
	t.Helper()
	levels, places, values := load(t, name)
	return analyse(t, design(t, levels, places), values["value"], priors...)
}

func design(t *testing.T, levels []string, places []Place) *Design {
	t.Helper()
	d, err := NewDesign(levels, places)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func analyse(t *testing.T, d *Design, values []float64, priors ...Spread) *Nested {
	t.Helper()
	n, err := d.Analyse(values, priors...)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// near reports got unless it is want to the given relative error.
func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) && got != want {
		t.Errorf("%s: got %.12g, want %.12g", what, got, want)
	}
}

// printed reports got unless it rounds to want at the given number of decimals.
func printed(t *testing.T, what string, got, want float64, decimals int) {
	t.Helper()
	if !(math.Abs(got-want) <= 0.5000001*math.Pow(10, -float64(decimals))) {
		t.Errorf("%s: got %.12g, printed %.*f", what, got, decimals, want)
	}
}

func nearInterval(t *testing.T, what string, got Interval, lo, hi, relative float64) {
	t.Helper()
	near(t, what+" low", got.Lo, lo, relative)
	near(t, what+" high", got.Hi, hi, relative)
}
