package book

import (
	"context"
	"database/sql"

	"conewright/ts/notice"
)

// Backup writes a copy of the whole book, which is itself a book, into a new folder. It may
// run while the book is in use. It is refused when the book or one of its raw files is damaged, and
// then leaves nothing. A server has programs of its own for it.
func (b *Book) Backup(ctx context.Context, to string) error {
	if err := b.Check(ctx); err != nil {
		return err
	}
	return b.wrong(b.home.backup(ctx, b.db, to))
}

// Check looks at the whole book for damage, and whether every raw file is there.
func (b *Book) Check(ctx context.Context) error {
	if err := b.home.check(ctx, b.db); err != nil {
		return b.wrong(err)
	}
	return b.writeAlone(ctx, func(tx *sql.Tx) error { // nothing is deleted meanwhile
		used, err := usedFiles(ctx, tx)
		if err != nil {
			return err
		}
		for hash := range used {
			switch have, err := b.raw.Has(ctx, hash); {
			case err != nil:
				return err
			case !have:
				return notice.New("book-lost-file", notice.Facts{"path": b.RawPath(hash)})
			}
		}
		return nil
	})
}
