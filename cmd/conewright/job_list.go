package main

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/report"
	"conewright/ts/param"
)

// mostListed is how many jobs a list shows unless told otherwise.
const mostListed = 50

var jobListCommand = command{
	name: "job list", synopsis: "[options]", summary: "the jobs, the newest first",
	about:    `Lists the jobs of the book, the newest first.`,
	examples: `conewright job list`,
	setup: func(g *optionGroups) action {
		return listing(g, func(args []string) (string, error) {
			if len(args) > 0 {
				return "", wrongUse("conewright job find "+strings.Join(args, " "), "the list takes no words")
			}
			return "", nil
		})
	},
}

var jobFindCommand = command{
	name: "job find", synopsis: "WORDS... [options]", summary: "jobs by customer, type, serial number or what was done",
	about:    `Lists the jobs that have all of the words in title, customer, contact, work, type or serial number.`,
	examples: `conewright job find brindle 0417`,
	setup: func(g *optionGroups) action {
		return listing(g, func(args []string) (string, error) {
			if len(args) == 0 {
				return "", wrongUse("conewright job find brindle", "it is not said what to look for")
			}
			return strings.Join(args, " "), nil
		})
	},
}

// listing is a list of the jobs that match a query.
func listing(g *optionGroups, query func(args []string) (string, error)) action {
	var o bookOption
	most := mostListed
	fs := g.group("List")
	fs.IntVar(&most, "most", mostListed, "list at most `N` jobs")
	o.define(fs)
	return func(c *console, args []string) (answer, error) {
		words, err := query(args)
		if err != nil {
			return done, err
		}
		return done, o.with(false, func(ctx context.Context, b *book.Book) error {
			jobs, err := b.Jobs(ctx, words, most)
			if err != nil {
				return err
			}
			if len(jobs) == 0 {
				_, err := fmt.Fprintln(c.out, "There is no such job.")
				return err
			}
			out, err := b.Outgoing(ctx)
			if err != nil {
				return err
			}
			t := report.Table{Columns: []report.Column{{Head: "job"}, {Head: "begun"}, {Head: "title"}, {Head: "customer"}, {Head: "drivers", Align: report.Right}, {Head: "last stage"}}}
			if out.Place != "" {
				t.Columns = append(t.Columns, report.Column{Head: "sent"})
				t.Note = fmt.Sprintf("Left to send to %s: %s.", out.Place, leftWords(out))
			}
			for _, j := range jobs {
				cells := []string{fmt.Sprintf("job:%d", j.Number), dateOf(j.Opened), j.Title, j.Customer, fmt.Sprint(j.Drivers), j.Last}
				if out.Place != "" {
					cells = append(cells, sentWords(out, j.Number))
				}
				t.Rows = append(t.Rows, report.Row{Cells: cells})
			}
			return list(c, "Jobs", t)
		})
	}
}

var jobHistoryCommand = command{
	name: "job history", synopsis: "SERIAL [options]", summary: "one driver over the years",
	about: `Lists every stage that the driver with this serial number has been through, in all jobs, and
how its resonance and its resistance have moved since the first one.`,
	examples: `conewright job history 0417`,
	setup: func(g *optionGroups) action {
		var o bookOption
		kind := ""
		fs := g.group("Driver")
		fs.StringVar(&kind, "type", "", "`NAME` of the type, where two types have the same numbers")
		o.define(fs)
		return func(c *console, args []string) (answer, error) {
			if len(args) != 1 || args[0] == "" {
				return done, wrongUse("conewright job history 0417", "one serial number is needed")
			}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error {
				var units []book.Unit
				err := b.EachUnit(ctx, book.Which{Serial: args[0], Type: kind}, func(u book.Unit) error { units = append(units, u); return nil })
				if err != nil {
					return err
				}
				if len(units) == 0 {
					_, err := fmt.Fprintf(c.out, "No driver with the serial number %s was measured.\n", args[0])
					return err
				}
				slices.SortStableFunc(units, func(a, b book.Unit) int { return a.Measured.Compare(b.Measured) })
				return list(c, "Serial number "+args[0], historyTable(units))
			})
		}
	},
}

// betweenSessions is how far a sound driver moves from one day to another, as relative
// standard deviations: the suspension rests and creeps, the coil is warm or cold. Common
// practice.
var betweenSessions = []struct {
	id  param.ID
	std float64
}{{param.Fs, 0.01}, {param.Re, 0.02}}

// historyTable lists the stages of one driver and what moved.
func historyTable(units []book.Unit) report.Table {
	t := report.Table{Columns: append([]report.Column{{Head: "measured"}, {Head: "stage"}, {Head: "type"}}, valueHeads()...)}
	for _, u := range units {
		t.Rows = append(t.Rows, report.Row{Cells: append([]string{dateOf(u.Measured), u.Ref.String(), u.Type}, valueCells(u.Values)...)})
	}
	first, last := units[0], units[len(units)-1]
	var moved []string
	for _, of := range betweenSessions {
		a, okA := first.Values[of.id]
		b, okB := last.Values[of.id]
		if len(units) < 2 || !okA || !okB {
			continue
		}
		ratio := b.Value / a.Value
		std := ratio * math.Hypot(math.Hypot(a.Std/a.Value, b.Std/b.Value), of.std)
		moved = append(moved, fmt.Sprintf("%s %+.1f %% (95 %%: %+.1f to %+.1f)", of.id, 100*(ratio-1), 100*(ratio-1-1.96*std), 100*(ratio-1+1.96*std)))
	}
	if moved != nil {
		t.Note = fmt.Sprintf("From the first to the last, %s: %s; how far a sound driver moves from day to day is allowed for.", span(last.Measured.Sub(first.Measured)), strings.Join(moved, ", "))
	}
	return t
}

// span writes how long something took.
func span(d time.Duration) string {
	days := d.Hours() / 24
	switch {
	case days < 2:
		return "within two days"
	case days < 730:
		return fmt.Sprintf("%.0f days", days)
	}
	return fmt.Sprintf("%.1f years", days/365.25)
}
