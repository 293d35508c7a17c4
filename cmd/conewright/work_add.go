//go:build work

package main

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/work"

	"github.com/spf13/pflag"
)

var workAddCommand = command{
	name: "work add", synopsis: "JOB DIR|FILES...|MANIFEST [options]", summary: "put many units into a job, to be computed",
	about: `Copies the sweeps of many units into a job of the book, as drivers in the order of the list, and has workers
compute them. Units are found as "batch" finds them; the columns serial, operator and station of a manifest are kept,
where they say something in place of what the options say. What is in the job already is left as it is, so an interrupted run is continued with the same command.`,
	examples: `
conewright job new "Lot 7" --book postgres://hand@db.example/conewright
conewright work add job:7 lot7.csv --spec larch.toml --bench bench.toml --book postgres://hand@db.example/conewright`,
	setup: func(g *optionGroups) action {
		var w workAdd
		fs := g.group("Units")
		fs.StringVar(&w.stage, "stage", book.AsReceived, "`STAGE` at which they were measured")
		fs.StringVar(&w.kind, "type", "", "`NAME` of the type of the drivers")
		fs.StringVar(&w.operator, "operator", userName(), "`NAME` of who measured")
		w.sheet.define(g)
		w.bench.define(g)
		return func(c *console, args []string) (answer, error) {
			const example = "conewright work add job:7 lot7.csv"
			if len(args) < 2 {
				return done, wrongUse(example, "a job and its units are needed")
			}
			ref, err := oneRef(args[:1], jobPart, example)
			if err != nil {
				return done, err
			}
			o := bookOption{w.bench.book}
			return done, o.withQueue(func(ctx context.Context, b *book.Book, q *work.Queue) error {
				return w.run(ctx, c, b, q, ref, args[1:])
			})
		}
	},
}

// workAdd is one run of the command.
type workAdd struct {
	stage, kind, operator string
	sheet                 specOption
	bench                 benchOptions
}

// addedAtOnce is how many units are added in one transaction.
const addedAtOnce = 500

func (w *workAdd) run(ctx context.Context, c *console, b *book.Book, q *work.Queue, ref book.Ref, args []string) error {
	if w.stage == book.Parts {
		return wrongUse("conewright job add job:7/left/parts c1.wav --nominal 8uF", "the stage parts is for parts of a network, and units are drivers")
	}
	if err := w.bench.finish(); err != nil {
		return err
	}
	if _, err := w.sheet.read(); err != nil {
		return err
	}
	units, err := findUnits(args)
	if err != nil {
		return err
	}
	there := map[string]string{} // content by driver
	err = b.EachBasis(ctx, book.Ref{Job: ref.Job}, "", func(s book.Basis) error {
		if s.Ref.Stage == w.stage {
			there[s.Ref.Side] = s.Content
		}
		if w.sheet.path != "" && s.Sheet != w.sheet.input.SHA256 {
			return wrongUse("leave --spec out; conewright job set names another sheet and judges what is there by it", "%s has another sheet", s.Ref)
		}
		return nil
	})
	if err != nil {
		return err
	}
	added := 0
	seen := map[string]string{} // unit by content
	for some := range slices.Chunk(units, addedAtOnce) {
		var additions []book.Addition
		for _, u := range some {
			a, err := w.addition(ref, u)
			if err != nil {
				return err
			}
			content := book.ContentOf(a.Sweeps)
			if first, twice := seen[content]; twice {
				return wrongUse("name each recording once", "the units %q and %q hold the same data", first, u.name)
			}
			seen[content] = u.name
			switch have, ok := there[u.name]; {
			case !ok:
				additions = append(additions, a)
			case have != content:
				return wrongUse("choose another job, or another stage with --stage", "%s is in the book already, with other sweeps", a.Ref)
			}
		}
		if err := b.AddAll(ctx, additions); err != nil {
			return err
		}
		added += len(additions)
	}
	queued, _, err := queueStages(ctx, b, q, book.Ref{Job: ref.Job, Stage: w.stage}, "", func(s book.Basis) bool { return seen[s.Content] == s.Ref.Side })
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(c.out, "%d of %d units added to job:%d, %s to be computed\n", added, len(units), ref.Job, stagesWords(queued))
	return err
}

// addition is a unit as it is added to the book, without a result.
func (w *workAdd) addition(ref book.Ref, u unit) (a book.Addition, err error) {
	if a.Ref, err = book.ParseRef(fmt.Sprintf("job:%d/%s/%s", ref.Job, u.name, w.stage)); err != nil {
		return a, err
	}
	if a.Sweeps, err = newSweeps(u.files, "", cmp.Or(u.about.Get("operator"), w.operator)); err != nil {
		return a, err
	}
	if err := w.bench.into(&a); err != nil {
		return a, err
	}
	var own saved.Settings
	if u.dc != nil {
		own = append(own, saved.Setting{Name: "dc", Value: u.dc.Text}, saved.Setting{Name: "dc-tolerance", Value: w.bench.dcTol.String()})
	}
	if station := u.about.Get(book.StationSetting); station != "" {
		if !book.IsName(station) {
			return a, fmt.Errorf("the unit %s: %w", u.name, noStation(station))
		}
		own = append(own, saved.Setting{Name: book.StationSetting, Value: station})
	}
	a.Bench = w.bench.withOwn(a.Bench, own)
	a.About = book.About{Type: w.kind, Serial: u.about.Get("serial")}
	if w.sheet.path != "" {
		a.About.Sheet = book.File{Path: w.sheet.path, SHA256: w.sheet.input.SHA256}
	}
	return a, nil
}

// withOwn is the record of the bench with settings of one unit in place of its own, in the order that a bench has when it
// is recorded.
func (b *benchOptions) withOwn(record, own saved.Settings) saved.Settings {
	if len(own) == 0 {
		return record
	}
	all := slices.DeleteFunc(slices.Clone(record), func(s saved.Setting) bool {
		return slices.ContainsFunc(own, func(o saved.Setting) bool { return o.Name == s.Name })
	})
	all = append(all, own...)
	var order []string
	b.options.VisitAll(func(f *pflag.Flag) { order = append(order, f.Name) })
	order = append(order, repeatabilitySetting)
	slices.SortStableFunc(all, func(x, y saved.Setting) int {
		return cmp.Compare(slices.Index(order, x.Name), slices.Index(order, y.Name))
	})
	return all
}

// queuedAtOnce is how many tasks are queued in one transaction.
const queuedAtOnce = 1000

// queueStages has those stages computed by workers that are wanted, and returns how many are new in the queue and how
// many there are.
func queueStages(ctx context.Context, b *book.Book, q *work.Queue, ref book.Ref, kind string, wanted func(book.Basis) bool) (queued, all int, err error) {
	var tasks []work.Task
	flush := func() error {
		n, err := q.Add(ctx, tasks)
		queued, all, tasks = queued+n, all+len(tasks), tasks[:0]
		return err
	}
	err = b.EachBasis(ctx, ref, kind, func(s book.Basis) error {
		if wanted(s) {
			tasks = append(tasks, work.TaskOf(s, version()))
		}
		if len(tasks) == queuedAtOnce {
			return flush()
		}
		return nil
	})
	if err == nil {
		err = flush()
	}
	return queued, all, err
}

var workAgainCommand = command{
	name: "work again", synopsis: "JOB[/DRIVER[/STAGE]]|book:[TYPE] [options]", summary: "have results computed anew",
	about: `Has workers compute results anew from the raw files, as "job recompute" does: of a job, of the drivers of a type
(book:Larch-25), or of the whole book (book:). What is queued already, or was done within the last day by the
same version from the same sweeps and settings, is not queued again. A stage in the cabinet rests on the one in
free air: "job recompute" computes it anew, and parts, on this machine.`,
	examples: `
conewright work again job:7 --book postgres://hand@db.example/conewright
conewright work again book: --book postgres://hand@db.example/conewright`,
	setup: func(g *optionGroups) action {
		var o bookOption
		o.define(g.group("Book"))
		return func(c *console, args []string) (answer, error) {
			kind, whole := wholeType(args)
			var ref book.Ref
			if !whole {
				var err error
				if ref, err = oneRef(args, stagePart, "conewright work again job:7"); err != nil {
					return done, err
				}
				kind = "" // of any type
			}
			return done, o.withQueue(func(ctx context.Context, b *book.Book, q *work.Queue) error {
				left := 0
				queued, all, err := queueStages(ctx, b, q, ref, kind, func(s book.Basis) bool {
					free := s.Ref.Stage != book.Parts && !book.IsInCabinet(s.Ref.Stage)
					if !free {
						left++
					}
					return free
				})
				if err != nil {
					return err
				}
				if left > 0 {
					fmt.Fprintf(c.err, "%s of cabinets and parts left out: conewright job recompute computes them anew\n", stagesWords(left))
				}
				if all == 0 && left == 0 {
					return wrongUse("conewright job list shows the jobs", "the book has no sweep of %s", args[0])
				}
				_, err = fmt.Fprintf(c.out, "%s of %d to be computed anew\n", stagesWords(queued), all)
				return err
			})
		}
	},
}
