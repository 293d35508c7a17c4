package main

import (
	"fmt"
	"slices"
	"strings"

	"conewright/cmd/internal/quantity"

	"github.com/spf13/pflag"
)

// optionGroups are the options of one command, in groups as help shows them.
type optionGroups struct {
	command string
	list    []*pflag.FlagSet
}

func newOptionGroups(command string) *optionGroups {
	return &optionGroups{command: command}
}

// group begins a new group with the given title.
func (g *optionGroups) group(title string) *pflag.FlagSet {
	fs := pflag.NewFlagSet(title, pflag.ContinueOnError)
	fs.SortFlags = false
	g.list = append(g.list, fs)
	return fs
}

// all returns the options of all groups in one set.
func (g *optionGroups) all() *pflag.FlagSet {
	all := pflag.NewFlagSet("conewright "+g.command, pflag.ContinueOnError)
	all.SortFlags = false
	all.Usage = func() {}
	for _, fs := range g.list {
		all.AddFlagSet(fs)
	}
	return all
}

// quantityOption is an option with a unit and with bounds.
type quantityOption struct {
	kind   quantity.Kind
	lo, hi float64 // SI, both included
	// bareLo and bareHi are the bounds of a number without a unit, where a slip is likely:
	// outside of them the unit must be written. Zero: no such bound.
	bareLo, bareHi float64
	slip           string // what may have been meant, "%s" for the number
	value          quantity.Value
	given          bool
}

// quantityVar defines an option of the given kind; preset is written like the
// user would, or empty.
func quantityVar(fs *pflag.FlagSet, o *quantityOption, name, preset, usage string) {
	if preset != "" {
		if err := o.Set(preset); err != nil {
			panic("conewright: preset of --" + name + ": " + err.Error())
		}
		o.given = false
	}
	fs.Var(o, name, usage)
}

// Set reads the option.
func (o *quantityOption) Set(text string) error {
	v, err := quantity.Parse(text, o.kind)
	if err != nil {
		return err
	}
	if v.SI < o.lo || v.SI > o.hi {
		return &quantity.Error{
			Msg:    fmt.Sprintf("%q is not a sensible value here", text),
			Advice: fmt.Sprintf("it must lie from %s to %s; check the unit", o.kind.Format(o.lo), o.kind.Format(o.hi))}
	}
	if v.Bare && (v.SI < o.bareLo || o.bareHi > 0 && v.SI > o.bareHi) {
		return &quantity.Error{
			Msg:    fmt.Sprintf("%s would be %s, which is unusual here", text, o.kind.Format(v.SI)),
			Advice: "write the unit: " + strings.ReplaceAll(o.slip, "%s", v.Text)}
	}
	o.value, o.given = v, true
	return nil
}

// String returns the option as it was written.
func (o *quantityOption) String() string { return o.value.Text }

// Type names the option's value in help.
func (o *quantityOption) Type() string {
	if unit := o.kind.Units[0].Name; unit != "" {
		return unit
	}
	return "number"
}

// wordOption is an option that takes one of a few words.
type wordOption[T fmt.Stringer] struct {
	value   *T
	choices []T
}

// Set reads the option.
func (o wordOption[T]) Set(text string) error {
	i := slices.IndexFunc(o.choices, func(c T) bool { return c.String() == text })
	if i < 0 {
		return &quantity.Error{Msg: fmt.Sprintf("%q is not one of the words for it", text), Advice: "write " + strings.Join(o.words(), " or ")}
	}
	*o.value = o.choices[i]
	return nil
}

func (o wordOption[T]) words() []string {
	var words []string
	for _, c := range o.choices {
		words = append(words, c.String())
	}
	return words
}

// String returns the word.
func (o wordOption[T]) String() string {
	if o.value == nil {
		return ""
	}
	return (*o.value).String()
}

// Type shows the words in help.
func (o wordOption[T]) Type() string { return strings.Join(o.words(), "|") }
