// Command table writes docs/validation-causes.md: what the judgement makes of
// simulated repairs, and the risk at a limit. From the root of the repository:
//
//	go run ./ts/internal/repairs/table > docs/validation-causes.md
//
// It takes about six minutes on two idle cores. With -outcomes it writes what came of
// each run instead, for package ablate.
package main

import (
	"flag"
	"fmt"
	"os"
	"runtime"

	"conewright/ts/internal/repairs"
)

// Enough to tell 1 % of wrong answers from 2 % over the whole table.
const runs, seed = 50, 1

func main() {
	outcomes := flag.Int("outcomes", 0, "write the outcomes of so many runs of each row instead")
	flag.Parse()
	if err := write(*outcomes); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func write(outcomes int) error {
	if outcomes > 0 {
		return repairs.WriteOutcomes(os.Stdout, outcomes, seed, runtime.GOMAXPROCS(0))
	}
	fmt.Print("# What the judgement makes of simulated repairs\n\nWritten by `go run ./ts/internal/repairs/table`; a reduced version runs in the tests.\n\n")
	return repairs.WriteSection(os.Stdout, runs, seed, runtime.GOMAXPROCS(0))
}
