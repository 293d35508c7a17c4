package book

import "context"

// Backup writes a copy of the whole book, which is itself a book, into a new folder. It may
// run while the book is in use, and it is refused when the book is damaged. A server has
// programs of its own for it.
func (b *Book) Backup(ctx context.Context, to string) error {
	if err := b.Check(ctx); err != nil {
		return err
	}
	return b.wrong(b.home.backup(ctx, b.db, to))
}

// Check looks at the whole book for damage.
func (b *Book) Check(ctx context.Context) error { return b.wrong(b.home.check(ctx, b.db)) }
