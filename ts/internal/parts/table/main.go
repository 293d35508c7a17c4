// Command table writes docs/validation-parts.md: parts with physics that the fit does not contain, on the virtual bench.
//
//	go run ./ts/internal/parts/table > docs/validation-parts.md
package main

import (
	"fmt"
	"log"
	"sort"
	"strings"

	"conewright/ts/internal/parts"
	"conewright/ts/param"
)

const (
	measured = 300 // parts
	mistaken = 30  // of each sort
)

const head = `# Validation: parts of a network

Made by ` + "`go run ./ts/internal/parts/table > docs/validation-parts.md`" + `, from recordings of a virtual bench: sweeps of 6 s at 48 kHz,
noise of -95 dB below full scale, gains apart by 0.5 %% and channels by 0.2 us, a series resistor that is off by some 0.6 %%, inputs of 20 kohm,
leads of 0.1 ohm with 0.4 uH and 60 pF, the three wirings in turn. The terms are recorded anew after every %d parts. The load of 100 ohm is known to 0.058 %% and
has an inductance of 30 nH (both standard deviations of a normal distribution); every clip makes a contact that is off by some milliohms.

The parts have physics that no fit contains: dielectrics that relax at many times, electrolyte in the pores of foils as a line, skin effect, sheets of
iron with hysteresis, capacitance of windings (` + "`ts/internal/parts/parts.go`" + `). Capacitors from 0.1 to 100 uF, coils from 0.05 to 10 mH, resistors from 0.2 to
100 ohm. True is what the part itself has as a series circuit at the frequency of the values, and the resistance of its wire for Rdc.

## Values

`

func main() {
	sorts, scores, all, err := parts.Survey(measured, 2001)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf(head, parts.PerBench)
	fmt.Println("| part | measured | kind found | C, L within 0.3 % | largest error | ESR, Rdc within 10 mohm + 1 % | largest, of the target |\n|---|---|---|---|---|---|---|")
	row := func(name string, s parts.Score) {
		near, worst, loss, worstLoss := "", "", "", ""
		if s.Near.Of > 0 {
			near, worst = fmt.Sprintf("%.1f %%", s.Near.Percent()), fmt.Sprintf("%.2f %%", 100*s.Worst)
			loss, worstLoss = fmt.Sprintf("%.1f %%", s.NearLoss.Percent()), fmt.Sprintf("%.2f", s.WorstLoss)
		}
		fmt.Printf("| %s | %d | %.1f %% | %s | %s | %s | %s |\n", name, s.Parts, s.Kind.Percent(), near, worst, loss, worstLoss)
	}
	sort.Strings(sorts)
	for _, sort := range sorts {
		row(sort, *scores[sort])
	}
	row("all", all)
	fmt.Print("\n## Intervals of 95 %\n\n", shared, "\n| quantity | values | held | held without load and contacts |\n|---|---|---|---|\n")
	var sum parts.Count
	for _, id := range param.All() {
		if c := all.Held[id]; c != nil {
			rest := ""
			if c := all.Rest[id]; c != nil {
				rest = fmt.Sprintf("%.1f %%", c.Percent())
			}
			fmt.Printf("| %s | %d | %.1f %% | %s |\n", id, c.Of, c.Percent(), rest)
			sum.Right, sum.Of = sum.Right+c.Right, sum.Of+c.Of
		}
	}
	fmt.Printf("| all | %d | %.1f %% | |\n", sum.Of, sum.Percent())
	mistakes, err := parts.Mistakes(mistaken, 2002)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Print("\n## Wrong parts\n\n", strings.TrimSpace(wrong), "\n\n| what | of | named | sure and wrong |\n|---|---|---|---|\n")
	for _, m := range mistakes {
		fmt.Printf("| %s | %d | %.0f %% | %d |\n", m.What, m.Named.Of, m.Named.Percent(), m.SureWrong)
	}
}

const shared = `Nearly all of an error is that of the load, which the parts of one session share, and that of the clips: of a coil 0.06 % by the one, of an ESR 4 milliohm
by the other. The values of one quantity are worth about 100 independent ones: a share of 95 % is then known to about 2.2 % (standard deviation). So the last
column takes off what was drawn for load and clips, and asks whether noise and the choice of a law hold what is left, which is about a
hundredth of it; a source of error that is not in the uncertainty would show there. It is not given for products.
`

const wrong = `
Named means: out of spec for another value, the kind that it is for another kind, in spec without a doubt for the right part, "not a single
part" or "something lies in parallel" for a driver in parallel, "open" and "joined" for those. Sure and wrong is any other answer that is not a question
or a refusal.
`
