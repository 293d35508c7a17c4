package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"conewright/cmd/internal/rawstore"
	"conewright/ts/notice"

	"github.com/pressly/goose/v3"
	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// fileName is the database in the folder of the book.
const fileName = "book.sqlite"

// rawFolder holds the raw files in the folder of the book.
const rawFolder = "raw"

// fileMark tells a book from other databases: "Cone" as PRAGMA application_id.
const fileMark = 0x436f6e65

// patience is how long a program waits for another one that writes.
const patience = 20 * time.Second

// folder is a book in a folder, with one SQLite file.
type folder struct {
	path    string
	writing sync.Mutex // one writer: SQLite has room for one, and waiting here is fair
}

func (f *folder) name() string                    { return f.file() }
func (f *folder) file() string                    { return filepath.Join(f.path, fileName) }
func (f *folder) rawPath() string                 { return filepath.Join(f.path, rawFolder) }
func (f *folder) schema() (string, goose.Dialect) { return "sqlite", goose.DialectSQLite3 }
func (f *folder) rowLock() string                 { return "" } // a change has the whole file
func (f *folder) oneMoment() *sql.TxOptions       { return &sql.TxOptions{ReadOnly: true} }
func (f *folder) setting(column, name string) string {
	return column + " ->> '" + name + "'"
}
func (f *folder) turn() func() {
	f.writing.Lock()
	return f.writing.Unlock
}
func (f *folder) begun(context.Context, *sql.Tx, bool) error { return nil }

func (f *folder) connect() (*sql.DB, error) {
	if err := os.MkdirAll(f.rawPath(), 0o700); err != nil {
		return nil, notice.New("book-unusable", notice.Facts{"path": f.path}).Because(err)
	}
	db, err := sql.Open("sqlite", source(f.file()))
	if err == nil {
		db.SetMaxOpenConns(4)
	}
	return db, err
}

// source is the name under which the driver opens a file. What is written is on the disk
// before it is acknowledged (synchronous FULL), and what is deleted is overwritten.
func source(path string) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") { // C:/...
		path = "/" + path
	}
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {
		fmt.Sprintf("busy_timeout(%d)", patience.Milliseconds()),
		"journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)", "secure_delete(1)",
	}}
	return (&url.URL{Scheme: "file", Path: path, RawQuery: q.Encode()}).String()
}

func (f *folder) found(ctx context.Context, db *sql.DB) (bool, error) {
	var id, tables int
	if err := db.QueryRowContext(ctx, `SELECT (SELECT application_id FROM pragma_application_id), (SELECT count(*) FROM sqlite_master)`).Scan(&id, &tables); err != nil {
		return false, err
	}
	if id != fileMark && tables > 0 {
		return false, notice.New("book-other", notice.Facts{"path": f.file()})
	}
	return tables > 0, nil
}

func (f *folder) mark(ctx context.Context, db *sql.DB) error {
	_, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", fileMark))
	return err
}

func (f *folder) raw(context.Context, *sql.DB) (rawstore.Store, error) {
	return rawstore.Folder(f.rawPath()), nil
}

// leftover is how old a file that nothing refers to must be before it is removed: a younger
// one may belong to a sweep that another program is about to add.
const leftover = time.Hour

// dropped removes old raw files that nothing refers to: a program that was ended has left them.
func (f *folder) dropped(ctx context.Context, tx *sql.Tx) error {
	used, err := usedFiles(ctx, tx)
	if err != nil {
		return err
	}
	return filepath.WalkDir(f.rawPath(), func(path string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil // removed meanwhile
		case err != nil:
			return err
		case d.IsDir() || used[d.Name()]:
			return nil
		}
		info, err := d.Info()
		if err != nil || time.Since(info.ModTime()) < leftover {
			return nil
		}
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	})
}

// scrub: what was deleted still stands in the log of the last writes, and in pages that are no
// longer used.
func (f *folder) scrub(ctx context.Context, db *sql.DB) error {
	if _, err := db.ExecContext(ctx, `VACUUM`); err != nil {
		return err
	}
	_, err := db.ExecContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`)
	return err
}

func (f *folder) check(ctx context.Context, db *sql.DB) error {
	var said string
	if err := db.QueryRowContext(ctx, `PRAGMA integrity_check(1)`).Scan(&said); err != nil {
		return err
	}
	if said != "ok" {
		return notice.New("book-damaged", notice.Facts{"path": f.file()}).Because(errors.New(said))
	}
	return nil
}

func (f *folder) backup(ctx context.Context, db *sql.DB, to string) (err error) {
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return notice.New("book-backup-there", notice.Facts{"path": to})
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(to))
		}
	}()
	copied := &folder{path: to}
	if err := os.MkdirAll(copied.rawPath(), 0o700); err != nil {
		return err
	}
	// First the file: every raw file that it names is there by then.
	if _, err := db.ExecContext(ctx, `VACUUM INTO $1`, copied.file()); err != nil {
		return err
	}
	return rawstore.Folder(f.rawPath()).CopyTo(ctx, rawstore.Folder(copied.rawPath()))
}

func (f *folder) wrong(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() & 0xff {
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		return notice.New("book-damaged", notice.Facts{"path": f.file()}).Because(err)
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return notice.New("book-busy", notice.Facts{"path": f.file()}).Because(err)
	}
	return notice.New("book-unusable", notice.Facts{"path": f.file()}).Because(err)
}
