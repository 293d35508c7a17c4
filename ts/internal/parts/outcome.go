package parts

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"conewright/sweeps/bench"
	"conewright/ts"
	"conewright/ts/network"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/part"
	"conewright/ts/verdict"
)

// Count is how often something was right among how many.
type Count struct{ Right, Of int }

func (c *Count) add(right bool) {
	c.Of++
	if right {
		c.Right++
	}
}

// Percent is the share in percent.
func (c Count) Percent() float64 { return 100 * float64(c.Right) / float64(max(c.Of, 1)) }

// Score is what came out for parts of one sort, or for all.
type Score struct {
	Parts            int
	Kind             Count // what it is was found
	Refused          int
	Near             Count // C and L within 0.3 %; ESR and Rdc within 10 mohm and 1 %
	NearLoss         Count
	Held             map[param.ID]*Count // the 95 % interval holds the value
	Rest             map[param.ID]*Count // the same without load and contacts: their errors taken off the value, and their parts off the interval
	Worst, WorstLoss float64             // largest relative error of C or L; largest error of ESR or Rdc over its target
}

// sum adds other to s.
func (s *Score) sum(other Score) {
	s.Parts += other.Parts
	s.Refused += other.Refused
	for _, c := range []struct{ to, from *Count }{{&s.Kind, &other.Kind}, {&s.Near, &other.Near}, {&s.NearLoss, &other.NearLoss}} {
		c.to.Right, c.to.Of = c.to.Right+c.from.Right, c.to.Of+c.from.Of
	}
	for _, m := range []struct{ to, from *map[param.ID]*Count }{{&s.Held, &other.Held}, {&s.Rest, &other.Rest}} {
		for id, c := range *m.from {
			sum := of(m.to, id)
			sum.Right, sum.Of = sum.Right+c.Right, sum.Of+c.Of
		}
	}
	s.Worst, s.WorstLoss = math.Max(s.Worst, other.Worst), math.Max(s.WorstLoss, other.WorstLoss)
}

// of is the count of one quantity.
func of(counts *map[param.ID]*Count, id param.ID) *Count {
	if *counts == nil {
		*counts = map[param.ID]*Count{}
	}
	if (*counts)[id] == nil {
		(*counts)[id] = &Count{}
	}
	return (*counts)[id]
}

// truth is the value of a quantity of p as a series circuit at f (Hz); false for one that is not looked at.
func (p Part) truth(id param.ID, f float64) (float64, bool) {
	switch w := 2 * math.Pi * f; id {
	case param.C:
		return p.C(f), true
	case param.ESR, param.R:
		return p.Loss(f), true
	case param.TanDelta:
		return w * p.C(f) * p.Loss(f), true
	case param.L:
		return p.L(f), p.Kind == network.Coil // of a resistor it is read elsewhere
	case param.Rdc:
		return p.Rdc, true
	case param.Q:
		return w * p.L(f) / p.Loss(f), true
	}
	return 0, false
}

// score measures p on b.
func score(b *Bench, p Part) (s Score, err error) {
	s.Parts = 1
	z, err := b.Measure(p)
	if err != nil {
		return s, err
	}
	f, err := part.Fit(z, part.Options{})
	var n *notice.Notice
	if errors.As(err, &n) {
		s.Refused++
		s.Kind.add(false)
		return s, nil
	}
	if err != nil {
		return s, err
	}
	s.Kind.add(f.Kind == p.Kind)
	if f.Kind != p.Kind {
		return s, nil
	}
	for i, e := range f.Parameters.All() {
		want, ok := p.truth(e.ID, f.Frequency)
		if !ok {
			continue
		}
		of(&s.Held, e.ID).add(e.Low <= want && want <= e.High)
		if e.ID != param.Q && e.ID != param.TanDelta { // products: of their errors two meet
			of(&s.Rest, e.ID).add(b.restHeld(f.Parameters, i, want))
		}
		switch off := e.Value - want; e.ID {
		case param.C, param.L:
			s.Near.add(math.Abs(off/want) <= 0.003)
			s.Worst = math.Max(s.Worst, math.Abs(off/want))
		case param.ESR, param.Rdc:
			target := 0.010 + 0.01*want
			s.NearLoss.add(math.Abs(off) <= target)
			s.WorstLoss = math.Max(s.WorstLoss, math.Abs(off)/target)
		}
	}
	return s, nil
}

// restHeld says whether noise and choice of a law alone hold what is left of the error of value i, once what was drawn for load and contacts is taken off.
func (b *Bench) restHeld(p param.Parameters, i int, want float64) bool {
	value, unit := p.IDs[i].Unscale(p.Scaled[i]), 1.0
	if p.IDs[i].Info().Positive { // on the scale of a logarithm
		unit = value
	}
	off, variance := value-want, p.Noise.At(i, i)
	for _, c := range p.Components {
		if by, drawn := b.by(c.Source, c.Effect[i]); drawn {
			off -= by * unit
		} else {
			variance += c.Effect[i] * c.Effect[i]
		}
	}
	return math.Abs(off) <= p.Coverage*unit*math.Sqrt(variance)
}

// PerBench is how many parts are measured with one set of terms.
const PerBench = 3

// Survey measures so many parts and returns a score for each sort, in order, and for all.
func Survey(parts int, seed uint64) (sorts []string, scores map[string]*Score, all Score, err error) {
	rng := rand.New(rand.NewPCG(seed, 18))
	scores = map[string]*Score{}
	var b *Bench
	for i := range parts {
		if i%PerBench == 0 {
			if b, err = NewBench(rng, []bench.Wiring{bench.ResistorFirst, bench.DriverFirst, bench.Probes}[i/PerBench%3]); err != nil {
				return nil, nil, all, err
			}
		}
		p := Draw(rng)
		s, err := score(b, p)
		if err != nil {
			return nil, nil, all, fmt.Errorf("%s: %w", p.What, err)
		}
		if scores[p.What] == nil {
			scores[p.What] = &Score{}
			sorts = append(sorts, p.What)
		}
		scores[p.What].sum(s)
		all.sum(s)
	}
	return sorts, scores, all, nil
}

// Mistake is what came out for wrong parts of one sort.
type Mistake struct {
	What      string
	Named     Count
	SureWrong int // something that is not so was said to be
}

// Mistakes measures so many wrong parts of each sort.
func Mistakes(each int, seed uint64) ([]Mistake, error) {
	rng := rand.New(rand.NewPCG(seed, 19))
	all := []Mistake{{What: "another value, 20 % or more off, against ± 10 %"}, {What: "another kind of part"}, {What: "the right part"},
		{What: "a driver still in parallel"}, {What: "open"}, {What: "shorted"}}
	var b *Bench
	var err error
	for i := range each {
		if i%PerBench == 0 {
			if b, err = NewBench(rng, bench.ResistorFirst); err != nil {
				return nil, err
			}
		}
		for k := range all {
			p := Draw(rng)
			if k == 3 { // only what a driver of 6 ohm can hide
				p = []func() Part{func() Part { return film(rng, between(rng, 2e-6, 50e-6)) }, func() Part { return air(rng, between(rng, 0.2e-3, 5e-3)) }}[i%2]()
			}
			named, sure, err := mistake(b, k, p, rng)
			if err != nil {
				return nil, err
			}
			all[k].Named.add(named)
			if sure {
				all[k].SureWrong++
			}
		}
	}
	return all, nil
}

// mistake measures one wrong part of the sort k of [Mistakes].
func mistake(b *Bench, k int, p Part, rng *rand.Rand) (named, sureWrong bool, err error) {
	main := p.C(1e3)
	switch p.Kind {
	case network.Coil:
		main = p.L(1e3)
	case network.Resistor:
		main = p.Loss(1e3)
	}
	wantedKind, nominal := p.Kind, main*(1+0.04*(rng.Float64()-0.5))
	switch k {
	case 0:
		nominal = main * math.Exp(math.Copysign(between(rng, 0.23, 1.5), rng.Float64()-0.5))
	case 1:
		wantedKind = (p.Kind + network.Kind(1+rng.IntN(2))) % 3
	case 3:
		body := p.Z
		driver := network.Moving{Re: 5 + 2*rng.Float64(), Le: 0.3e-3, Fs: 60, Qms: 5, Qes: 0.6}.Impedance
		p.Z = func(f float64) complex128 { return parallel(body(f), driver(f)) }
	case 4:
		p.Z = func(f float64) complex128 { return complex(0, -1/(2*math.Pi*f*1e-12)) }
	case 5:
		p.Z = func(f float64) complex128 { return complex(0.002, 2*math.Pi*f*10e-9) }
	}
	code := ""
	var f *part.Found
	z, err := b.Measure(p)
	if err == nil {
		f, err = part.Fit(z, part.Options{})
	}
	var n *notice.Notice
	if errors.As(err, &n) {
		code = n.Code
	} else if err != nil {
		return false, false, err
	}
	in := verdict.Undecided
	if f != nil && f.Kind == wantedKind {
		c, err := ts.Check(f.Parameters, verdict.Spec{Confidence: 0.95, Limits: []verdict.Limit{{ID: part.Main(wantedKind), Lo: 0.9 * nominal, Hi: 1.1 * nominal}}})
		if err != nil {
			return false, false, err
		}
		in = c.Verdict
	}
	beside := false
	for i := 0; f != nil && i < len(f.Warnings); i++ {
		beside = beside || f.Warnings[i].Code == "part-beside"
	}
	switch k {
	case 0:
		return in == verdict.OutOfSpec, in == verdict.InSpec, nil
	case 1:
		return f != nil && f.Kind == p.Kind, f != nil && f.Kind != p.Kind, nil
	case 2:
		return in == verdict.InSpec && !beside, in == verdict.OutOfSpec || beside || code != "" && code != "part-doubtful", nil
	case 3:
		return code == "part-several" || beside, f != nil && !beside && in == verdict.InSpec, nil
	case 4:
		return code == "part-open", f != nil, nil
	}
	return code == "part-joined", f != nil, nil
}
