package main

import (
	"flag"
	"fmt"
	"math"
	"time"

	"conewright/ts/change"
	"conewright/ts/internal/estimate"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"
)

func impedance(t truth.Taken) measured.Impedance {
	z, err := measured.NewImpedance(t.Sweep.F, t.Sweep.Z, t.Sweep.Sigma)
	if err != nil {
		panic(err)
	}
	told := 10.0
	_ = told
	return z
}

func visit(v truth.Visit) []measured.Sweep {
	s := []measured.Sweep{{Impedance: impedance(v.Free)}}
	if v.Loaded.MassTold > 0 {
		s = append(s, measured.Sweep{Impedance: impedance(v.Loaded), Load: measured.Load{Kind: measured.AddedMass, Value: v.Loaded.MassTold, Std: 5e-5 / math.Sqrt(3)}})
	}
	return s
}

func main() {
	n := flag.Int("n", 10, "")
	fs := flag.Float64("fs", 0.01, "")
	masses := flag.Int("masses", 0, "")
	stiff := flag.Float64("stiff", 0, "")
	mass := flag.Float64("mass", 0, "")
	verbose := flag.Bool("v", false, "")
	flag.Parse()
	held := map[param.ID]int{}
	seen := map[param.ID]int{}
	half := map[param.ID]float64{}
	changed, motor, found := 0, 0, 0
	start := time.Now()
	for i := range *n {
		b, a := truth.BeforeAfter(uint64(i), truth.Plain, truth.CommonBench(*fs), truth.Repaired{Stiffness: *stiff, Mass: *mass}, truth.Masses(*masses))
		fb, err := estimate.Fit(visit(b), measured.Conditions{Repeatability: &repeat.Usual})
		if err != nil {
			fmt.Println(err)
			continue
		}
		fa, err := estimate.Fit(visit(a), measured.Conditions{Repeatability: &repeat.Usual})
		if err != nil {
			fmt.Println(err)
			continue
		}
		c, err := change.Compare(fb.Parameters, fa.Parameters, change.Options{})
		if err != nil {
			fmt.Println(err)
			continue
		}
		for _, ch := range c.Changes {
			seen[ch.ID]++
			if ch.Low <= 1 && ch.High >= 1 {
				held[ch.ID]++
			}
			half[ch.ID] += 50 * (ch.High - ch.Low)
		}
		if c.Explanations[0].Causes[0].ID != change.NoChange {
			changed++
		}
		for _, k := range c.Causes {
			if k.ID == change.SuspensionStiffer {
				found++
			}
		}
		for _, k := range c.Causes {
			if (k.ID == change.MotorStronger || k.ID == change.MotorWeaker || k.ID == change.CoilOffset) && k.Probability > 0.9 {
				motor++
				break
			}
		}
		if *verbose {
			fmt.Println(i, b.Free.Truth.Fs, a.Free.Truth.Fs, fb.Model.Coil, fb.Quality.ResidualRMSPercent, fb.Quality.White)
			for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes} {
				e, _ := fb.Parameters.Get(id)
				fmt.Printf("   %v %.5g +- %.3g %%", id, e.Value, 100*e.Std/e.Value)
			}
			fmt.Println()
			for _, k := range c.Causes {
				fmt.Printf("    %s %.2f %% p %.3f\n", k.ID, k.Percent, k.Probability)
			}
		}
	}
	for _, id := range param.All() {
		if seen[id] > 0 {
			fmt.Printf("%v %d/%d half %.2f %%\n", id, held[id], seen[id], half[id]/float64(seen[id]))
		}
	}
	fmt.Println("changed", changed, "motor>.9", motor, "stiffer", found, time.Since(start)/time.Duration(*n))
}
