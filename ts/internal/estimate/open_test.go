package estimate

import (
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"conewright/ts/measured"
)

// readOpen reads a measured sweep that may be copied; its first lines name its source.
func readOpen(tb testing.TB, name string) measured.Impedance {
	text, err := os.ReadFile(filepath.Join("..", "truth", "testdata", "open", name))
	if err != nil {
		tb.Fatal(err)
	}
	var z measured.Impedance
	for line := range strings.Lines(string(text)) {
		var v [3]float64
		cells := strings.Split(strings.TrimSpace(line), ",")
		if len(cells) != 3 {
			continue
		}
		for i, c := range cells {
			if v[i], err = strconv.ParseFloat(c, 64); err != nil {
				break
			}
		}
		if err == nil {
			z.Freq = append(z.Freq, v[0])
			z.Z = append(z.Z, cmplx.Rect(v[1], v[2]*math.Pi/180))
		}
	}
	return z
}

// BenchmarkLawless is the whole of Fit on a measured sweep that follows no law.
func BenchmarkLawless(b *testing.B) {
	for _, name := range []string{"f144ob.csv", "f144w.csv"} {
		sweeps := []measured.Sweep{{Impedance: readOpen(b, name)}}
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Fit(sweeps, measured.Conditions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
