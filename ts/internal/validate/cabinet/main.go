// Command cabinet judges what is said of drivers in their cabinets, on drivers, boxes and faults with other physics than the
// estimator's, and prints the tables of docs/validation-cabinet.md:
//
//	go run ./ts/internal/validate/cabinet -seed 1 -boxes 200 -n 30 > table.md
package main

import (
	"errors"
	"flag"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"conewright/ts/boxed"
	"conewright/ts/internal/estimate"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/param"
)

var (
	seed  = flag.Uint64("seed", 1, "first seed")
	boxes = flag.Int("boxes", 200, "boxes of each kind")
	n     = flag.Int("n", 30, "cases of each fault")
	only  = flag.String("only", "", "boxes, faults, networks or list (networks by their list alone); all if empty")
	rows  = flag.String("rows", "", "faults of boxes by their names, separated by commas; all if empty")
	show  = flag.Bool("show", false, "every fault that is not named")
)

func main() {
	flag.Parse()
	if *only == "" || *only == "boxes" {
		for _, kind := range []boxed.Kind{boxed.Closed, boxed.Vented} {
			for _, with := range []string{"the sweep in the cabinet alone", "a reading of Re by a meter (0.5 %)", "the driver in free air"} {
				values(kind, with)
			}
		}
	}
	if *only == "" || *only == "faults" {
		faults()
	}
	if *only == "" || *only == "networks" || *only == "list" {
		networks()
	}
}

// parallel calls do for 0 to n-1.
func parallel(n int, do func(i int)) {
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.NumCPU() {
		wait.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
}

func impedance(t truth.Sweep) measured.Impedance {
	z, err := measured.NewImpedance(t.F, t.Z, t.Sigma)
	if err != nil {
		panic(err)
	}
	// What is known of the bench: its resistor to 0.3 %, its leads to 10 milliohm.
	scale, leads := make([]complex128, len(t.Z)), make([]complex128, len(t.Z))
	for i, v := range t.Z {
		scale[i], leads[i] = 0.003*v, 0.01
	}
	z.Systematic = []measured.Systematic{{Source: "resistor", Effect: scale}, {Source: "leads", Effect: leads}}
	return z
}

// outcome is how far one value is off, and how far its interval reaches on that side, relative. best is the standard uncertainty that would
// be left if the laws of the fit were exact: noise, and what no impedance tells apart.
type outcome struct{ off, half, best float64 }

// apart are the names of what is known beforehand of driver and box, because an impedance does not tell it apart.
var apart = []string{"leak of the cabinet", "absorption in the cabinet", "losses of the port", "losses of any driver", "creep of any driver",
	"compliance of the driver", "losses of the driver", "creep of the driver"}

// best is the standard uncertainty of quantity i by noise and by what no impedance tells apart.
func best(p param.Parameters, i int) float64 {
	v := p.Noise.At(i, i)
	for _, c := range p.Components {
		if slices.Contains(apart, c.Source) {
			v += c.Effect[i] * c.Effect[i]
		}
	}
	return math.Sqrt(v)
}

func values(kind boxed.Kind, with string) {
	all := make([]map[param.ID]outcome, *boxes)
	parallel(*boxes, func(i int) { all[i] = one(*seed+uint64(i), kind, with) })
	fmt.Printf("\n### %d %s boxes, by %s\n\n| quantity | given | median error | 90 %% within | within target | held | median half-width |\n|---|---|---|---|---|---|---|\n", *boxes, kind, with)
	refused, bound := 0, ""
	for _, a := range all {
		if a == nil {
			refused++
		}
	}
	for _, id := range param.All() {
		var off, half []float64
		held, within, atBest := 0, 0, 0.0
		target := 0.03
		if id == param.Fc || id == param.Fb {
			target = 0.005
		}
		for _, a := range all {
			o, ok := a[id]
			if !ok {
				continue
			}
			off, half = append(off, math.Abs(o.off)), append(half, o.half)
			if math.Abs(o.off) <= o.half {
				held++
			}
			if math.Abs(o.off) <= target {
				within++
			}
			atBest += math.Erf(target / o.best / math.Sqrt2)
		}
		if len(off) == 0 {
			continue
		}
		slices.Sort(off)
		slices.Sort(half)
		k := len(off)
		percent := func(x int) float64 { return 100 * float64(x) / float64(k) }
		mark := ""
		if percent(held) < 90 {
			mark = " (!)"
		}
		fmt.Printf("| %v | %d | %.3f %% | %.3f %% | %.0f %% (%g %%) | %.0f %%%s | %.3f %% |\n", id, k, 100*off[k/2], 100*off[k*9/10], percent(within), 100*target, percent(held), mark, 100*half[k/2])
		if id == param.QB && kind == boxed.Vented {
			bound = fmt.Sprintf("If the laws of the fit were exact, %.0f %% of QB would be within 3 %%, by noise and by what no impedance tells apart.", 100*atBest/float64(k))
		}
	}
	fmt.Printf("\nRefused: %d. %s\n", refused, bound)
}

// one is one box.
func one(seed uint64, kind boxed.Kind, with string) map[param.ID]outcome {
	rng := truth.Rand(seed, 52)
	d := truth.DrawWith(rng, truth.Plain)
	box := truth.DrawBox(rng, d, kind == boxed.Vented)
	rig := truth.DrawRig(rng)
	z := impedance(rig.Measure(rng, d.Loaded(box), truth.BenchGrid))
	free := impedance(rig.Measure(rng, d, truth.BenchGrid))
	meter := truth.DrawMeter(rng, d.Re)
	known, cond := boxed.Known{Kind: kind}, measured.Conditions{}
	switch {
	case strings.Contains(with, "meter"):
		cond.DCRe = param.Quantity{Value: meter.Ohm, Std: meter.Std}
	case strings.Contains(with, "free"):
		r, err := estimate.Fit([]measured.Sweep{{Impedance: free}}, cond)
		if err != nil {
			return nil
		}
		known.Driver = &r.Parameters
	}
	m, err := boxed.Fit([]measured.Sweep{{Impedance: z}}, cond, known)
	if err != nil {
		return nil
	}
	out := map[param.ID]outcome{}
	for id, want := range trueValues(d, box, kind) {
		if e, ok := m.Parameters.Get(id); ok {
			o := outcome{off: e.Value/want - 1, half: (e.High - e.Value) / want, best: best(m.Parameters, m.Parameters.Index(id))}
			if e.Value > want {
				o.half = (e.Value - e.Low) / want
			}
			out[id] = o
		}
	}
	return out
}

// trueValues are those of the driver as it is in the box: with the air that the box adds.
func trueValues(d truth.Driver, box truth.Box, kind boxed.Kind) map[param.ID]float64 {
	in := d
	in.Mmd += box.AirMass
	v := in.Values()
	if kind == boxed.Vented {
		fb := box.Tuning(d.Air)
		q := box.Losses(d.Air, fb)
		return map[param.ID]float64{param.Re: v.Re, param.Fs: v.Fs, param.Qes: v.Qes, param.Qts: v.Qts, param.Fb: fb,
			param.QB: 1 / (1/q.QL + 1/q.QA + 1/q.QP), param.QL: q.QL, param.QA: q.QA, param.QP: q.QP, param.Alpha: v.Vas / box.Volume}
	}
	// At fc the mechanical impedance is real.
	motion := func(w float64) complex128 {
		f := w / (2 * math.Pi)
		return complex(d.BL*d.BL, 0) / (d.Loaded(box).Z(f) - d.Blocked().Z(f))
	}
	lo, hi := 2*math.Pi*v.Fs, 10*math.Pi*v.Fs
	for range 60 {
		if m := math.Sqrt(lo * hi); imag(motion(m)) < 0 {
			lo = m
		} else {
			hi = m
		}
	}
	q := box.Losses(d.Air, lo/(2*math.Pi))
	qm, qe := lo*v.Mms/real(motion(lo)), lo*v.Mms*v.Re/(v.BL*v.BL)
	return map[param.ID]float64{param.Re: v.Re, param.Fc: lo / (2 * math.Pi), param.Qmc: qm, param.Qec: qe, param.Qtc: qm * qe / (qm + qe),
		param.QB: 1 / (1/q.QL + 1/q.QA), param.QL: q.QL, param.QA: q.QA}
}

// named are the findings that are right for a fault.
var named = map[truth.BoxFault][]boxed.Fault{
	truth.BoxUntouched: {boxed.NoChange}, truth.BoxLeaks: {boxed.Leak}, truth.PortBlocked: {boxed.PortBlocked},
	truth.WoolMissing: {boxed.LessFilling, boxed.LessVolume}, truth.PortShorter: {boxed.PortChanged},
}

func faults() {
	fmt.Printf("\n### Faults between two sweeps of one box, %d of each\n\n| box | fault | named first | named among | surely | surely wrong | refused | taken for, where not first |\n|---|---|---|---|---|---|---|---|\n", *n)
	for _, vented := range []bool{false, true} {
		for _, f := range truth.BoxFaults() {
			if *rows != "" && !slices.Contains(strings.Split(*rows, ","), f.String()) {
				continue
			}
			if !vented && (f == truth.PortBlocked || f == truth.PortShorter) {
				continue
			}
			row(f, vented)
		}
	}
}

func row(f truth.BoxFault, vented bool) {
	type said struct {
		c   *boxed.Compared
		err error
	}
	all := make([]said, *n)
	parallel(*n, func(i int) {
		c, err := compare(*seed+uint64(i), f, vented)
		all[i] = said{c, err}
	})
	first, among, sure, wrong, refused := 0, 0, 0, 0, 0
	instead := map[string]int{}
	for i, s := range all {
		if s.err != nil {
			refused++
			instead[s.err.Error()]++
			continue
		}
		right := slices.Contains(named[f], s.c.Finding.Fault)
		switch {
		case right:
			first, among = first+1, among+1
		case slices.ContainsFunc(s.c.Finding.Rivals, func(r boxed.Fault) bool { return slices.Contains(named[f], r) }):
			among++
		}
		if s.c.Finding.Sure {
			sure++
			if !right {
				wrong++
			}
		}
		if !right {
			word := string(s.c.Finding.Fault)
			if !s.c.Explained {
				word += "?"
			}
			instead[word]++
			if *show {
				fmt.Printf("%d %v: %+v\n", *seed+uint64(i), f, s.c)
			}
		}
	}
	var words []string
	for w, k := range instead {
		words = append(words, fmt.Sprintf("%s %d", w, k))
	}
	slices.Sort(words)
	kind := "closed"
	if vented {
		kind = "vented"
	}
	mark := ""
	if among*10 < 9**n || wrong > 0 {
		mark = " (!)"
	}
	fmt.Printf("| %s | %v%s | %d | %d | %d | %d | %d | %s |\n", kind, f, mark, first, among, sure, wrong, refused, strings.Join(words, ", "))
}

func compare(seed uint64, f truth.BoxFault, vented bool) (*boxed.Compared, error) {
	_, before, after := truth.FaultyBox(seed, f, vented)
	var fits [2]*boxed.Measured
	var z [2]measured.Impedance
	for i, t := range []truth.Taken{before, after} {
		z[i] = impedance(t.Sweep)
		fits[i], _ = boxed.Fit([]measured.Sweep{{Impedance: z[i]}}, measured.Conditions{}, boxed.Known{})
	}
	if fits[0] == nil && fits[1] == nil {
		return nil, errors.New("neither was fitted")
	}
	return boxed.Compare(fits, z, boxed.BeforeAfter)
}
