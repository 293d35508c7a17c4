package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"conewright/cmd/internal/benchpage"
	"conewright/cmd/internal/book"
	"conewright/cmd/internal/customer"
)

// inventedBook is the folder, among those of the jobs, of the book of a virtual bench. No driver can
// have it: names of their folders have no such letter.
const inventedBook = "invented_book"

// bookNow is the book that jobs go into: an invented driver gets into no real book unless that was named.
func (w *workshop) bookNow() bookOption {
	if w.virtual != nil && w.book.folder == "" {
		return bookOption{folder: filepath.Join(w.folder, inventedBook)}
	}
	return w.book
}

// bookWords says which book it is, before anything is kept there.
func (w *workshop) bookWords() string {
	place, err := book.Place(w.bookNow().folder)
	switch {
	case err != nil:
		return "" // is told as soon as the book is used
	case w.virtual == nil:
		return fmt.Sprintf("The book is in %s.", place)
	case w.book.folder == "":
		return fmt.Sprintf("This driver is invented. It goes into a book of its own, in %s, and not into yours.", place)
	}
	return fmt.Sprintf("This driver is invented, and would be kept in the book that --book names, in %s.", place)
}

// Book does what conewright job import does with a folder.
func (w *workshop) Book(dir string) (kept benchpage.Kept, err error) {
	o := w.bookNow()
	err = o.with(true, func(ctx context.Context, b *book.Book) error {
		stands, err := importPage(ctx, b, dir)
		if err != nil {
			return err
		}
		kept = benchpage.Kept{Job: stands.ref.Job, Says: "this is " + stands.String()}
		named := ""
		if o.folder != "" {
			named = " --book " + quoted(o.folder)
		}
		for _, command := range []string{"job set job:%d --customer NAME --work TEXT", "job show job:%d"} {
			kept.More = append(kept.More, "conewright "+fmt.Sprintf(command, kept.Job)+named)
		}
		return nil
	})
	return kept, err
}

// CustomerSheet writes what conewright job sheet --pdf writes.
func (w *workshop) CustomerSheet(to io.Writer, kept benchpage.Kept) error {
	s := sheetJob{book: w.bookNow()}
	return s.book.with(false, func(ctx context.Context, b *book.Book) error {
		ref := book.Ref{Job: kept.Job}
		job, err := b.Job(ctx, ref.Job)
		if err != nil {
			return err
		}
		sheet, err := s.build(b, job, ref)
		if err != nil {
			return err
		}
		return customer.WritePDF(to, sheet, customer.Papers[0])
	})
}
