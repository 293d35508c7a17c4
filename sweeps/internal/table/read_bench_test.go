package table

import (
	"math/rand/v2"
	"strings"
	"testing"

	"conewright/sweeps/bench"
)

func BenchmarkRead(b *testing.B) {
	z := someSweep(rand.New(rand.NewPCG(7, 7)), 400, 0.003)
	for name, text := range map[string]string{
		"polar":     ohmDegrees.print("f[Hz] |Z|[ohm] phase[deg]", z),
		"unnamed":   ohmDegrees.print("", z),
		"magnitude": strings.ReplaceAll(ohmDegrees.print("f[Hz] |Z|[ohm] phase[deg]", z), "phase[deg]", "other"),
	} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Read([]byte(text), "x.txt", "", bench.Bench{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
