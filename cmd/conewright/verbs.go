package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"conewright/cmd/internal/settings"
)

// runVerb runs "job new" and the like.
func (cmd command) runVerb(c *console, args []string) (answer, error) {
	var names []string
	for _, v := range cmd.verbs {
		names = append(names, strings.TrimPrefix(v.name, cmd.name+" "))
	}
	follow := fmt.Sprintf("follow %s by one of: %s", cmd.name, strings.Join(names, ", "))
	if len(args) > 0 {
		for i, name := range names {
			if args[0] == name {
				return cmd.verbs[i].run(c, args[1:])
			}
		}
		if args[0] == "--help" || args[0] == "-h" {
			cmd.printVerbs(c.out)
			return done, nil
		}
		if near := settings.Nearest(args[0], names); near != "" {
			return done, wrongUse("did you mean "+cmd.name+" "+near+"?", "there is no command %q", cmd.name+" "+args[0])
		}
		return done, wrongUse(follow, "there is no command %q", cmd.name+" "+args[0])
	}
	return done, wrongUse(follow, "%s needs to know what to do", cmd.name)
}

// isVerb says whether a word is one of the commands below this one.
func (cmd command) isVerb(word string) bool {
	return slices.ContainsFunc(cmd.verbs, func(v command) bool { return v.name == cmd.name+" "+word })
}

// printVerbs explains a command that has others below it.
func (cmd command) printVerbs(w io.Writer) {
	fmt.Fprintf(w, "Usage: conewright %s %s\n\n%s\n\n", cmd.name, cmd.synopsis, strings.TrimSpace(cmd.about))
	for _, v := range cmd.verbs {
		fmt.Fprintf(w, "  %-16s %s\n", v.name, v.summary)
	}
	fmt.Fprint(w, "\nExamples:\n")
	for _, line := range strings.Split(strings.TrimSpace(cmd.examples), "\n") {
		fmt.Fprintf(w, "  %s\n", strings.TrimSpace(line))
	}
	fmt.Fprintf(w, "\nconewright %s %s --help explains one of them.\n", cmd.name, strings.TrimPrefix(cmd.verbs[0].name, cmd.name+" "))
}
