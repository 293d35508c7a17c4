package main

import (
	"conewright/ts"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"sort"
	"strconv"
	"sync"
)

var freeIDs = []ts.ParamID{ts.Re, ts.Fs, ts.Qms, ts.Qes, ts.Qts}

func main() {
	if os.Args[1] == "out" {
		outMain()
		return
	}
	nd, _ := strconv.Atoi(os.Args[1])
	nr, _ := strconv.Atoi(os.Args[2])
	type res struct {
		law     int
		z, pull [5]float64
		in      [5]bool
		ok      bool
		model   string
	}
	out := make([]res, nd*nr)
	var wg sync.WaitGroup
	ch := make(chan int)
	for range 2 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range ch {
				rng := rand.New(rand.NewPCG(uint64(i), 77))
				t := randomDriver(rng)
				law := i % len(coilLaws)
				t.coil = coilLaws[law].draw(rng, logBetween(rng, 0.3, 2)*t.re)
				p, mk := coilValues(t.coil)
				b := bound(t, mk, p, []float64{0}, 0.02, freeIDs)
				for r := range nr {
					rr := rand.New(rand.NewPCG(uint64(i), uint64(r)))
					z := t.sweep(rr, 0, 1, 1)
					f, err := ts.Fit([]ts.Sweep{{Impedance: z}}, ts.Conditions{})
					o := &out[i*nr+r]
					o.law = law
					if err != nil {
						fmt.Println(i, err)
						continue
					}
					o.ok = true
					o.model = f.Model.Coil
					if !f.Quality.White {
						o.model = "misfit"
					}
					if !f.Model.Creep {
						o.model += "-"
					}
					for j, id := range freeIDs {
						e, _ := f.Parameters.Get(id)
						d := math.Log(e.Value / t.value(id))
						o.z[j] = d / b[j]
						o.pull[j] = d / (e.Std / e.Value)
						o.in[j] = e.Low <= t.value(id) && t.value(id) <= e.High
					}
					if os.Getenv("V") != "" && (math.Abs(o.z[0]) > 4 || math.Abs(o.z[3]) > 4) {
						fmt.Printf("%d/%d %s noise %.4f n %d z %.1f pull %.1f model %s %v creep %.3f\n", i, r, coilLaws[law].name, t.noise, len(t.freq), o.z, o.pull, o.model, f.Model.Alternatives[:2], t.creep)
					}
				}
			}
		}()
	}
	for i := range nd {
		ch <- i
	}
	close(ch)
	wg.Wait()
	for law := -1; law < len(coilLaws); law++ {
		var s, p [5]float64
		var c [5]int
		n := 0
		models := map[string]int{}
		for _, o := range out {
			if !o.ok || law >= 0 && o.law != law {
				continue
			}
			n++
			models[o.model]++
			for j := range s {
				s[j] += o.z[j] * o.z[j]
				p[j] += o.pull[j] * o.pull[j]
				if o.in[j] {
					c[j]++
				}
			}
		}
		name := "all"
		if law >= 0 {
			name = coilLaws[law].name
		}
		fmt.Printf("%-24s n %d eff", name, n)
		for j := range s {
			fmt.Printf(" %.3f", math.Sqrt(s[j]/float64(n)))
		}
		fmt.Printf("  pull")
		for j := range s {
			fmt.Printf(" %.2f", math.Sqrt(p[j]/float64(n)))
		}
		fmt.Printf("  cov")
		for j := range s {
			fmt.Printf(" %.1f", 100*float64(c[j])/float64(n))
		}
		fmt.Println(" ", models)
	}
}

func outMain() {
	nd, _ := strconv.Atoi(os.Args[2])
	only := -1
	if len(os.Args) > 3 {
		only, _ = strconv.Atoi(os.Args[3])
	}
	for oi, o := range outsiders {
		if only >= 0 && oi != only {
			continue
		}
		type res struct {
			ok              bool
			pull, err, half [5]float64
			in              [5]bool
			model           string
		}
		out := make([]res, nd)
		var wg sync.WaitGroup
		ch := make(chan int)
		for range 2 {
			wg.Add(1)
			go func() {
				defer wg.Done()
				for i := range ch {
					rng := rand.New(rand.NewPCG(uint64(i), 1000+uint64(oi)))
					t := randomDriver(rng)
					o.bend(rng, &t)
					f, err := ts.Fit([]ts.Sweep{{Impedance: t.sweep(rng, 0, 1, 1)}}, ts.Conditions{})
					if err != nil {
						fmt.Println(i, err)
						continue
					}
					r := &out[i]
					r.ok = true
					r.model = f.Model.Coil
					if !f.Quality.White {
						r.model = "misfit"
					}
					for j, id := range freeIDs {
						e, _ := f.Parameters.Get(id)
						r.err[j] = math.Log(e.Value / t.value(id))
						r.pull[j] = r.err[j] / (e.Std / e.Value)
						r.half[j] = (e.High - e.Low) / 2 / e.Value
						r.in[j] = e.Low <= t.value(id) && t.value(id) <= e.High
					}
					if os.Getenv("V") != "" {
						fmt.Printf("%d noise %.4f model %s c %v chi2/dof %.2f pull %.1f err%% %.2f half%% %.2f creep %.3f\n", i, t.noise, r.model, f.Model.Creep, f.Quality.Chi2/float64(f.Quality.DoF), r.pull, scale(r.err), scale(r.half), t.creep)
					}
				}
			}()
		}
		for i := range nd {
			ch <- i
		}
		close(ch)
		wg.Wait()
		var c [5]int
		n := 0
		var p, h, e [5][]float64
		models := map[string]int{}
		for _, r := range out {
			if !r.ok {
				continue
			}
			n++
			models[r.model]++
			for j := range c {
				if r.in[j] {
					c[j]++
				}
				p[j] = append(p[j], math.Abs(r.pull[j]))
				h[j] = append(h[j], r.half[j])
				e[j] = append(e[j], math.Abs(r.err[j]))
			}
		}
		if os.Getenv("SHORT") != "" {
			fmt.Printf("%-22.22s %3.0f/%3.0f/%3.0f %.1f/%.1f | ", o.name, 100*float64(c[0])/float64(n), 100*float64(c[2])/float64(n), 100*float64(c[3])/float64(n), 100*med(h[0]), 100*med(h[3]))
			if oi%3 == 2 {
				fmt.Println()
			}
			continue
		}
		fmt.Printf("%-55s n %d cov", o.name, n)
		for j := range c {
			fmt.Printf(" %5.1f", 100*float64(c[j])/float64(n))
		}
		fmt.Printf(" med|pull|")
		for j := range c {
			fmt.Printf(" %.2f", med(p[j]))
		}
		fmt.Printf(" med|err|%%")
		for j := range c {
			fmt.Printf(" %.3f", 100*med(e[j]))
		}
		fmt.Printf(" half%%")
		for j := range c {
			fmt.Printf(" %.3f", 100*med(h[j]))
		}
		fmt.Println(" ", models)
	}
}
func scale(v [5]float64) [5]float64 {
	for i := range v {
		v[i] *= 100
	}
	return v
}
func med(v []float64) float64 {
	s := append([]float64(nil), v...)
	sort.Float64s(s)
	return s[len(s)/2]
}
