// Rubbing judges on simulated drivers whether friction is found, and writes docs/validation-friction.md:
//
//	go run ./ts/internal/rubbing -o docs/validation-friction.md
//	go run ./ts/internal/rubbing -drivers 4          (to standard output)
//	go run ./ts/internal/rubbing -keep DIR ...       (recordings stay in DIR, and those that are there are taken)
//
// Drivers are those of ts/internal/truth, followed in time. Their suspensions, which are given over frequency, become
// springs with dampers; to that come what depends on excursion and friction.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"runtime"
	"slices"
	"sync"
)

func main() {
	drivers := flag.Int("drivers", 40, "how many drivers")
	first := flag.Uint64("first", 101, "seed of the first one")
	keep := flag.String("keep", "", "folder in which recordings stay; it must be there")
	name := flag.String("o", "", "file to write")
	flag.Parse()
	if err := write(*drivers, *first, *keep, *name); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func write(drivers int, first uint64, keep, name string) error {
	each := make([][]outcome, drivers)
	var working sync.WaitGroup
	free := make(chan struct{}, runtime.NumCPU())
	for k := range drivers {
		free <- struct{}{}
		working.Go(func() {
			each[k] = draw(first+uint64(k)).outcomes(keep, k%4 == 0)
			<-free
		})
	}
	working.Wait()
	all := slices.Concat(each...)
	out := io.Writer(os.Stdout)
	if name != "" {
		f, err := os.Create(name)
		if err != nil {
			return err
		}
		defer f.Close()
		out = f
	}
	return report(out, all, drivers, first)
}
