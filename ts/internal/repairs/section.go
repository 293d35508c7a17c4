package repairs

import (
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"strings"

	"conewright/ts"
)

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
	for _, b := range []struct {
		name  string
		bench Bench
	}{{"Free air only", Usual}, {"With 25 g on the cone, before and after", Bench{Noise: Usual.Noise, Drift: Usual.Drift, Mass: true}}} {
		counts, err := Run(runs, b.bench, seed, workers)
		if err != nil {
			return err
		}
		p.line("### %s\n", b.name)
		p.table(counts)
		p.confusion(counts)
	}
	p.line("## Risk at the limit\n")
	p.line("A driver whose Fs lies exactly on the upper limit, swept and fitted anew each time:\n")
	p.line("| noise | in spec | undecided | out of spec |\n|---|---|---|---|")
	for _, noise := range []float64{0.002, 0.02} {
		n, err := AtTheLimit(20*runs, noise, seed)
		if err != nil {
			return err
		}
		total := float64(n[0] + n[1] + n[2])
		p.line("| %.1f %% | %.1f %% | %.1f %% | %.1f %% |", 100*noise, 100*float64(n[ts.InSpec])/total, 100*float64(n[ts.Undecided])/total, 100*float64(n[ts.OutOfSpec])/total)
	}
	p.line("\nThe promise is at most 2.5 %% in spec; %d simulations tell that to +-%.1f %%.", 20*runs, 200*math.Sqrt(0.025*0.975/float64(20*runs)))
	return p.err
}

// AtTheLimit counts the verdicts on a driver whose Fs lies exactly on the upper
// limit.
func AtTheLimit(runs int, noise float64, seed uint64) (verdicts [3]int, err error) {
	for run := range runs {
		rng := newRand(seed, uint64(run))
		b := base(rng)
		var z ts.Impedance
		for f := 6.0; f <= 3000; f *= math.Exp2(1. / 24) {
			x := b.impedance(f, 0)
			s := noise * cmplx.Abs(x)
			z.Freq = append(z.Freq, f)
			z.Z = append(z.Z, x+complex(s*rng.NormFloat64(), s*rng.NormFloat64()))
			z.Sigma = append(z.Sigma, s)
		}
		fitted, err := ts.Fit([]ts.Sweep{{Impedance: z}}, ts.Conditions{})
		if err != nil {
			return verdicts, err
		}
		checked, err := ts.Check(fitted.Parameters, ts.Spec{Limits: []ts.Limit{{ID: ts.Fs, Lo: math.Inf(-1), Hi: b.Fs()}}})
		if err != nil {
			return verdicts, err
		}
		verdicts[checked.Verdict]++
	}
	return verdicts, nil
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
