package main

import (
	"fmt"
	"os"
	"runtime/pprof"
	"strconv"

	"conewright/ts"
	"conewright/ts/friction"
	"conewright/ts/measured"
)

func main() {
	from, _ := strconv.Atoi(os.Args[1])
	to, _ := strconv.Atoi(os.Args[2])
	if p := os.Getenv("PROF"); p != "" {
		f, _ := os.Create(p)
		pprof.StartCPUProfile(f)
		defer pprof.StopCPUProfile()
	}
	for seed := from; seed < to; seed++ {
		s := draw(uint64(seed))
		for _, r := range []run{{volt: 0.1}, {volt: 0.1, friction: 0.003}, {volt: 0.1, friction: 0.01}, {volt: 0.1, friction: 0.03}, {volt: 0.5}, {volt: 0.02}, {volt: 0.1, amplifier: 0.01}} {
			z, err := s.cached(r)
			if err != nil {
				fmt.Println(seed, r, err)
				continue
			}
			if z.Harmonics == nil {
				fmt.Println(seed, r, "no harmonics")
				continue
			}
			f, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
			if err != nil {
				fmt.Println(seed, r, err)
				continue
			}
			o := friction.Proto(z.Harmonics, f.Curves[0], f.Parameters, s.truth.BL)
			fmt.Printf("%3d %4.1f\" %4.2f V F %5.1f mN amp %g: found %6.2f mN  chi2/N %.2f without %.1f | ", seed, s.truth.Inch, r.volt, 1e3*r.friction, r.amplifier, 1e3*o.Force, o.Chi2/o.N, o.Chi2Without/o.N)
			for _, v := range o.Size {
				fmt.Printf(" %.2f", 1e3*v)
			}
			fmt.Printf("  slides %.1f\n", 1e6*s.slides)
		}
	}
}
