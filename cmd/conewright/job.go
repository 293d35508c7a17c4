package main

import (
	"context"
	"fmt"
	"os/user"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/specsheet"
	"conewright/ts/notice"

	"github.com/spf13/pflag"
)

var jobCommand = command{
	name:     "job",
	synopsis: "new|add|set|show|list|find|history|sheet|recompute|... [options]",
	summary:  "the book: jobs that are kept, and sheets for customers",
	about: `Keeps repairs in a book: each job with its drivers, each driver with the stages of the work
(as-received, stripped, new-surround, run-in, in-cabinet, parts), each stage with its sweeps and
what they say. Recordings are copied into the book and never changed. Where other commands take the
files of a driver, they take job:12/left as well, or job:12/left/as-received for one stage.
The book is where a user's data are, or in the folder that --book or CONEWRIGHT_BOOK names; several
benches share one on a PostgreSQL server, --book postgres://USER@HOST/DATABASE.`,
	examples: `
conewright job new "Stage woofers" --customer "Brindle Hall"
conewright job add job:1/left/as-received before.wav --mass 20.0g=before-20g.wav --bench bench.toml
conewright job sheet job:1/left --pdf sheet.pdf`,
	verbs: []command{jobNewCommand, jobAddCommand, jobSetCommand, jobShowCommand, jobListCommand, jobFindCommand,
		jobHistoryCommand, jobSheetCommand, jobRecomputeCommand, jobExportCommand, jobImportCommand, jobSendCommand, jobUnitsCommand, jobDeleteCommand, jobBackupCommand},
}

// bookOption names the folder of the book.
type bookOption struct{ folder string }

func (o *bookOption) define(fs *pflag.FlagSet) {
	fs.StringVar(&o.folder, "book", "", "the book, in place of the usual one or that of "+book.FolderVariable+": a folder or an address, as `BOOK`")
}

// with opens the book, which is begun if begin is set, and closes it afterwards.
func (o *bookOption) with(begin bool, work func(ctx context.Context, b *book.Book) error) error {
	b, err := openBook(o.folder, !begin)
	if err != nil {
		return err
	}
	defer b.Close()
	return work(context.Background(), b)
}

// Parts of a reference.
const (
	jobPart = 1 + iota
	driverPart
	stagePart
)

// oneRef reads the only argument of a command, a reference with at most so many parts.
func oneRef(args []string, most int, example string) (book.Ref, error) {
	if len(args) != 1 {
		return book.Ref{}, wrongUse(example, "one job is needed, %d given", len(args))
	}
	ref, err := book.ParseRef(args[0])
	switch {
	case err != nil:
		return ref, err
	case most < driverPart && ref.Side != "":
		return ref, wrongUse(example, "%s is one driver, and this is about a job as a whole", args[0])
	case most < stagePart && ref.Stage != "":
		return ref, wrongUse(example, "%s is one stage, and this is about a driver with all of its stages", args[0])
	}
	return ref, nil
}

// stageRef reads a reference to a stage.
func stageRef(text, example string) (book.Ref, error) {
	ref, err := book.ParseRef(text)
	switch {
	case err != nil:
		return ref, err
	case ref.Side == "":
		return ref, wrongUse(example, "%s does not say which driver of the job", text)
	case ref.Stage == "":
		return ref, wrongUse(example, "%s does not say at which stage", text)
	}
	return ref, nil
}

var jobNewCommand = command{
	name: "job new", synopsis: "TITLE [options]", summary: "begin a job",
	about: `Begins a job and prints its number. A job is one repair for one customer, with one driver or
several; the drivers begin with their first sweep.`,
	examples: `conewright job new "Stage woofers" --customer "Brindle Hall" --contact "12 Mill Lane"`,
	setup: func(g *optionGroups) action {
		var o bookOption
		var j jobTexts
		fs := g.group("Job")
		j.define(fs)
		o.define(fs)
		return func(c *console, args []string) (answer, error) {
			if len(args) != 1 || args[0] == "" {
				return done, wrongUse(`conewright job new "Stage woofers" --customer "Brindle Hall"`, "a job needs one title, %d words given; put a title with blanks into quotes", len(args))
			}
			return done, o.with(true, func(ctx context.Context, b *book.Book) error {
				n, err := b.NewJob(ctx, book.Job{Title: args[0], Customer: j.customer, Contact: j.contact, Work: j.work, Opened: now()})
				if err != nil {
					return err
				}
				_, err = fmt.Fprintf(c.out, "job:%d begun: %s. Add sweeps with: conewright job add job:%d/left/as-received FILE\n", n, args[0], n)
				return err
			})
		}
	},
}

// jobTexts are what a job says of itself.
type jobTexts struct{ customer, contact, work string }

func (j *jobTexts) define(fs *pflag.FlagSet) {
	fs.StringVar(&j.customer, "customer", "", "`NAME` of the customer")
	fs.StringVar(&j.contact, "contact", "", "how to reach the customer, as `TEXT`")
	fs.StringVar(&j.work, "work", "", "what was done, for the customer's sheet, as `TEXT`")
}

// driverTexts are what a driver is.
type driverTexts struct {
	kind, serial string
	sheet        specOption
}

func (d *driverTexts) define(fs *pflag.FlagSet) {
	fs.StringVar(&d.kind, "type", "", "`NAME` of the type of the driver")
	fs.StringVar(&d.serial, "serial", "", "its serial `NUMBER`")
	d.sheet.defineIn(fs)
}

// given says whether anything is said.
func (d *driverTexts) given() bool { return d.kind != "" || d.serial != "" || d.sheet.path != "" }

// describe writes into the book what is said of the driver, if anything, and returns its stages as judged by its sheet, if one is
// named; that is read first. Then it computes stages in the cabinet anew: all if a sheet is named, else those that are wanted.
func (d *driverTexts) describe(ctx context.Context, b *book.Book, ref book.Ref, wanted func(book.Driver, book.Stage) bool) (judged []book.Judged, r renewal, err error) {
	spec, err := d.sheet.of(specsheet.Driver)
	if err != nil {
		return nil, r, err
	}
	var sheet book.File
	if d.sheet.path != "" {
		sheet = book.File{Path: d.sheet.path, SHA256: d.sheet.input.SHA256}
		wanted = func(book.Driver, book.Stage) bool { return true }
	}
	if d.given() {
		if judged, err = b.Describe(ctx, ref, book.About{Type: d.kind, Serial: d.serial, Sheet: sheet}, judgeBy(spec)); err != nil {
			return nil, r, err
		}
	}
	r, err = renewInCabinet(ctx, b, ref.Job, ref.Side, noBench(), boxOptions{}.empty(), wanted)
	if d.sheet.path != "" {
		judged = append(judged, r.turned()...)
	}
	return judged, r, err
}

var jobSetCommand = command{
	name: "job set", synopsis: "JOB|JOB/DRIVER [options]", summary: "say more about a job or a driver",
	about: `Writes down what a job or one of its drivers is; what is not given stays as it was. With a sheet,
every stage of the driver is judged by it at once.`,
	examples: `
conewright job set job:1 --work "Both surrounds replaced, coils centred."
conewright job set job:1/left --type "Larch 25" --serial 0417 --spec larch.toml`,
	setup: func(g *optionGroups) action {
		var o bookOption
		var j jobTexts
		var d driverTexts
		title := ""
		fs := g.group("Job")
		fs.StringVar(&title, "title", "", "`TITLE` of the job")
		j.define(fs)
		d.define(g.group("Driver"))
		o.define(g.group("Book"))
		return func(c *console, args []string) (answer, error) {
			ref, err := oneRef(args, driverPart, `conewright job set job:1 --work "Both surrounds replaced."`)
			if err != nil {
				return done, err
			}
			ofJob := title != "" || j != (jobTexts{})
			if d.given() && ref.Side == "" {
				return done, wrongUse(fmt.Sprintf("conewright job set %s/left --type ...", ref), "type, serial and sheet belong to a driver, and %s is a job", ref)
			}
			if !ofJob && !d.given() {
				return done, wrongUse("conewright job set --help lists the options", "nothing to write down")
			}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error {
				if ofJob {
					if err := b.Change(ctx, ref.Job, title, j.customer, j.contact, j.work); err != nil {
						return err
					}
				}
				if !d.given() {
					return nil
				}
				judged, r, err := d.describe(ctx, b, ref, func(book.Driver, book.Stage) bool { return false })
				if err != nil {
					return err
				}
				if err := sayJudged(c, ref, d.sheet.path, judged); err != nil {
					return err
				}
				return sayNotes(c, r.notes())
			})
		}
	},
}

// userName is who works at this computer, as far as it knows.
func userName() string {
	u, err := user.Current()
	if err != nil {
		return ""
	}
	return u.Username
}

// sayNotes writes notes.
func sayNotes(c *console, notes []string) error {
	for _, note := range notes {
		if _, err := fmt.Fprintln(c.out, "note:", note); err != nil {
			return err
		}
	}
	return nil
}

// missingRef is the error for what a job does not have.
func missingRef(ref book.Ref) error {
	return notice.New("book-missing", notice.Facts{"ref": ref.String()})
}

// list writes a table below a title.
func list(c *console, title string, tables ...report.Table) error {
	return report.Text(c.out, &report.Report{Title: title, Tables: tables})
}
