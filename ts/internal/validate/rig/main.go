// Rig measures how the program holds against what is wrong with a bench: inputs that differ, masses that are not
// what they are said to be, and meters. Drivers, benches and errors are those of package truth.
//
//	go run ./ts/internal/validate/rig                  (all tables, to standard output)
//	go run ./ts/internal/validate/rig -part 0.2 inputs (a fifth of the runs of one table)
//	go run ./ts/internal/validate/rig -later 100000    (other drivers and errors than those of the tables)
//
// Every run is seeded: the same counts give the same tables.
package main

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
)

// table is one table of the report; part scales the number of runs.
type table struct {
	name  string
	print func(runs int)
	runs  int
}

var tables = []table{
	{"inputs", printInputs, 100},
	{"masses", printMasses, 100},
	{"meter", printMeter, 100},
}

// later is added to all seeds.
var later = flag.Uint64("later", 0, "added to all seeds")

func main() {
	part := flag.Float64("part", 1, "part of the full number of runs")
	flag.Parse()
	for _, name := range flag.Args() {
		if !slices.ContainsFunc(tables, func(t table) bool { return t.name == name }) {
			fmt.Fprintln(os.Stderr, "rig: there is no table", name)
			os.Exit(2)
		}
	}
	for _, t := range tables {
		if flag.NArg() == 0 || slices.Contains(flag.Args(), t.name) {
			t.print(max(1, int(float64(t.runs)**part+0.5)))
		}
	}
}

// workers is the number of runs at a time.
const workers = 2

// parallel calls f for 0 to n-1. Calls do not depend on their order.
func parallel(n int, f func(i int)) {
	var all sync.WaitGroup
	next := make(chan int)
	for range workers {
		all.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	all.Wait()
}

// row prints one row of a table.
func row(cells ...any) {
	text := make([]string, len(cells))
	for i, c := range cells {
		text[i] = fmt.Sprint(c)
	}
	fmt.Println("| " + strings.Join(text, " | ") + " |")
}
