package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/infile"
)

var jobExportCommand = command{
	name: "job export", synopsis: "JOB -o FILE [options]", summary: "one job as an archive of open formats",
	about: `Writes everything of a job into one ZIP archive: job.json and the raw files. It can be read
without this program, and "job import" reads it into another book.`,
	examples: `conewright job export job:1 -o hall.zip`,
	setup: func(g *optionGroups) action {
		var o bookOption
		var out outputOptions
		fs := g.group("Output")
		out.defineFile(fs, "write the archive to this `FILE`")
		o.define(fs)
		return func(c *console, args []string) (answer, error) {
			ref, err := oneRef(args, jobPart, "conewright job export job:1 -o hall.zip")
			if err != nil {
				return done, err
			}
			if out.file == "" {
				return done, wrongUse(fmt.Sprintf("conewright job export %s -o hall.zip", ref), "it is not said where to write the archive")
			}
			if err := out.finish(); err != nil {
				return done, err
			}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error {
				return writeFile(out.file, out.force, func(w io.WriteSeeker) error { return b.Export(ctx, ref.Job, version(), w) })
			})
		}
	},
}

var jobImportCommand = command{
	name: "job import", synopsis: "FILE|FOLDER [options]", summary: "read an archive, or a job of the bench page, into the book",
	about: `Reads an archive that "job export" wrote into the book, as a new job with a number of its own. A
folder in which the bench page kept a driver becomes a job as well: its sweeps before the repair
are the stage as-received, those after it new-surround, those in the cabinet in-cabinet-before and
in-cabinet, and parts of the network the stage parts, with the bench and the kinds of repeats.
Once more, the same folder adds to its job only what is not there yet, and a box whose volume,
tuning, sheet or driver is another one since is computed anew.`,
	examples: `
conewright job import hall.zip
conewright job import bench-jobs/left-woofer`,
	setup: func(g *optionGroups) action {
		var o bookOption
		o.define(g.group("Book"))
		return func(c *console, args []string) (answer, error) {
			if len(args) != 1 {
				return done, wrongUse("conewright job import hall.zip", "one archive or folder is needed, %d given", len(args))
			}
			if info, err := os.Stat(args[0]); err == nil && info.IsDir() { // where the bench page keeps a driver
				return done, o.with(true, func(ctx context.Context, b *book.Book) error {
					stands, err := importPage(ctx, b, args[0])
					if err != nil {
						return err
					}
					_, err = fmt.Fprintf(c.out, "%s is %s\n", args[0], stands)
					return err
				})
			}
			f, err := infile.Open(args[0])
			if err != nil {
				return done, err
			}
			defer f.Close()
			return done, o.with(true, func(ctx context.Context, b *book.Book) error {
				n, err := b.Import(ctx, f, f.Size(), args[0])
				if err != nil {
					return err
				}
				_, err = fmt.Fprintf(c.out, "%s is job:%d\n", args[0], n)
				return err
			})
		}
	},
}

var jobDeleteCommand = command{
	name: "job delete", synopsis: "JOB --really [options]", summary: "remove a job with all of its data",
	about: `Removes a job for good: customer, drivers, sweeps, results, and every raw file that no other
job uses. Archives, backups and sheets that were made of it are files of yours and stay.`,
	examples: `conewright job delete job:1 --really`,
	setup: func(g *optionGroups) action {
		var o bookOption
		really := false
		fs := g.group("Book")
		fs.BoolVar(&really, "really", false, "it cannot be undone, and is wanted")
		o.define(fs)
		return func(c *console, args []string) (answer, error) {
			ref, err := oneRef(args, jobPart, "conewright job delete job:1 --really")
			if err != nil {
				return done, err
			}
			if !really {
				return done, wrongUse(fmt.Sprintf("conewright job export %s -o FILE keeps a copy; then add --really", ref), "%s would be deleted for good", ref)
			}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error {
				if err := b.Delete(ctx, ref.Job); err != nil {
					return err
				}
				_, err := fmt.Fprintf(c.out, "%s and all of its data are deleted\n", ref)
				return err
			})
		}
	},
}

var jobBackupCommand = command{
	name: "job backup", synopsis: "DIR [options]", summary: "copy the whole book, also while it is in use",
	about: `Checks the whole book for damage and copies it into a new folder, which is itself a book: to
go back to it, put it in the place of the other, or name it with --book.`,
	examples: `conewright job backup book-monday`,
	setup: func(g *optionGroups) action {
		var o bookOption
		o.define(g.group("Book"))
		return func(c *console, args []string) (answer, error) {
			if len(args) != 1 {
				return done, wrongUse("conewright job backup book-monday", "one new folder is needed, %d given", len(args))
			}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error {
				if err := b.Backup(ctx, args[0]); err != nil {
					return err
				}
				_, err := fmt.Fprintf(c.out, "the book is sound; a copy is in %s\n", args[0])
				return err
			})
		}
	},
}
