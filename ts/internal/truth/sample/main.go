// Command sample prints what the population looks like: quantiles of its values for each cone size, or sweeps
// for the script that compares them with measured drivers.
//
//	go run ./ts/internal/truth/sample                     the table of docs/population.md
//	go run ./ts/internal/truth/sample -sweeps 40          40 drivers as a program would export them
package main

import (
	"flag"
	"fmt"
	"math"
	"slices"

	"conewright/ts/internal/truth"
)

func main() {
	sweeps := flag.Int("sweeps", 0, "print this many exported sweeps instead of the table")
	inch := flag.Float64("inch", 0, "nominal size in inches, 0 for all")
	clean := flag.Bool("clean", false, "the driver itself, without rig, ripple and export")
	flag.Parse()
	if *sweeps > 0 {
		for i := range *sweeps {
			print(uint64(i), *inch, *clean)
		}
		return
	}
	fmt.Println("| inch | Re ohm | Fs Hz | Qms | Qes | Qts | Mms g | Cms mm/N | BL T m | Sd cm² | Vas l | L at 1 kHz mH |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|---|---|")
	for _, size := range []float64{2, 3, 4, 5, 6.5, 8, 10, 12, 15} {
		quantiles(size)
	}
}

// print writes one sweep with its number and its true values.
func print(seed uint64, inch float64, clean bool) {
	file := truth.RealFile(seed, truth.Choice{Inch: inch})
	v, t := file.Truth, file.Table
	fmt.Printf("# %d %g inch Re %.4f Fs %.4f Qms %.4f Qes %.4f\n", seed, file.Driver.Inch, v.Re, v.Fs, v.Qms, v.Qes)
	if clean {
		for _, f := range t.F {
			z := file.Driver.Z(f)
			fmt.Printf("%.5f,%.6f,%.6f\n", f, real(z), imag(z))
		}
		return
	}
	for i, f := range t.F {
		sin, cos := math.Sincos(t.Phase[i] * math.Pi / 180)
		fmt.Printf("%.5f,%.6f,%.6f\n", f, t.Mag[i]*cos, t.Mag[i]*sin)
	}
}

// quantiles prints the 5, 50 and 95 % quantiles of 500 drivers of a size.
func quantiles(inch float64) {
	columns := []func(truth.Driver, truth.Values) float64{
		func(_ truth.Driver, v truth.Values) float64 { return v.Re },
		func(_ truth.Driver, v truth.Values) float64 { return v.Fs },
		func(_ truth.Driver, v truth.Values) float64 { return v.Qms },
		func(_ truth.Driver, v truth.Values) float64 { return v.Qes },
		func(_ truth.Driver, v truth.Values) float64 { return v.Qts },
		func(_ truth.Driver, v truth.Values) float64 { return v.Mms * 1e3 },
		func(_ truth.Driver, v truth.Values) float64 { return v.Cms * 1e3 },
		func(_ truth.Driver, v truth.Values) float64 { return v.BL },
		func(_ truth.Driver, v truth.Values) float64 { return v.Sd * 1e4 },
		func(_ truth.Driver, v truth.Values) float64 { return v.Vas * 1e3 },
		func(d truth.Driver, _ truth.Values) float64 { return imag(d.Blocked().Z(1000)) / (2 * math.Pi) },
	}
	data := make([][]float64, len(columns))
	for seed := range uint64(500) {
		d := truth.DrawWith(truth.Rand(seed, 32, uint64(10*inch)), truth.Choice{Inch: inch})
		v := d.Values()
		for i, c := range columns {
			data[i] = append(data[i], c(d, v))
		}
	}
	fmt.Printf("| %g", inch)
	for _, x := range data {
		slices.Sort(x)
		fmt.Printf(" | %.3g %.3g %.3g", x[len(x)/20], x[len(x)/2], x[len(x)-len(x)/20])
	}
	fmt.Println(" |")
}
