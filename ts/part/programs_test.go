package part

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"conewright/ts/measured"
	"conewright/ts/network"
	"conewright/ts/param"
)

// readPart reads a table of words and numbers of testdata/part.
func readPart(t *testing.T, path string) (names [][]string, numbers [][]float64) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		var words []string
		var row []float64
		for _, word := range strings.Fields(line) {
			if v, err := strconv.ParseFloat(word, 64); err == nil {
				row = append(row, v)
			} else {
				words = append(words, word)
			}
		}
		names, numbers = append(names, words), append(numbers, row)
	}
	return names, numbers
}

// simulatedParts are the curves that scipy and numpy fitted.
func simulatedParts(t *testing.T) map[string]measured.Impedance {
	all := map[string]measured.Impedance{}
	names, rows := readPart(t, "../../testdata/part/points.txt")
	for i, row := range rows {
		z := all[names[i][0]]
		z.Freq, z.Z, z.Sigma = append(z.Freq, row[0]), append(z.Z, complex(row[1], row[2])), append(z.Sigma, row[3])
		all[names[i][0]] = z
	}
	return all
}

// scipy and numpy find the same laws and the same values at 1 kHz; see testdata/part/README.md.
func TestAgainstScipy(t *testing.T) {
	curves := simulatedParts(t)
	names, rows := readPart(t, "../../testdata/part/values.txt")
	if len(rows) != 4 {
		t.Fatalf("%d rows of values, want 4", len(rows))
	}
	for i, want := range rows {
		f, err := Fit(curves[names[i][0]], Options{Frequency: 1e3})
		if err != nil {
			t.Fatal(err)
		}
		if f.Kind.String() != names[i][0] {
			t.Errorf("a %s is taken as a %s", names[i][0], f.Kind)
		}
		if names[i][1] == "law" {
			if len(f.Law.x) != len(want) {
				t.Errorf("%s: the law %s has %d unknowns, scipy's %d", names[i][0], f.Law.Name, len(f.Law.x), len(want))
				continue
			}
			for k, x := range want {
				if !(math.Abs(f.Law.x[k]-x) < 1e-6) {
					t.Errorf("%s: unknown %d is %v, scipy has %v", names[i][0], k, f.Law.x[k], x)
				}
			}
			continue
		}
		size, _ := f.Parameters.Get(Main(f.Kind))
		loss, _ := read(f.Measured, 1e3, resistance)
		if math.Abs(size.Value/want[0]-1) > 1e-9 || math.Abs(loss.value/want[1]-1) > 1e-9 {
			t.Errorf("%s: %v and %v at 1 kHz, numpy has %v", names[i][0], size.Value, loss.value, want)
		}
		if f.Kind == network.Capacitor {
			esr, _ := f.Parameters.Get(param.ESR)
			tan, _ := f.Parameters.Get(param.TanDelta)
			if math.Abs(esr.Value/loss.value-1) > 1e-12 || math.Abs(tan.Value/(2*math.Pi*1e3*size.Value*loss.value)-1) > 1e-12 {
				t.Errorf("ESR %v and loss factor %v do not go together", esr.Value, tan.Value)
			}
		}
	}
}
