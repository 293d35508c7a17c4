// Validate measures what the fit reaches on simulated drivers and writes the
// tables of docs/validation.md:
//
//	go run ./ts/internal/validate -o docs/validation.md
//	go run ./ts/internal/validate -part 0.1          (a tenth of the runs, to standard output)
//	go run ./ts/internal/validate -outcomes out.csv  (and what came of each run, for package ablate)
//
// Every run is seeded: the same counts give the same tables. A section is one
// file with one function, listed in sections.
package main

import (
	"flag"
	"fmt"
	"os"
	"runtime"
	"strings"
	"sync"
)

// section writes one chapter of the report. part scales the number of runs.
type section struct {
	title string
	write func(w *report, part float64)
}

var sections = []section{
	{"Efficiency: the error against the Cramér-Rao bound", writeEfficiency},
	{"Coverage when the model is in the ladder", writeCoverage},
	{"Coverage when no model is right", writeOutside},
	{"Exported files of drivers that follow no law", writeExports},
	{"Healthy woofers with a second resonance against a sheet", writeHealthy},
	{"Sweeps that say less, and more", writeLittle},
	{"Several sweeps", writeSeveral},
	{"Added mass under creep and drift", writeMass},
}

const head = `# Validation

What the fit reaches on simulated drivers, whose truth is known. Made by

    go run ./ts/internal/validate -o docs/validation.md

with seeds, so the same command gives the same tables. The simulation is
written from the mechanical side and shares no code with the fit. Drivers are
drawn at random: Re 3 to 7.5 ohm, Fs 20 to 90 Hz, Qms 2 to 10, Qes 0.25 to 1.1, Mms 8 to
120 g, creep up to 0.2 a decade, the coil's reactance at 1 kHz 0.3 to 2 times Re; 16 to 40 points
an octave from Fs/8 to between 1.5 and 5 kHz; independent normal noise of 0.05 to
0.5 % of |Z| on real and imaginary part.

Numbers that miss their target are printed like the others and marked. Which state of the program each table is of:
[validation-states.md](validation-states.md).
`

func main() {
	out := flag.String("o", "", "file to write; standard output without it")
	outcomes := flag.String("outcomes", "", "file for the outcome of each run")
	part := flag.Float64("part", 1, "part of the full number of runs")
	only := flag.String("only", "", "the sections whose title holds this")
	flag.Parse()
	if err := run(*out, *outcomes, *only, *part); err != nil {
		fmt.Fprintln(os.Stderr, "validate:", err)
		os.Exit(1)
	}
}

func run(out, outcomes, only string, part float64) error {
	var r report
	r.WriteString(head)
	if part != 1 {
		fmt.Fprintf(&r, "\nThis report was made with %g of the full number of runs.\n", part)
	}
	for _, s := range sections {
		if !strings.Contains(s.title, only) {
			continue
		}
		fmt.Fprintf(&r, "\n## %s\n\n", s.title)
		r.section = s.title
		s.write(&r, part)
	}
	if outcomes != "" {
		if err := r.writeOutcomes(outcomes); err != nil {
			return err
		}
	}
	if out == "" {
		fmt.Print(r.String())
		return nil
	}
	return os.WriteFile(out, []byte(r.String()), 0o644)
}

// runs returns how many of n runs to make, at least one.
func runs(n int, part float64) int { return max(1, int(float64(n)*part+0.5)) }

// parallel calls f for 0 to n-1 on all processors. Calls must not depend on
// their order.
func parallel(n int, f func(i int)) {
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				f(i)
			}
		}()
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

// mark returns a flag for a number that misses its target.
func mark(ok bool) string {
	if ok {
		return ""
	}
	return " (!)"
}
