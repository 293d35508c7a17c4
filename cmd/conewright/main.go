// Conewright tells whether a repaired loudspeaker driver is right again.
//
// Each subcommand has a file of its own and reads in the same order: read the
// input, turn it into impedances, let package ts fit and judge, report.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"syscall"
	"time"

	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/printable"
	"conewright/cmd/internal/savefile"
	"conewright/cmd/internal/settings"
	"conewright/cmd/internal/wording"
	"conewright/ts/verdict"

	"github.com/spf13/pflag"
)

// usualMemory is the memory, in bytes, that a command tries to stay below. Long
// recordings are read as a stream; what a pass over one leaves behind is collected
// before the next when there is much of it.
const usualMemory = 72 << 20

func main() {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(usualMemory)
	}
	go endWhenAsked(graceOf(os.Args[1:]))
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// usualGrace is how long a command has to end in order once it is asked to.
const usualGrace = 500 * time.Millisecond

// graceOf is the one of the command that the arguments name.
func graceOf(args []string) time.Duration {
	for _, cmd := range commands() {
		if len(args) > 0 && cmd.name == args[0] && cmd.grace > 0 {
			return cmd.grace
		}
	}
	return usualGrace
}

// endWhenAsked ends the program on Ctrl-C or a request to terminate. A command that stores
// its work does so by itself within the grace; a second request does not wait for it.
func endWhenAsked(grace time.Duration) {
	asked := make(chan os.Signal, 2)
	signal.Notify(asked, os.Interrupt, syscall.SIGTERM)
	<-asked
	select {
	case <-time.After(grace):
	case <-asked:
	}
	savefile.RemoveUnfinished()
	printError(os.Stderr, &askedToEnd{})
	os.Exit(1)
}

// askedToEnd is the end of a command that was asked to end.
type askedToEnd struct{}

func (*askedToEnd) Error() string { return "interrupted" }

// Hint says how to go on.
func (*askedToEnd) Hint() string {
	return "nothing is half-written; repeat the command, a batch with -o FILE with --resume"
}

// console is where a command reads and writes.
type console struct {
	in       io.Reader
	out, err io.Writer // names from files are made printable on their way
	screen   io.Writer // where err goes, for what moves on the screen
}

// answer is what a command has to say through its exit code.
type answer uint8

const (
	done answer = iota // and in spec, where a verdict was asked for
	outOfSpec
	undecided
)

// answerTo turns a verdict into an answer.
func answerTo(v verdict.Verdict) answer {
	switch v {
	case verdict.InSpec:
		return done
	case verdict.OutOfSpec:
		return outOfSpec
	}
	return undecided
}

// exitCode is the one place where exit codes are decided; docs/exit-codes.md
// has the same table.
func exitCode(a answer, err error) int {
	var wrong *usageError
	var mixed *inputs.Error
	switch {
	case errors.As(err, &wrong) || errors.As(err, &mixed):
		return 2
	case err != nil:
		return 1
	case a == outOfSpec:
		return 3
	case a == undecided:
		return 4
	}
	return 0
}

// command is one subcommand.
type command struct {
	name     string
	synopsis string // what follows the name: "FILE... [options]"
	summary  string // one line for the list of commands
	about    string // a paragraph or two
	examples string // lines that begin with "conewright"
	// setup defines the options and returns what is to be done once they are
	// parsed.
	setup func(options *optionGroups) action
	// verbs are the commands below this one, "job new" and so on; one that does something by itself as well has a setup.
	verbs []command
	grace time.Duration // to end in order once it is asked to; 0: the usual one
}

// action runs a command with the arguments that are no options.
type action func(c *console, args []string) (answer, error)

// commands returns all subcommands in the order of their use.
func commands() []command {
	return append([]command{demoCommand, benchCommand, measureCommand, signalCommand, calibrateCommand, repeatCommand, fitCommand, checkCommand, compareCommand, pairCommand, batchCommand, partCommand, cabinetCommand, ringCommand, lessonCommand, jobCommand, statsCommand, specCommand}, workCommands()...)
}

// run is the whole program; it returns the exit code.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	out, complaints := printable.NewWriter(stdout), printable.NewWriter(stderr)
	c := &console{in: stdin, out: out, err: complaints, screen: stderr}
	a, err := dispatch(c, args)
	if err == nil && out.Err() != nil {
		err = fmt.Errorf("the result could not be written: %w", out.Err())
	}
	if err != nil {
		printError(complaints, err)
	}
	return exitCode(a, err)
}

// dispatch finds the subcommand and runs it.
func dispatch(c *console, args []string) (answer, error) {
	if len(args) == 0 {
		printOverview(c.err)
		return done, &usageError{msg: "no command given", advice: "begin with: conewright demo"}
	}
	name, rest := args[0], args[1:]
	switch name {
	case "--version", "version":
		fmt.Fprintln(c.out, "conewright", version())
		return done, nil
	case "--help", "-h":
		printOverview(c.out)
		return done, nil
	case "help":
		if len(rest) == 0 {
			printOverview(c.out)
			return done, nil
		}
		name, rest = rest[0], append(rest[1:], "--help")
	}
	var names []string
	for _, cmd := range commands() {
		if cmd.name == name {
			return cmd.run(c, rest)
		}
		names = append(names, cmd.name)
	}
	if strings.HasPrefix(name, "-") {
		return done, wrongUse("the command comes first: conewright fit "+name+" ...", "there is no option %s before the command", name)
	}
	if near := settings.Nearest(name, names); near != "" {
		return done, wrongUse("did you mean "+near+"?", "there is no command %q", name)
	}
	return done, wrongUse("the commands are "+strings.Join(names, ", "), "there is no command %q", name)
}

// run parses the options of one subcommand and carries it out.
func (cmd command) run(c *console, args []string) (answer, error) {
	if cmd.verbs != nil && (cmd.setup == nil || len(args) > 0 && cmd.isVerb(args[0])) {
		return cmd.runVerb(c, args)
	}
	groups := newOptionGroups(cmd.name)
	act := cmd.setup(groups)
	all := groups.all()
	if err := all.Parse(args); err != nil {
		if errors.Is(err, pflag.ErrHelp) {
			cmd.printHelp(c.out, groups)
			return done, nil
		}
		return done, parseError(cmd.name, all, err)
	}
	return act(c, all.Args())
}

// usageError is wrong use of the command line.
type usageError struct {
	msg    string
	advice string
	err    error
}

func (e *usageError) Error() string { return e.msg }
func (e *usageError) Unwrap() error { return e.err }

// Hint says what to type instead.
func (e *usageError) Hint() string { return e.advice }

// wrongUse makes a usageError.
func wrongUse(advice, format string, args ...any) error {
	return &usageError{msg: fmt.Sprintf(format, args...), advice: advice}
}

// parseError says what is wrong with an option and what to type.
func parseError(name string, options *pflag.FlagSet, err error) error {
	help := "conewright " + name + " --help lists the options"
	var missing *pflag.NotExistError
	if errors.As(err, &missing) {
		var known []string
		options.VisitAll(func(f *pflag.Flag) { known = append(known, f.Name) })
		if near := settings.Nearest(missing.GetSpecifiedName(), known); near != "" {
			help = "did you mean --" + near + "? " + help
		}
	}
	var value *pflag.InvalidValueError
	if errors.As(err, &value) {
		if message, hint := wording.Error(value.Unwrap()); hint != "" {
			return &usageError{fmt.Sprintf("--%s: %s", value.GetFlag().Name, message), hint, err}
		}
	}
	return &usageError{err.Error(), help, err}
}

// printError writes what is wrong and what to do.
func printError(w io.Writer, err error) {
	message, hint := wording.Error(err)
	fmt.Fprintf(w, "conewright: %s\n", printable.Line(message))
	if hint != "" {
		fmt.Fprintf(w, "hint: %s\n", printable.Line(hint))
	}
}

// version is the version of the module, with the revision of an own build.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := strings.Trim(info.Main.Version, "()")
	if v == "" || v == "devel" {
		v = "devel"
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" && len(s.Value) >= 12 {
				v += "-" + s.Value[:12]
			}
		}
	}
	return v
}
