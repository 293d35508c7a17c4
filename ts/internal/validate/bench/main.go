// Command bench judges how the intervals, verdicts and causes hold at a bench that scatters, on drivers and
// benches with other physics than the estimator's, and prints the tables for docs/validation-bench.md:
//
//	go run ./ts/internal/validate/bench -seed 1 -n 60 > table.md
package main

import (
	"flag"
	"fmt"
	"math"
	"os"
	"strings"

	"conewright/ts/change"
	"conewright/ts/internal/estimate"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/verdict"
)

var (
	seed = flag.Uint64("seed", 1, "first seed")
	n    = flag.Int("n", 60, "cases a row")
	only = flag.String("only", "", "names of rows, separated by commas; all if empty")
)

func main() {
	flag.Parse()
	for _, row := range []struct {
		name string
		run  func()
	}{
		{"untouched", untouched}, {"learned", learnedUntouched}, {"change", trueChange}, {"limit", atTheLimit}, {"subset", subsets},
	} {
		if *only == "" || strings.Contains(","+*only+",", ","+row.name+",") {
			row.run()
		}
	}
}

// coarser is how many points of the population's grid make one here: 12 an octave are left, which a fit
// follows in a quarter of the time.
const coarser = 4

// sweep is what was taken as the estimator sees it.
func sweep(t truth.Taken) measured.Sweep {
	var f, sigma []float64
	var all []complex128
	for i := 0; i < len(t.Sweep.F); i += coarser {
		f, all, sigma = append(f, t.Sweep.F[i]), append(all, t.Sweep.Z[i]), append(sigma, t.Sweep.Sigma[i])
	}
	z, err := measured.NewImpedance(f, all, sigma)
	if err != nil {
		panic(err)
	}
	return measured.Sweep{Impedance: z}
}

// fit returns the parameters of sweeps that differ by kind; false where the estimator refuses.
func fit(bench repeat.Bench, kind repeat.Kind, taken ...truth.Taken) (param.Parameters, bool) {
	var all []measured.Sweep
	for _, t := range taken {
		all = append(all, sweep(t))
	}
	f, err := estimate.Fit(all, measured.Conditions{Repeatability: &bench, Repeats: kind})
	if err != nil {
		fmt.Fprintln(os.Stderr, "no fit:", err)
		return param.Parameters{}, false
	}
	return f.Parameters, true
}

// study names one study of a bench.
type study struct {
	seed  uint64
	bench truth.Bench
}

// studied are the studies that were made.
var studied = map[study]*repeat.Bench{}

// learn returns what a study with 20 sweeps of one driver says of a bench; false where the estimator refuses.
func learn(seed uint64, bench truth.Bench) (repeat.Bench, bool) {
	key := study{seed, bench}
	if _, ok := studied[key]; !ok {
		studied[key] = nil
		if b, ok := learnAnew(seed, bench); ok {
			studied[key] = &b
		}
	}
	if b := studied[key]; b != nil {
		return *b, true
	}
	return repeat.Bench{}, false
}

// learnAnew makes the study: five sessions of two clampings of two sweeps.
func learnAnew(seed uint64, bench truth.Bench) (repeat.Bench, bool) {
	var readings []repeat.Reading
	var all []measured.Sweep
	for s, clampings := range truth.Study(seed, truth.Plain, bench, truth.Nested{Drivers: 1, Sessions: 5, Clampings: 2, Sweeps: 2})[0] {
		for c, sweeps := range clampings {
			for _, t := range sweeps {
				all = append(all, sweep(t))
				readings = append(readings, repeat.Reading{Session: fmt.Sprint(s), Clamping: fmt.Sprint(c)})
			}
		}
	}
	values, err := estimate.Scatter(all, measured.Conditions{})
	if err != nil {
		fmt.Fprintln(os.Stderr, "no study:", err)
		return repeat.Bench{}, false
	}
	for i := range readings {
		readings[i].Values = values[i]
	}
	found, err := repeat.Learn(readings)
	if err != nil {
		panic(err)
	}
	return found.Bench.Over(repeat.Usual), true
}

// tally counts what comparisons say.
type tally struct {
	cases, changed, stiffer int
	held, seen              map[param.ID]int
}

// compare adds one comparison of a driver before and after.
func (t *tally) compare(bench repeat.Bench, seed uint64, scatter truth.Bench, repair truth.Repaired) {
	b, a := truth.BeforeAfter(seed, truth.Plain, scatter, repair, truth.NoMass)
	before, ok := fit(bench, repeat.Again, b.Free)
	after, ok2 := fit(bench, repeat.Again, a.Free)
	if !ok || !ok2 {
		return
	}
	c, err := change.Compare(before, after, change.Options{})
	if err != nil {
		panic(err)
	}
	if t.held == nil {
		t.held, t.seen = map[param.ID]int{}, map[param.ID]int{}
	}
	t.cases++
	for _, ch := range change.Changes(before, after, nil) {
		t.seen[ch.ID]++
		if ch.Low <= 1 && ch.High >= 1 {
			t.held[ch.ID]++
		}
	}
	lead := c.Explanations[0].Causes
	if lead[0].ID != change.NoChange {
		t.changed++
	}
	for _, cause := range lead {
		if cause.ID == change.SuspensionStiffer {
			t.stiffer++
		}
	}
}

// shares writes how often the intervals of the change hold that there is none.
func (t *tally) shares() string {
	var out []string
	for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Cms, param.Mms} {
		out = append(out, fmt.Sprintf("%v %.0f", id, 100*float64(t.held[id])/float64(t.seen[id])))
	}
	return strings.Join(out, ", ")
}

func untouched() {
	for _, fs := range []float64{0.005, 0.01, 0.02} {
		var t tally
		for i := range uint64(*n) {
			t.compare(repeat.Usual, *seed+i, truth.CommonBench(fs), truth.Repaired{})
		}
		fmt.Printf("| untouched, Fs scatters by %.1f %%, nothing told | %d | %s | %.1f |\n", 100*fs, t.cases, t.shares(), 100*float64(t.changed)/float64(t.cases))
	}
}

// drivers is how many drivers are judged on one learned bench.
const drivers = 3

func learnedUntouched() {
	for _, fs := range []float64{0.0005, 0.005, 0.01, 0.02} {
		var t tally
		for i := range uint64(*n / drivers) {
			bench, ok := learn(*seed+i, truth.CommonBench(fs))
			for k := range uint64(drivers) {
				if ok {
					t.compare(bench, 1000+drivers*(*seed+i)+k, truth.CommonBench(fs), truth.Repaired{})
				}
			}
		}
		fmt.Printf("| untouched, Fs scatters by %.2f %%, learned from 20 sweeps | %d | %s | %.1f |\n", 100*fs, t.cases, t.shares(), 100*float64(t.changed)/float64(t.cases))
	}
}

func trueChange() {
	for _, row := range []struct {
		name    string
		fs      float64
		learned bool
		factor  float64
	}{{"5 % stiffer on a bench that repeats to 0.05 %, learned", 0.0005, true, 1.05}, {"35 % stiffer, Fs scatters by 1 %, nothing told", 0.01, false, 1.35}, {"20 % stiffer, Fs scatters by 1 %, nothing told", 0.01, false, 1.2}} {
		var t tally
		for i := range uint64(*n / drivers) {
			bench, ok := repeat.Usual, true
			if row.learned {
				bench, ok = learn(*seed+i, truth.CommonBench(row.fs))
			}
			for k := range uint64(drivers) {
				if ok {
					t.compare(bench, 2000+drivers*(*seed+i)+k, truth.CommonBench(row.fs), truth.Repaired{Stiffness: row.factor})
				}
			}
		}
		fmt.Printf("| %s | %d | suspension named stiffer in %.0f %% |\n", row.name, t.cases, 100*float64(t.stiffer)/float64(t.cases))
	}
}

// limited are the quantities that limits are put on, with their true values.
func limited(v truth.Values) map[param.ID]float64 {
	return map[param.ID]float64{param.Re: v.Re, param.Fs: v.Fs, param.Qms: v.Qms, param.Qts: v.Qts}
}

// decide judges p by a limit on the scale of id, a lower one if lower.
func decide(p param.Parameters, id param.ID, at float64, lower bool) verdict.Verdict {
	l := verdict.Limit{ID: id, Lo: math.Inf(-1), Hi: id.Unscale(at)}
	if lower {
		l.Lo, l.Hi = id.Unscale(at), math.Inf(1)
	}
	c, err := verdict.Check(p, verdict.Spec{Limits: []verdict.Limit{l}})
	if err != nil {
		panic(err)
	}
	return c.Verdict
}

// kindOf are the same kinds in the population and in the estimator.
var kindOf = map[truth.Kind]repeat.Kind{truth.Again: repeat.Again, truth.Reclamped: repeat.Reclamped, truth.Session: repeat.Session}

func atTheLimit() {
	const fs = 0.01
	for _, kind := range []truth.Kind{truth.Session, truth.Again} {
		for _, times := range []int{1, 3, 10} {
			var all, falseIn, decided, nearDecided int
			for i := range uint64(*n / drivers) {
				bench, ok := learn(*seed+i, truth.CommonBench(fs))
				if !ok {
					continue
				}
				for k := range uint64(drivers) {
					taken, v := truth.Repeats(3000+drivers*(*seed+i)+k, truth.Plain, truth.CommonBench(fs), kind, times)
					p, ok := fit(bench, kindOf[kind], taken...)
					if !ok {
						continue
					}
					for id, true_ := range limited(v) {
						j := p.Index(id)
						u := p.ScaledStd(j)
						for _, lower := range []bool{false, true} {
							side := 3 * u
							if lower {
								side = -side
							}
							all++
							if decide(p, id, id.Scale(true_), lower) == verdict.InSpec {
								falseIn++
							}
							if decide(p, id, id.Scale(true_)+side, lower) == verdict.InSpec {
								decided++
							}
							if decide(p, id, p.Scaled[j]+side, lower) == verdict.InSpec {
								nearDecided++
							}
						}
					}
				}
			}
			fmt.Printf("| %d sweeps that differ by %v | %d | %.1f | %.0f | %.0f |\n", times, kindOf[kind], all, 100*float64(falseIn)/float64(all),
				100*float64(decided)/float64(all), 100*float64(nearDecided)/float64(all))
		}
	}
}

func subsets() {
	for _, row := range []struct {
		name    string
		fs      float64
		learned bool
	}{{"nothing told", 0.01, false}, {"nothing told", 0.02, false}, {"learned", 0.01, true}} {
		for _, kind := range []truth.Kind{truth.Again, truth.Reclamped, truth.Session} {
			counts := []int{1, 2, 3, 6}
			decided, all := make([]int, len(counts)), 0
			for i := range uint64(*n / drivers) {
				bench, ok := repeat.Usual, true
				if row.learned {
					bench, ok = learn(*seed+i, truth.CommonBench(row.fs))
				}
				taken, v := truth.Repeats(4000+*seed+i, truth.Plain, truth.CommonBench(row.fs), kind, counts[len(counts)-1])
				sets := make([]param.Parameters, len(counts))
				for c, times := range counts {
					var fitted bool
					sets[c], fitted = fit(bench, kindOf[kind], taken[:times]...)
					ok = ok && fitted
				}
				if !ok {
					continue
				}
				for id, true_ := range limited(v) {
					for _, margin := range []float64{-0.06, -0.04, -0.02, -0.01, 0.01, 0.02, 0.04, 0.06} {
						all++
						for c := range sets {
							if decide(sets[c], id, id.Scale(true_)+margin, false) != verdict.Undecided {
								decided[c]++
							}
						}
					}
				}
			}
			fmt.Printf("| Fs scatters by %.0f %%, %s, %v | %d |", 100*row.fs, row.name, kindOf[kind], all)
			for _, d := range decided {
				fmt.Printf(" %.0f |", 100*float64(d)/float64(all))
			}
			fmt.Println()
		}
	}
}
