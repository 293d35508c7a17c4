package handmade

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"conewright/ts/driver"
)

// Tone is a line of testdata/friction/tones.txt: a driver under a steady tone, integrated by scipy.
type Tone struct {
	Friction, K2, B1, B2 float64 // N, N/m^3, 1/m, 1/m^2: what differs from ToneDriver
	Volt, Freq           float64 // V rms of the source, Hz
	Z                    complex128
	Speed, Current       float64   // m/s, A, peak
	Harmonics            []float64 // 2 to 10, percent of the current
	Rest                 float64   // percent of the time
}

// ToneDriver is the driver of all tones, without what differs.
var ToneDriver = driver.Driver{Re: 6, BL: 6, Mms: 0.015, Cms: 1.05e-3, Rms: 0.9, Coil: driver.PlainCoil{L: ToneL}}

const (
	ToneL        = 0.5e-3 // H
	ToneResistor = 10.0   // ohm, before the driver
	tones        = 110
)

// Tones reads them; root is the folder of the module.
func Tones(t testing.TB, root string) []Tone {
	t.Helper()
	file, err := os.Open(root + "/testdata/friction/tones.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var all []Tone
	for lines := bufio.NewScanner(file); lines.Scan(); {
		if strings.HasPrefix(lines.Text(), "#") {
			continue
		}
		var x []float64
		for _, w := range strings.Fields(lines.Text()) {
			v, err := strconv.ParseFloat(w, 64)
			if err != nil {
				t.Fatal(err)
			}
			x = append(x, v)
		}
		all = append(all, Tone{x[0], x[1], x[2], x[3], x[4], x[5], complex(x[6], x[7]), x[8], x[9], x[10:19], x[19]})
	}
	if len(all) != tones {
		t.Fatalf("%d tones, %d expected", len(all), tones)
	}
	return all
}

// Sine returns periods of a sine of amplitude peak at f Hz, whole numbers of samples each.
func (c Tone) Sine(rate, periods int) []float64 {
	period := rate / int(c.Freq)
	e := make([]float64, period*periods)
	for i := range e {
		e[i] = c.Volt * math.Sqrt2 * math.Sin(2*math.Pi*float64(i)/float64(period))
	}
	return e
}
