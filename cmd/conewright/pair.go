package main

import (
	"fmt"
	"slices"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/specsheet"
	"conewright/ts"
	"conewright/ts/lot"
)

var pairCommand = command{
	name:     "pair",
	synopsis: "LEFT RIGHT [options]",
	summary:  "do two drivers match",
	about: `Judges whether two drivers match, per quantity and together, and says what would bring them
closer. Errors that both measurements share, such as the resistor's, cancel, so a pair is
judged more sharply than each driver alone. The limits are those of --within, else those of
the table [pair] of the spec sheet, else the usual ones: Re 5 %, Fs 5 %, Qts 10 %.`,
	examples: `
conewright pair left.wav right.wav --resistor 10.02
conewright pair left.wav right.wav --left-mass 20.0g=left20.wav --right-mass 20.0g=right20.wav --within Fs=4% --within Qts=8% --bench bench.toml
conewright pair left.json right.json --spec larch.toml --report pair.html
conewright pair job:12/left job:12/right`,
	setup: func(g *optionGroups) action {
		var loadsLeft, loadsRight []loadFile
		var within []lot.PairLimit
		var bench benchOptions
		var sheet specOption
		var out outputOptions
		in := g.group("Sweeps")
		loadOptions(in, &loadsLeft, "left-", "of the left one ")
		loadOptions(in, &loadsRight, "right-", "of the right one ")
		var sameSession bool
		in.BoolVar(&sameSession, "same-session", false, "both were measured in one session")
		limits := g.group("Limits")
		limits.Var(pairLimitOption{&within}, "within", "how much the two may differ in a quantity (repeatable)")
		sheet.defineIn(limits)
		bench.define(g)
		out.define(g)
		return func(c *console, args []string) (answer, error) {
			if len(args) == 1 && isRef(freeFiles(args)) {
				sides, err := bench.bothSides(args[0])
				if err != nil {
					return done, err
				}
				args = sides
			}
			if len(args) != 2 {
				return done, wrongUse("conewright pair left.wav right.wav", "a pair needs two files, %d given", len(args))
			}
			if err := bench.finish(); err != nil {
				return done, err
			}
			if err := out.finish(); err != nil {
				return done, err
			}
			from, err := bench.side(append(freeFiles(args[:1]), loadsLeft...), book.Driver.After)
			if err != nil {
				return done, err
			}
			to, err := bench.side(append(freeFiles(args[1:]), loadsRight...), book.Driver.After)
			if err != nil {
				return done, err
			}
			if err := out.spare(slices.Concat(from.files, to.files), append(sheet.reads(), bench.reads()...)...); err != nil {
				return done, err
			}
			sheet.orOf(from)
			spec, err := sheet.read()
			if err != nil {
				return done, err
			}
			var seen inputs.Contents
			left, inputsLeft, err := fitSide(from.files, from.bench, "left", &seen)
			if err != nil {
				return done, err
			}
			right, inputsRight, err := fitSide(to.files, to.bench, "right", &seen)
			if err != nil {
				return done, err
			}
			sides := []report.Side{left, right}
			apart := report.SeparateBenches(sides)
			by := lot.PairOptions{Limits: sheet.pair, SameSession: sameSession, Direct: report.DirectBetween(left, right)}
			if within != nil {
				by.Limits = within
			}
			if spec != nil {
				by.Confidence = spec.Confidence
			}
			paired, err := ts.Pair(sides[0].Parameters, sides[1].Parameters, by)
			if err != nil {
				return done, err
			}
			paired.Warnings = append(paired.Warnings, apart...)
			job := report.Job{Version: version(), Inputs: append(inputsLeft, inputsRight...), Spec: sheet.input, All: out.all}
			return answerTo(paired.Verdict), out.write(c, report.Pair(job, sides, paired))
		}
	},
}

// pairLimitOption collects "Fs=5%".
type pairLimitOption struct{ limits *[]lot.PairLimit }

// Set adds one limit.
func (o pairLimitOption) Set(text string) error {
	symbol, percent, ok := strings.Cut(text, "=")
	if !ok {
		return &quantity.Error{Msg: fmt.Sprintf("%q does not name a quantity and its limit", text), Advice: "write it as Fs=5%"}
	}
	limit, err := specsheet.PairLimit(symbol, percent)
	if err != nil {
		return err
	}
	*o.limits = append(*o.limits, limit)
	return nil
}

// String is empty: the option has no default.
func (o pairLimitOption) String() string { return "" }

// Type shows the form in help.
func (o pairLimitOption) Type() string { return "Fs=5%" }
