package book

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"conewright/ts/notice"
)

// Backup writes a copy of the whole book, which is itself a book, into a new folder. It may
// run while the book is in use. It is refused when the book or one of its raw files is damaged, and
// then leaves nothing.
func (b *Book) Backup(ctx context.Context, to string) (err error) {
	if err := b.Check(ctx); err != nil {
		return err
	}
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return notice.New("book-backup-there", notice.Facts{"path": to})
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(to))
		}
	}()
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
		err = copied.putFile(d.Name(), path)
		var n *notice.Notice
		switch {
		case errors.As(err, &n) && n.Code == "book-other-content":
			return notice.New("book-changed-file", notice.Facts{"path": path})
		case err != nil && !errors.Is(err, fs.ErrNotExist):
			return err
		}
		return ctx.Err()
	})
}

// Check looks at the whole file for damage, and whether every raw file is there.
func (b *Book) Check(ctx context.Context) error {
	var said string
	if err := b.db.QueryRowContext(ctx, `PRAGMA integrity_check(1)`).Scan(&said); err != nil {
		return b.wrong(err)
	}
	if said != "ok" {
		return notice.New("book-damaged", notice.Facts{"path": b.path()}).Because(errors.New(said))
	}
	return b.write(ctx, func(tx *sql.Tx) error { // nothing is deleted meanwhile
		used, err := usedFiles(ctx, tx)
		for hash := range used {
			if _, lost := os.Stat(b.RawPath(hash)); err == nil && errors.Is(lost, fs.ErrNotExist) {
				err = notice.New("book-lost-file", notice.Facts{"path": b.RawPath(hash)})
			}
		}
		return err
	})
}
