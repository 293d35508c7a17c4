package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/spf13/pflag"
)

// Every command explains itself: what it does, examples that use options which
// exist, and its options; the overview lists it.
func TestEveryCommandExplainsItself(t *testing.T) {
	var overview bytes.Buffer
	if code := run([]string{"--help"}, nil, &overview, &overview); code != 0 {
		t.Fatalf("exit code %d", code)
	}
	var all []command
	for _, cmd := range commands() {
		if !strings.Contains(overview.String(), "\n  "+cmd.name+" ") {
			t.Errorf("the overview does not list %s", cmd.name)
		}
		all = append(append(all, cmd), cmd.verbs...)
	}
	for _, cmd := range all {
		var help, errs bytes.Buffer
		if code := run(append(strings.Fields(cmd.name), "--help"), nil, &help, &errs); code != 0 || errs.Len() > 0 {
			t.Errorf("%s: exit code %d, %q", cmd.name, code, errs.String())
		}
		if cmd.summary == "" || !strings.Contains(help.String(), strings.TrimSpace(cmd.about)) {
			t.Errorf("%s is not explained", cmd.name)
		}
		for _, line := range strings.Split(help.String(), "\n") {
			if len(line) > 100 && !strings.HasPrefix(line, "  conewright ") && !strings.HasPrefix(line, "Exit codes") {
				t.Errorf("%s: a line of help has %d letters: %s", cmd.name, len(line), line)
			}
		}
		groups := newOptionGroups(cmd.name)
		if cmd.setup != nil {
			cmd.setup(groups)
		}
		words := strings.Join(strings.Fields(help.String()), " ")
		groups.all().VisitAll(func(f *pflag.Flag) {
			if _, usage := pflag.UnquoteUsage(f); len(usage) < 10 || !strings.Contains(words, strings.Join(strings.Fields(usage), " ")) {
				t.Errorf("%s: help does not say what --%s is", cmd.name, f.Name)
			}
		})
		examples := 0
		for _, line := range strings.Split(strings.TrimSpace(cmd.examples), "\n") {
			rest, ok := strings.CutPrefix(strings.TrimSpace(line), "conewright "+cmd.name)
			if !ok {
				t.Errorf("%s: the example %q is of something else", cmd.name, line)
				continue
			}
			examples++
			if cmd.verbs != nil {
				continue // of one of them, which has it too
			}
			groups := newOptionGroups(cmd.name)
			cmd.setup(groups)
			if err := groups.all().Parse(strings.Fields(rest)); err != nil {
				t.Errorf("%s: the example %q: %v", cmd.name, line, err)
			}
		}
		if examples == 0 {
			t.Errorf("%s has no example", cmd.name)
		}
	}
}
