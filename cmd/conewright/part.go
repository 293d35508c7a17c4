package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"conewright/cmd/internal/infile"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/networkfile"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/specsheet"
	"conewright/cmd/internal/wording"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/ts"
	"conewright/ts/lot"
	"conewright/ts/network"
	"conewright/ts/notice"
	"conewright/ts/part"
	"conewright/ts/verdict"

	"github.com/spf13/pflag"
)

var partCommand = command{
	name:     "part",
	synopsis: "FILE [FILE] [options]",
	summary:  "a capacitor, coil or resistor of the network",
	about: `Finds what a single part of a dividing network is, and its values: C, ESR and loss factor of a
capacitor, L, resistance and Q of a coil, R of a resistor. Three recordings of known things with
the same leads (--open, --short, --load) correct the whole bench, whatever its wiring; without
them the bench counts as for a driver. Two FILEs are the same part of two cabinets. With --before
and --after a new part is held against the old one, and with --network it says what the drivers get.
Take the part out of its circuit, or lift one end. Discharge capacitors. Nothing may be connected
to an amplifier in use or to the mains. Local codes and licensed practice come first.`,
	examples: `
conewright part c1.wav --open open.wav --short short.wav --load 100.0ohm=load.wav --nominal 8uF --tolerance 10%
conewright part c1-left.wav c1-right.wav --bench bench.toml --open open.wav --short short.wav --load 100.0ohm=load.wav --within 2%
conewright part --before c1-old.wav --after c1-new.wav --network speaker.toml --open open.wav --short short.wav --load 100.0ohm=load.wav`,
	verbs: []command{partBatchCommand, partDemoCommand},
	setup: func(g *optionGroups) action {
		var p partOptions
		var before, after, list, replaces string
		change := g.group("Old against new")
		change.StringVar(&before, "before", "", "`FILE` of the old part")
		change.StringVar(&after, "after", "", "`FILE` of the new part")
		change.StringVar(&list, "network", "", "TOML `FILE` with the parts of the network (docs/formats.md)")
		change.StringVar(&replaces, "replaces", "", "`NAME` of the part in it, where several may be meant")
		p.define(g)
		return func(c *console, args []string) (answer, error) {
			exchange := before != "" || after != ""
			switch {
			case exchange && (before == "" || after == "" || len(args) > 0):
				return done, wrongUse("conewright part --before old.wav --after new.wav", "an exchange needs one old and one new part")
			case !exchange && (list != "" || replaces != ""):
				return done, wrongUse("name the old and the new part with --before and --after", "a network is only used for an exchange")
			case !exchange && len(args) == 0:
				return done, wrongUse("conewright part c1.wav --open open.wav --short short.wav --load 100.0ohm=load.wav", "no file given")
			case len(args) > 2:
				return done, wrongUse("conewright part batch takes any number", "one part or the two of a pair, and %d files are given", len(args))
			}
			paths, sides := args, []string{"left", "right"}
			if exchange {
				paths, sides = []string{before, after}, []string{"before", "after"}
			}
			if len(paths) == 1 {
				sides = []string{""}
			}
			var net network.Network
			var more []inputs.File
			if list != "" {
				var err error
				if net, _, err = networkfile.Read(list); err != nil {
					return done, err
				}
				more = append(more, inputs.File{Path: list, Role: "the network"})
			}
			if err := p.open(paths, more...); err != nil {
				return done, err
			}
			defer p.close()
			var parts []report.PartSide
			for i, path := range paths {
				one, err := p.measure(path, sides[i])
				if err != nil {
					return done, err
				}
				p.at = one.Found.Frequency // the second at the frequency of the first
				parts = append(parts, one)
			}
			return p.answer(c, parts, exchange, net, replaces)
		}
	},
}

// partOptions are the known things, what the part should be, and the bench.
type partOptions struct {
	partKnown
	frequency quantityOption
	within    quantityOption
	sheet     specOption
	bench     benchOptions
	out       outputOptions

	shown   map[string]string // names of files by their paths, where they are others
	wanted  wording.Wanted    // by open
	spec    *verdict.Spec
	fixture *sweeps.Fixture
	files   []*infile.File
	seen    inputs.Contents
	inputs  []saved.Input
	at      float64  // Hz, 0: the usual one
	notes   []string // what was noticed of parts for the book
}

// partKnown are the known things that were recorded with the same leads, and what a part should be.
type partKnown struct {
	openFile, shortFile string
	load                resistorFile
	kind                network.Kind // noKind: not stated
	nominal             string
	tolerance           quantityOption
}

// noKind is a kind that was not stated.
const noKind = network.Driver

// defineIn defines the options, two groups, but for the kind.
func (k *partKnown) defineIn(known, should *pflag.FlagSet) {
	known.StringVar(&k.openFile, "open", "", "`FILE` with nothing between the lead ends")
	known.StringVar(&k.shortFile, "short", "", "`FILE` with the lead ends joined")
	known.Var(&k.load, "load", "a known film resistor; its tolerance as 100.0ohm+-0.1%, or by its digits")
	should.StringVar(&k.nominal, "nominal", "", "`VALUE` with its unit: 8uF, 0.5mH, 3.3ohm")
	k.tolerance = quantityOption{kind: quantity.Percent, lo: 1e-4, hi: 0.99}
	quantityVar(should, &k.tolerance, "tolerance", "10%", "of the nominal value")
	k.kind = noKind
}

// partKinds are what a part can be.
var partKinds = []network.Kind{network.Capacitor, network.Coil, network.Resistor}

func (p *partOptions) define(g *optionGroups) {
	should := g.group("What it should be")
	p.defineIn(g.group("Known things, with the same leads"), should)
	p.sheet.defineIn(should)
	p.within = quantityOption{kind: quantity.Percent, lo: 1e-4, hi: 1}
	quantityVar(should, &p.within, "within", "2%", "how much the two of a pair may differ")
	should.Var(wordOption[network.Kind]{&p.kind, partKinds}, "kind", "what the part is, where its curve leaves that open")
	should.Lookup("kind").DefValue = ""
	p.frequency = quantityOption{kind: quantity.Frequency, lo: 1, hi: 1e5}
	quantityVar(should, &p.frequency, "at", "", "frequency of the values; 100 Hz, 1 kHz or 10 kHz by its size if left out")
	p.bench.define(g)
	p.out.define(g)
}

// open checks the options and reads the known things; paths are the parts that will be measured.
func (p *partOptions) open(paths []string, others ...inputs.File) error {
	if err := p.bench.finish(); err != nil {
		return err
	}
	if err := p.out.finish(); err != nil {
		return err
	}
	reads := append(append(others, p.sheet.reads()...), p.bench.reads()...)
	for _, known := range []string{p.openFile, p.shortFile, p.load.path} {
		if known != "" {
			reads = append(reads, inputs.File{Path: known, Role: "a known thing"})
		}
	}
	if err := p.out.spare(freeFiles(paths), reads...); err != nil {
		return err
	}
	return p.prepare()
}

// prepare reads what the part should be and the known things; the bench must be finished.
func (p *partOptions) prepare() error {
	if err := p.limits(); err != nil {
		return err
	}
	p.at = p.frequency.value.SI
	terms := sweeps.Terms{LoadOhm: p.load.ohm, LoadStd: p.load.std}
	for _, t := range []struct {
		path, role string
		into       **bench.Recording
	}{{p.openFile, "open", &terms.Open}, {p.shortFile, "short", &terms.Short}, {p.load.path, "load", &terms.Load}} {
		if t.path == "" {
			continue
		}
		file, err := p.read(t.path, t.role)
		if err == nil {
			p.inputs = append(p.inputs, saved.Input{Path: p.name(t.path), SHA256: file.SHA256(), Side: t.role})
			*t.into, err = sweeps.ReadRecording(file, file.Size(), p.name(t.path))
		}
		if err != nil {
			p.close()
			return err
		}
	}
	var err error
	if p.fixture, err = sweeps.NewFixture(terms, p.bench.reading().Bench); err != nil {
		p.close()
	}
	return err
}

// limits reads what the part should be.
func (p *partOptions) limits() error {
	spec, err := p.sheet.needed(specsheet.Part)
	if err != nil {
		return err
	}
	p.spec, p.wanted = spec, wording.Wanted{}
	if p.nominal == "" {
		return nil
	}
	if spec != nil {
		return wrongUse("give one of the two", "both --nominal and --spec are given")
	}
	for _, k := range []struct {
		kind network.Kind
		unit quantity.Kind
	}{{network.Capacitor, quantity.Capacitance}, {network.Coil, quantity.Inductance}, {network.Resistor, quantity.Resistance}} {
		v, err := quantity.Parse(p.nominal, k.unit)
		if err != nil || v.Bare || !(v.SI > 0) {
			continue
		}
		tolerance := p.tolerance.value.SI
		p.wanted = wording.Wanted{Given: true, Kind: k.kind, Text: p.nominal}
		p.spec = &verdict.Spec{Name: p.nominal, Confidence: 0.95, Temperature: 293.15,
			Limits: []verdict.Limit{{ID: part.Main(k.kind), Lo: v.SI * (1 - tolerance), Hi: v.SI * (1 + tolerance)}}}
		return nil
	}
	return wrongUse("write the value with its unit: 8uF, 0.5mH or 3.3ohm", "--nominal: it is not clear what %q is", p.nominal)
}

// read opens a file once.
func (p *partOptions) read(path, role string) (*infile.File, error) {
	file, err := infile.Open(path)
	if err != nil {
		return nil, err
	}
	p.files = append(p.files, file)
	return file, p.seen.Add(inputs.File{Path: p.name(path), Role: role, Content: []string{file.SHA256()}})
}

// name is how a file is called.
func (p *partOptions) name(path string) string { return cmp.Or(p.shown[path], path) }

// settings is how it was measured, without what matters for a cone only.
func (p *partOptions) settings() saved.Settings {
	var kept saved.Settings
	for _, s := range p.bench.record() {
		if !slices.Contains([]string{"mounting", "pressure", "humidity", "diameter", "sd", "dc", "dc-tolerance"}, s.Name) {
			kept = append(kept, s)
		}
	}
	if p.load.path != "" {
		kept = append(kept, saved.Setting{Name: "load", Value: fmt.Sprintf("%.5g ohm, known to %.2g ohm", p.load.ohm, p.load.std)})
	}
	return kept
}

func (p *partOptions) close() {
	for _, f := range p.files {
		f.Close()
	}
}

// measure measures and judges one part.
func (p *partOptions) measure(path, side string) (report.PartSide, error) {
	file, err := p.read(path, side)
	if err != nil {
		return report.PartSide{}, err
	}
	in := saved.Input{Path: p.name(path), SHA256: file.SHA256(), Side: side}
	p.inputs = append(p.inputs, in)
	z, err := p.fixture.Read(file, file.Size(), in.Path, p.bench.columns)
	if err != nil {
		return report.PartSide{}, err
	}
	opt := part.Options{Kind: p.kind, Stated: p.kind != noKind, Frequency: p.at}
	found, err := part.Fit(z, opt)
	var n *notice.Notice
	if errors.As(err, &n) && n.Code == "part-doubtful" && p.wanted.Given && (p.wanted.Kind == network.Resistor || p.wanted.Kind.String() == n.Text("kind")) {
		// What it should be is one of the two that it may be.
		found, err = part.Fit(z, part.Options{Kind: p.wanted.Kind, Stated: true, Frequency: p.at})
	}
	if err != nil {
		return report.PartSide{}, err
	}
	one := report.PartSide{Input: in, Found: found}
	if p.spec != nil && !p.wanted.Other(found.Kind) {
		if one.Checked, err = ts.Check(found.Parameters, *p.spec); err != nil {
			return report.PartSide{}, err
		}
		one.Checked.Next = nil // they are steps for a driver
	}
	return one, nil
}

// pairLimit is what the two of a pair are held to.
func (p *partOptions) pairLimit(kind network.Kind) lot.PairLimit {
	return lot.PairLimit{ID: part.Main(kind), Percent: 100 * p.within.value.SI}
}

// answer reports one part, a pair or an exchange.
func (p *partOptions) answer(c *console, parts []report.PartSide, exchange bool, net network.Network, replaces string) (answer, error) {
	job := report.Job{Version: version(), Inputs: p.inputs, Spec: p.sheet.input, All: true}
	settings := p.settings()
	switch {
	case exchange:
		x, err := part.Exchanged(parts[0].Found, parts[1].Found, net, replaces)
		if err != nil {
			return done, err
		}
		return done, p.out.write(c, report.PartExchange(job, parts[0], parts[1], settings, x))
	case len(parts) == 2:
		if a, b := parts[0].Found.Kind, parts[1].Found.Kind; a != b {
			return done, wrongUse("name the same part of the two cabinets", "%s is a %s and %s a %s", parts[0].Input.Path, a, parts[1].Input.Path, b)
		}
		paired, err := lot.PairParts(parts[0].Found.Parameters, parts[1].Found.Parameters, p.pairLimit(parts[0].Found.Kind))
		if err != nil {
			return done, err
		}
		return answerTo(paired.Verdict), p.out.write(c, report.PartPair(job, [2]report.PartSide(parts), settings, paired))
	}
	r := report.Part(job, parts[0], settings, p.wanted)
	a := done
	if r.Judged {
		a = answerTo(r.Verdict)
	}
	return a, p.out.write(c, r)
}
