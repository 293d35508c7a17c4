package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/wording"
	"conewright/ts/notice"
)

var jobSendCommand = command{
	name: "job send", synopsis: "[--to BOOK] [options]", summary: "send a book in a folder to one on a server",
	about: `Sends what has changed since the last time to another book: jobs, sweeps with their raw files,
results. A bench works in its folder, with the network or without, and sends when the server can
be reached; that may be interrupted and repeated as often as you like: nothing is sent twice,
nothing is left out, and the order stays. Jobs get numbers of their own there; "job list" shows
them, and what is still to be sent.`,
	examples: `
conewright job send --to postgres://bench-3@db.example/conewright
conewright job send --every 1m`,
	setup: func(g *optionGroups) action {
		var o bookOption
		var s sending
		fs := g.group("Sending")
		fs.StringVar(&s.to, "to", "", "the other `BOOK`, an address or a folder; from then on it is known")
		fs.BoolVar(&s.all, "all", false, "send all that the other book does not have, also what it had: after it was restored from a backup, or to bring back what was deleted there")
		fs.DurationVar(&s.every, "every", 0, "go on until Ctrl-C: send what is new, or what did not get through, each `TIME`")
		o.define(g.group("Book"))
		return func(c *console, args []string) (answer, error) {
			switch {
			case len(args) > 0:
				return done, wrongUse("conewright job send --to BOOK sends the whole book", "it is not clear what %s is", args[0])
			case s.every != 0 && s.every < time.Second:
				return done, wrongUse("--every 1m looks once a minute", "--every %s is too often", s.every)
			}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error { return s.run(ctx, c, b) })
		}
	},
}

// sending is one run of the command.
type sending struct {
	to    string
	all   bool
	every time.Duration
	told  map[string]bool // what was said of steps that were refused: once is enough
}

func (s *sending) run(ctx context.Context, c *console, b *book.Book) error {
	s.told = map[string]bool{}
	if s.every == 0 {
		return s.once(ctx, c, b)
	}
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	for {
		err := s.once(ctx, c, b)
		var n *notice.Notice
		switch {
		case ctx.Err() != nil:
			return nil
		case err == nil:
			s.all, s.told = false, map[string]bool{}
		case !errors.As(err, &n):
			return err
		default:
			message, hint := wording.Error(err)
			s.tell(c, message+"; "+hint)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(s.every):
		}
	}
}

// tell says a line, unless it was said before.
func (s *sending) tell(c *console, line string) {
	if !s.told[line] {
		s.told[line] = true
		fmt.Fprintln(c.err, line)
	}
}

// once sends what there is.
func (s *sending) once(ctx context.Context, c *console, b *book.Book) error {
	before, err := b.Outgoing(ctx)
	if err != nil {
		return err
	}
	if s.to == "" && before.Place == "" {
		return notice.New("send-nowhere", nil)
	}
	place, err := book.Place(cmp.Or(s.to, before.Place))
	if err != nil {
		return err
	}
	to, err := openBook(place, place == before.Place)
	if err != nil {
		return err
	}
	defer to.Close()
	var jobs, stages, refused int
	err = b.Send(ctx, to, s.all, func(step book.Sent) {
		s.all = false // what the other book has is forgotten by now, and is not to be again in the next round
		switch {
		case step.Err != nil:
			refused++
			why, hint := wording.Error(step.Err)
			s.tell(c, fmt.Sprintf("%s is not sent: %s; %s", step.Ref, why, hint))
		case !step.New:
		case step.Ref.Side == "":
			jobs++
			fmt.Fprintf(c.out, "%s is job:%d there\n", step.Ref, step.There)
		default:
			stages++
		}
	})
	after, left := b.Outgoing(ctx)
	if left != nil {
		return errors.Join(err, left)
	}
	if jobs+stages > 0 || err == nil && s.every == 0 {
		fmt.Fprintf(c.out, "%s sent to %s; %s left to send\n", stepsWords(jobs, stages), place, leftWords(after))
	}
	if err == nil && refused > 0 {
		return notice.New("send-refused", notice.Facts{"steps": refused})
	}
	return err
}

// stepsWords counts jobs and stages.
func stepsWords(jobs, stages int) string {
	var words []string
	switch {
	case jobs == 1:
		words = append(words, "1 job")
	case jobs > 1:
		words = append(words, fmt.Sprintf("%d jobs", jobs))
	}
	if stages > 0 {
		words = append(words, stagesWords(stages))
	}
	return cmp.Or(strings.Join(words, " and "), "nothing")
}

// leftWords counts what is still to be sent.
func leftWords(o book.Outgoing) string {
	stages := 0
	for _, n := range o.Stages {
		stages += n
	}
	return stepsWords(len(o.Jobs), stages)
}

// sentWords says how far the sending of one job is.
func sentWords(o book.Outgoing, number int) string {
	var words []string
	if n := o.There[number]; n > 0 {
		words = append(words, fmt.Sprintf("job:%d", n))
	}
	switch {
	case o.Stages[number] > 0:
		words = append(words, stagesWords(o.Stages[number])+" to send")
	case o.Jobs[number]:
		words = append(words, "to send")
	}
	return strings.Join(words, ", ")
}
