package book

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"conewright/ts/notice"
)

// Backup writes a copy of the whole book, which is itself a book, into a new folder. It may
// run while the book is in use, and it is refused when the book is damaged.
func (b *Book) Backup(ctx context.Context, to string) error {
	if err := b.Check(ctx); err != nil {
		return err
	}
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return notice.New("book-backup-there", notice.Facts{"path": to})
	}
	if err := os.MkdirAll(filepath.Join(to, rawFolder), 0o700); err != nil {
		return err
	}
	// First the file: every raw file that it names is there by then.
	if _, err := b.db.ExecContext(ctx, `VACUUM INTO ?`, filepath.Join(to, fileName)); err != nil {
		return b.wrong(err)
	}
	copied := &Book{folder: to}
	return filepath.WalkDir(filepath.Join(b.folder, rawFolder), func(path string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil // deleted meanwhile, with its job
		case err != nil || d.IsDir() || !hashForm.MatchString(d.Name()):
			return err
		}
		if err := copied.putFile(d.Name(), path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return ctx.Err()
	})
}

// Check looks at the whole file for damage.
func (b *Book) Check(ctx context.Context) error {
	var said string
	if err := b.db.QueryRowContext(ctx, `PRAGMA integrity_check(1)`).Scan(&said); err != nil {
		return b.wrong(err)
	}
	if said != "ok" {
		return notice.New("book-damaged", notice.Facts{"path": b.path()}).Because(errors.New(said))
	}
	return nil
}
