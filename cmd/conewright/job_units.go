package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"iter"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/dayfiles"
)

var jobUnitsCommand = command{
	name: "job units", synopsis: "DIR [options]", summary: "all results as Parquet, by day and station",
	about: `Writes the results of the whole book as tables for other programs and for "stats": a file for each
day and station, DIR/day=2026-11-27/station=3/units.parquet. Run again, it writes the files of those
days that are new or have changed, and says which. Days are those of UTC; the station is the one
that --station or the bench file named when the unit was measured.`,
	examples: `
conewright job units production
conewright job units production --from 2026-11-27`,
	setup: func(g *optionGroups) action {
		var o bookOption
		var days dayOptions
		fs := g.group("Units")
		days.define(fs)
		o.define(g.group("Book"))
		return func(c *console, args []string) (answer, error) {
			if len(args) != 1 {
				return done, wrongUse("conewright job units production", "one folder to write into is needed, %d given", len(args))
			}
			if err := days.finish(); err != nil {
				return done, err
			}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error {
				return writeUnits(ctx, c, b, args[0], book.Days{From: days.from, To: days.to})
			})
		}
	},
}

// stateWords say what became of a file.
var stateWords = map[dayfiles.State]string{dayfiles.New: "new", dayfiles.Changed: "written anew, the book has changed", dayfiles.Gone: "no longer in the book; the file is left as it is"}

func writeUnits(ctx context.Context, c *console, b *book.Book, folder string, days book.Days) error {
	units, files := map[dayfiles.State]int{}, map[dayfiles.State]int{}
	err := dayfiles.Write(folder, days, measuredUnits(ctx, b, days), func(w dayfiles.Written) error {
		units[w.State] += w.Units
		files[w.State]++
		if w.State == dayfiles.Same {
			return nil
		}
		_, err := fmt.Fprintf(c.out, "%s, station %s: %d units, %s\n", w.Day, cmp.Or(w.Station, "without a name"), w.Units, stateWords[w.State])
		return err
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.out, "%d files are new (%d units), %d written anew (%d), %d as they were (%d)\n",
		files[dayfiles.New], units[dayfiles.New], files[dayfiles.Changed], units[dayfiles.Changed], files[dayfiles.Same], units[dayfiles.Same])
	return err
}

// errEnough ends the reading of a book.
var errEnough = errors.New("enough")

// measuredUnits are the units of a book one by one; the last is an error if there was one.
func measuredUnits(ctx context.Context, b *book.Book, days book.Days) iter.Seq2[book.Measured, error] {
	return func(yield func(book.Measured, error) bool) {
		enough := false
		err := b.EachMeasured(ctx, days, func(u book.Measured) error {
			if enough = !yield(u, nil); enough {
				return errEnough
			}
			return nil
		})
		if err != nil && !enough {
			yield(book.Measured{}, err)
		}
	}
}
