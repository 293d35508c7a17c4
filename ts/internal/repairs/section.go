package repairs

import (
	"fmt"
	"io"
	"math"
	"strings"

	"conewright/ts/verdict"
)

// limitRuns is the number of measurements behind each row of the risk.
const limitRuns = 25000

// WriteSection writes the section on the judgement of docs/validation-causes.md: what
// is found after simulated repairs, and how often a driver on its limit is
// called in spec. runs is the number of simulations for each row and size.
func WriteSection(w io.Writer, runs int, seed uint64, workers int) error {
	p := &printer{w: w}
	p.line("## Causes\n")
	p.line("Each row of faults is done to a driver drawn around an eight-inch woofer, at three")
	p.line("sizes. The driver is swept before and after (216 points, noise %.1f %%), changes between", 100*Usual.Noise)
	p.line("the sessions as much as two sessions may (2 %% stiffness, 4 %% losses, 1 K), is fitted")
	p.line("and compared. Shorted turns are simulated as two coupled windings, not by the formula")
	p.line("that the judgement assumes. Seed %d, %d simulations for each row and size.\n", seed, runs)
	p.line("right: one explanation, the true one. tie: several, the true one among them. part:")
	p.line("some of the true causes and nothing false. missed: no change seen. wrong: anything else.\n")
	for _, b := range Benches {
		counts, err := Run(runs, b.Bench, seed, workers)
		if err != nil {
			return err
		}
		p.line("### %s\n", b.Name)
		p.table(counts)
		p.confusion(counts)
		alarms, n := FalseAlarms(counts)
		p.line("The test that asks whether Re and the coil are what they were (on which \"BL unchanged\" rests)")
		p.line("found a change after %d of %d repairs that leave the coil alone: %.1f %%, where 5 %% are stated.\n", alarms, n, 100*float64(alarms)/float64(n))
	}
	p.line("## Risk at the limit\n")
	p.line("A driver whose Fs, or Qts, lies exactly on a limit: drawn, swept once and fitted anew each time.\n")
	p.line("| noise | limit | in spec | undecided | out of spec |\n|---|---|---|---|---|")
	for _, noise := range []float64{0.002, 0.02} {
		edges, err := AtTheLimit(limitRuns, noise, seed, workers)
		if err != nil {
			return err
		}
		for _, e := range edges {
			side := map[bool]string{false: "lower", true: "upper"}[e.Upper]
			share := func(v verdict.Verdict) float64 { return 100 * float64(e.Verdicts[v]) / limitRuns }
			p.line("| %.1f %% | %s of %v | %.2f %% | %.2f %% | %.2f %% |", 100*noise, side, e.ID, share(verdict.InSpec), share(verdict.Undecided), share(verdict.OutOfSpec))
		}
	}
	p.line("\nThe promise is at most 2.5 %% in spec; %d measurements tell that with a standard error of %.2f %%.", limitRuns, 100*math.Sqrt(0.025*0.975/limitRuns))
	return p.err
}

// Benches are the benches of the validation.
var Benches = []struct {
	Name  string
	Bench Bench
}{{"Free air only", Usual}, {"With 25 g on the cone, before and after", Bench{Noise: Usual.Noise, Drift: Usual.Drift, Mass: true}}}

// WriteOutcomes writes what came of each run as lines with commas: bench, row, run and
// size, outcome; and of the risk at a limit noise, limit, number in spec, runs.
func WriteOutcomes(w io.Writer, runs int, seed uint64, workers int) error {
	p := &printer{w: w}
	for _, b := range Benches {
		counts, err := Run(runs, b.Bench, seed, workers)
		if err != nil {
			return err
		}
		for _, c := range counts {
			for i, o := range c.Each {
				p.line("%q,%q,%d/%d,%v", b.Name, c.Row.Name, c.Size, i, o)
			}
		}
	}
	for _, noise := range []float64{0.002, 0.02} {
		edges, err := AtTheLimit(100*runs, noise, seed, workers)
		if err != nil {
			return err
		}
		for i, e := range edges {
			p.line("limit %v,%d,%d,%d", noise, i, e.Verdicts[verdict.InSpec], 100*runs)
		}
	}
	return p.err
}

// printer writes lines and remembers the first error.
type printer struct {
	w   io.Writer
	err error
}

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format+"\n", args...)
	}
}

// table lists the outcomes, with a sum at the end.
func (p *printer) table(counts []Count) {
	p.line("| what happened | size | right | tie | part | missed | wrong |\n|---|---|---|---|---|---|---|")
	var total [5]int
	runs := 0
	for _, c := range counts {
		o := c.Outcomes
		p.line("| %s | %s | %d | %d | %d | %d | %d |", c.Row.Name, c.Row.Sizes[c.Size], o[Right], o[Tie], o[Part], o[Missed], o[Wrong])
		for i := range o {
			total[i] += o[i]
		}
		runs += c.Runs
	}
	percent := func(n int) string { return fmt.Sprintf("%.1f %%", 100*float64(n)/float64(runs)) }
	p.line("| **all** | | **%s** | **%s** | **%s** | **%s** | **%s** |\n", percent(total[Right]), percent(total[Tie]), percent(total[Part]), percent(total[Missed]), percent(total[Wrong]))
}

// confusion lists what was named first for each row, all sizes together.
func (p *printer) confusion(counts []Count) {
	p.line("Named first (share of all simulations of the row; below 2 %% left out):\n")
	p.line("| what happened | named first |\n|---|---|")
	for i := 0; i < len(counts); {
		name := counts[i].Row.Name
		sum := Count{Found: map[string]int{}}
		for ; i < len(counts) && counts[i].Row.Name == name; i++ {
			sum.Runs += counts[i].Runs
			for k, n := range counts[i].First {
				sum.Found[k] += n
			}
		}
		var parts []string
		for _, k := range sum.Named() {
			if share := float64(sum.Found[k]) / float64(sum.Runs); share >= 0.02 {
				parts = append(parts, fmt.Sprintf("%s %.0f %%", k, 100*share))
			}
		}
		p.line("| %s | %s |", name, strings.Join(parts, "; "))
	}
	p.line("")
}
