// Wrong measures what is said of sweeps that are not of one driver in free air, and of files
// that say another thing than they hold, on drivers of package truth, and prints the tables of
// docs/validation-connections.md, which puts several runs together by hand:
//
//	go run ./ts/internal/validate/wrong -seed 20261127 -rows coil
//
// It also counts how often drivers that are alone are doubted.
package main

import (
	"flag"
	"fmt"
	"os"
	"regexp"
	"runtime"
	"strings"
	"sync"
)

const head = `# Validation: what is connected, and slips

What is said of sweeps that are not of one driver alone, and of files that say another thing than
they hold. The drivers are those of [population.md](population.md), which share nothing with the
program but the theory of circuits. Made by

    go run ./ts/internal/validate/wrong -seed %d -n %d

Target of each row but the last table: no sure verdict, no sure cause, and the right thing named in 80 %%.
The verdict is by a sheet of the driver's true values (Re within 5 %%, Fs and Qes within 10 %%, Qms within
20 %%), by the sweep alone and where a sweep of the driver alone was taken before; the cause by
comparing with that sweep. A sure verdict is wrong where it is not true of the driver alone: its values are in the middle of their limits. *Among* counts where the right
thing is named as one of several that the sweep cannot tell apart, *first* where it is the first or only one.
(!) marks a miss.
`

func main() {
	seed := flag.Uint64("seed", 1, "first seed")
	n := flag.Int("n", 20, "cases of each kind")
	match := flag.String("rows", "", "only rows whose name has this `REGEXP`")
	only := flag.String("only", "", "one part: connections, files or alone")
	flag.Parse()
	wanted, err := regexp.Compile(*match)
	if err != nil {
		fmt.Fprintln(os.Stderr, "wrong:", err)
		os.Exit(2)
	}
	var w strings.Builder
	fmt.Fprintf(&w, head, *seed, *n)
	part := func(name string, write func() string) {
		if *only == "" || *only == name {
			w.WriteString(write())
		}
	}
	rows := func(title string, kinds []kind) string {
		text := "\n## " + title + "\n\n" + tableHead
		for _, k := range kinds {
			if wanted.MatchString(k.name) {
				text += k.row(*seed, *n)
			}
		}
		return text
	}
	part("connections", func() string { return rows("Connections", connections()) })
	part("files", func() string { return rows("Files", files()) + readable(*seed, 10**n) })
	part("alone", func() string { return falseAlarms(*seed, *n) })
	fmt.Print(w.String())
}

const tableHead = "| what | sure verdict | after a sweep before | sure cause | named first | named among | not named |\n|---|---|---|---|---|---|---|\n"

// said is what the program says of one case.
type said struct {
	verdict [2]bool // sure ones: by the sweep alone; with a sweep before it
	untrue  [2]bool // those of them that are not true of the driver alone
	cause   bool    // a sure one
	named   [2]bool // first; at all
	instead string  // what is said where it is not named
}

// kind is a row: what is wrong, and what the program says of the case of a seed.
type kind struct {
	name string
	say  func(seed uint64) said
}

func (k kind) row(seed uint64, n int) string {
	all := make([]said, n)
	parallel(n, func(i int) { all[i] = k.say(seed + uint64(i)) })
	var alone, after [2]int // sure ones, and of them those that are not true
	var causes, first, among int
	instead := map[string]int{}
	for _, s := range all {
		for i, v := range [2][2]bool{s.verdict, s.untrue} {
			alone[i] += count(v[0])
			after[i] += count(v[1])
		}
		causes += count(s.cause)
		first += count(s.named[0])
		among += count(s.named[1])
		if !s.named[1] {
			instead[s.instead]++
		}
	}
	var others []string
	for _, name := range sorted(instead) {
		others = append(others, fmt.Sprintf("%d %s", instead[name], name))
	}
	sure := func(n [2]int) string {
		if n[0] == 0 {
			return "0"
		}
		return fmt.Sprintf("%d, %d wrong%s", n[0], n[1], mark(false))
	}
	line := fmt.Sprintf("| %s | %s | %s | %d%s | %d | %d%s | %s |\n", k.name, sure(alone), sure(after), causes, mark(causes == 0),
		first, among, mark(10*among >= 8*n), strings.Join(others, ", "))
	fmt.Fprint(os.Stderr, line)
	return line
}

func count(b bool) int {
	if b {
		return 1
	}
	return 0
}

func mark(ok bool) string {
	if ok {
		return ""
	}
	return " (!)"
}

// parallel calls f for 0 to n-1 on all processors.
func parallel(n int, f func(i int)) {
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}
