// Command table writes docs/validation-causes.md: what the judgement makes of
// simulated repairs, and the risk at a limit. From the root of the repository:
//
//	go run ./ts/internal/repairs/table > docs/validation-causes.md
//
// It takes about six minutes on two idle cores.
package main

import (
	"fmt"
	"os"
	"runtime"

	"conewright/ts/internal/repairs"
)

// Enough to tell 1 % of wrong answers from 2 % over the whole table.
const runs, seed = 50, 1

func main() {
	fmt.Print("# What the judgement makes of simulated repairs\n\nWritten by `go run ./ts/internal/repairs/table`; a reduced version runs in the tests.\n\n")
	if err := repairs.WriteSection(os.Stdout, runs, seed, runtime.GOMAXPROCS(0)); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
