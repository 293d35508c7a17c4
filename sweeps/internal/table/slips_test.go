package table

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/testfiles"
	"conewright/ts/measured"
)

// slips are tables whose header gives another unit than their values have, and the unit
// that they have.
var slips = map[string]struct {
	header, likely string
	row            func(f float64, z complex128) []float64
}{
	"kHz under Hz": {"f[Hz],|Z|[ohm],phase[deg]", "f[kHz], |Z|[ohm], phase[deg]", func(f float64, z complex128) []float64 {
		return []float64{f / 1000, cmplx.Abs(z), cmplx.Phase(z) / degree}
	}},
	"Hz under kHz":     {"f[kHz],re[ohm],im[ohm]", "f[Hz], re[ohm], im[ohm]", func(f float64, z complex128) []float64 { return []float64{f, real(z), imag(z)} }},
	"rad/s under freq": {"freq[Hz],|Z|[ohm]", "f[rad/s], |Z|[ohm]", func(f float64, z complex128) []float64 { return []float64{2 * math.Pi * f, cmplx.Abs(z)} }},
	"mohm under ohm":   {"f[Hz],re[ohm],im[ohm]", "f[Hz], re[mohm], im[mohm]", func(f float64, z complex128) []float64 { return []float64{f, 1000 * real(z), 1000 * imag(z)} }},
	"kohm under ohm": {"f[Hz],|Z|[ohm],phase[deg]", "f[Hz], |Z|[kohm], phase[deg]", func(f float64, z complex128) []float64 {
		return []float64{f, cmplx.Abs(z) / 1000, cmplx.Phase(z) / degree}
	}},
	"dB under ohm":    {"f[Hz],|Z|[ohm]", "f[Hz], |Z|[dBohm]", func(f float64, z complex128) []float64 { return []float64{f, 20 * math.Log10(cmplx.Abs(z))} }},
	"ratio under ohm": {"f[Hz],|Z|[ohm]", "", func(f float64, z complex128) []float64 { return []float64{f, cmplx.Abs(z / (z + 10))} }},
}

// bandSweep is a sweep of some woofer of up to 8 ohm from 10 Hz to 20 kHz.
func bandSweep(r *rand.Rand) measured.Impedance {
	d := someDriver(r)
	for d.Re > 8 || d.Re < 2.8 {
		d = someDriver(r)
	}
	var z measured.Impedance
	for i := range 200 {
		f := 10 * math.Pow(2000, float64(i)/199)
		z.Freq, z.Z = append(z.Freq, f), append(z.Z, d.Impedance(f))
	}
	return z
}

func TestSlipsAreAsked(t *testing.T) {
	for name, c := range slips {
		t.Run(name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(1, 13))
			for range 20 {
				z := bandSweep(r)
				var text strings.Builder
				fmt.Fprintln(&text, c.header)
				for i, f := range z.Freq {
					row := c.row(f, z.Z[i])
					fmt.Fprintln(&text, strings.TrimSuffix(strings.Join(strings.Fields(fmt.Sprintf("%.6g, %.6g, %.6g", row[0], row[1], append(row, 0)[2])), ""), map[bool]string{true: ",0"}[len(row) == 2]))
				}
				_, err := Read([]byte(text.String()), "x.csv", "", bench.Bench{})
				if err == nil {
					t.Fatal("read")
				}
				n := testfiles.CheckNotice(t, err)
				if c.likely == "" {
					if n.Code != "column-ratio" {
						t.Fatal(n)
					}
					continue
				}
				if n.Code != "column-slip" {
					t.Fatal(n)
				}
				if n.Text("second") != c.likely {
					t.Fatalf("likely %q", n.Text("second"))
				}
				line := n.Int("line") // the header is line 1
				if f, size := n.Num("otherFrequency"), n.Num("otherSize"); math.Abs(f/z.Freq[line-2]-1) > 1e-5 || math.Abs(size/cmplx.Abs(z.Z[line-2])-1) > 1e-4 {
					t.Errorf("line %d means %v Hz, %v ohm, want %v and %v", line, f, size, z.Freq[line-2], cmplx.Abs(z.Z[line-2]))
				}
				// What the user says is believed.
				if _, err := Read([]byte(text.String()), "x.csv", c.likely, bench.Bench{}); err != nil {
					t.Errorf("as %s: %v", c.likely, err)
				}
			}
		})
	}
}

// Tables that are what they say are not asked about.
func TestNoSlipIsSeenInSoundTables(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 13))
	for range 200 {
		z := someSweep(r, 60, 0.003)
		if _, err := Read([]byte(ohmDegrees.print("f[Hz] |Z|[ohm] phase[deg]", z)), "x.txt", "", bench.Bench{}); err != nil {
			t.Error(err)
		}
	}
}

func TestBothReadingsOfAUnitThatIsNotGiven(t *testing.T) {
	_, err := Read([]byte("20 16\n31 40\n200 16.5\n"), "x.txt", "", bench.Bench{})
	n := testfiles.CheckNotice(t, err)
	if n.Num("size") != 40 || math.Abs(n.Num("otherSize")-100) > 1e-9 || n.Int("line") != 2 || n.Text("second") != "f[Hz], |Z|[dBohm]" {
		t.Error(n)
	}
}
