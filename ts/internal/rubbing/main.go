package main

import (
	"fmt"
	"math"
	"os"
	"runtime/pprof"
	"strconv"

	"conewright/ts"
	"conewright/ts/friction"
	"conewright/ts/measured"
	"conewright/ts/param"
)

func main() {
	from, _ := strconv.Atoi(os.Args[1])
	to, _ := strconv.Atoi(os.Args[2])
	if p := os.Getenv("PROF"); p != "" {
		f, _ := os.Create(p)
		pprof.StartCPUProfile(f)
		defer pprof.StopCPUProfile()
	}
	runs := []run{{volt: 0.1}, {volt: 0.1, friction: 0.003}, {volt: 0.1, friction: 0.01}, {volt: 0.7}, {volt: 0.1, amplifier: 0.01}, {volt: 0.5, friction: 0.01}}
	if os.Getenv("RECORD") != "" {
		for seed := from; seed < to; seed++ {
			s := draw(uint64(seed))
			for _, r := range runs {
				if _, err := s.cached(r); err != nil {
					fmt.Println(seed, r, err)
				}
			}
		}
		return
	}
	for seed := from; seed < to; seed++ {
		s := draw(uint64(seed))
		healthy := map[float64]param.Parameters{}
		for _, r := range runs {
			z, err := s.cached(r)
			if err != nil {
				fmt.Println(seed, r, err)
				continue
			}
			if z.Harmonics == nil {
				fmt.Println(seed, r, "no harmonics")
				continue
			}
			z = s.room(z, r)
			f, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
			if err != nil {
				fmt.Println(seed, r, err)
				continue
			}
			if os.Getenv("CAL") != "" {
				if r.friction == 0 {
					healthy[r.volt] = f.Parameters
				} else if h := healthy[r.volt]; h.IDs != nil {
					o, _ := friction.Judge([]measured.Sweep{{Impedance: z}}, f)
					fmt.Printf("%3d %4.2fV F %4.1f share %.3f ln(1-s) %.3f:", seed, r.volt, 1e3*r.friction, o.Share, math.Log(1-o.Share))
					for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.L1k} {
						a, _ := h.Get(id)
						b, _ := f.Parameters.Get(id)
						fmt.Printf(" %v %+.4f", id, math.Log(b.Value/a.Value))
					}
					fmt.Println()
				}
				continue
			}
			o, ok := friction.Judge([]measured.Sweep{{Impedance: z}}, f)
			k := s.truth.BL / 3.3 / math.Sqrt(s.truth.Re)
			fmt.Printf("%3d %4.1f %4.2fV F %5.1f mN amp %g: %v rubs %v found %6.2f  least %.2f share %.2f %.3fV blratio %.2f  slides %.1f\n", seed, s.truth.Inch, r.volt, 1e3*r.friction, r.amplifier, ok, o.Rubs, 1e3*o.Force*k, o.Least*k*1e3, o.Share, o.Voltage, k, 1e6*s.slides)
		}
	}
}
