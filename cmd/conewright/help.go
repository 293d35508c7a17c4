package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"
)

// printOverview lists the commands.
func printOverview(w io.Writer) {
	fmt.Fprint(w, `Conewright tells whether a repaired loudspeaker driver is right again: it reads impedance
sweeps, finds the driver's parameters with their uncertainty, compares before with after and
both with a spec sheet, and says what changed and why.

Usage: conewright COMMAND [options]

`)
	for _, cmd := range commands() {
		fmt.Fprintf(w, "  %-10s %s\n", cmd.name, cmd.summary)
	}
	fmt.Fprint(w, `
conewright COMMAND --help explains a command; conewright --version names the version.
Begin with: conewright demo
`)
}

// printHelp explains one command.
func (cmd command) printHelp(w io.Writer, groups *optionGroups) {
	fmt.Fprintf(w, "Usage: conewright %s %s\n\n%s\n\nExamples:\n", cmd.name, cmd.synopsis, strings.TrimSpace(cmd.about))
	for _, line := range strings.Split(strings.TrimSpace(cmd.examples), "\n") {
		fmt.Fprintf(w, "  %s\n", strings.TrimSpace(line))
	}
	for _, v := range cmd.verbs {
		fmt.Fprintf(w, "\nconewright %s --help: %s\n", v.name, v.summary)
	}
	for _, g := range groups.list {
		if g.HasAvailableFlags() {
			fmt.Fprintf(w, "\n%s:\n", g.Name())
			printOptions(w, g)
		}
	}
	fmt.Fprint(w, "\nExit codes: 0 done (in spec, where a verdict was asked for), 1 failed, 2 wrong use, 3 out of spec, 4 undecided.\n")
}

// printOptions lists the options of a group: name and value, then what it is,
// wrapped beside it.
func printOptions(w io.Writer, g *pflag.FlagSet) {
	const indent, width = 34, 100
	g.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		value, usage := pflag.UnquoteUsage(f)
		name := "    --" + f.Name
		if f.Shorthand != "" {
			name = "-" + f.Shorthand + ", --" + f.Name
		}
		if f.Value.Type() != "bool" {
			name += " " + value
		}
		if d := f.DefValue; d != "" && d != "false" && d != "[]" {
			usage += " (default " + d + ")"
		}
		line := "  " + name
		if len(line) > indent-2 {
			fmt.Fprintln(w, line)
			line = ""
		}
		line += strings.Repeat(" ", indent-len(line))
		for _, word := range strings.Fields(usage) {
			if len(line)+1+len(word) > width && strings.TrimSpace(line) != "" {
				fmt.Fprintln(w, strings.TrimRight(line, " "))
				line = strings.Repeat(" ", indent)
			}
			line += word + " "
		}
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	})
}
