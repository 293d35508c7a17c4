package book

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"conewright/ts/notice"

	"github.com/pressly/goose/v3"
	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

//go:embed migrations/*.sql
var migrations embed.FS

// fileName is the database in the folder of the book.
const fileName = "book.sqlite"

// mark tells a book from other databases: "Cone" as PRAGMA application_id.
const mark = 0x436f6e65

// patience is how long a program waits for another one that writes.
const patience = 20 * time.Second

// Book is an open book. Its methods may be called from several goroutines.
type Book struct {
	folder  string
	db      *sql.DB
	writing sync.Mutex // one writer: SQLite has room for one, and waiting here is fair
}

// Open opens the book in a folder, which is made if it is not there yet. A book that a newer
// program has written, or that is damaged, is refused and left as it is.
func Open(ctx context.Context, folder string) (*Book, error) {
	if err := os.MkdirAll(filepath.Join(folder, rawFolder), 0o700); err != nil {
		return nil, notice.New("book-unusable", notice.Facts{"path": folder}).Because(err)
	}
	b := &Book{folder: folder}
	var err error
	if b.db, err = sql.Open("sqlite", source(b.path())); err != nil {
		return nil, b.wrong(err)
	}
	b.db.SetMaxOpenConns(4)
	if err := b.prepare(ctx); err != nil {
		return nil, errors.Join(b.wrong(err), b.db.Close())
	}
	return b, nil
}

// OpenExisting is [Open] of a book that must be there.
func OpenExisting(ctx context.Context, folder string) (*Book, error) {
	if _, err := os.Stat(filepath.Join(folder, fileName)); errors.Is(err, fs.ErrNotExist) {
		return nil, notice.New("book-none", notice.Facts{"path": folder})
	}
	return Open(ctx, folder)
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

// prepare checks what the file is and brings it to the newest form.
func (b *Book) prepare(ctx context.Context) error {
	var id, tables int
	if err := b.db.QueryRowContext(ctx, `SELECT (SELECT application_id FROM pragma_application_id), (SELECT count(*) FROM sqlite_master)`).Scan(&id, &tables); err != nil {
		return err
	}
	if id != mark && tables > 0 {
		return notice.New("book-other", notice.Facts{"path": b.path()})
	}
	folder, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, b.db, folder)
	if err != nil {
		return err
	}
	sources := provider.ListSources()
	newest := sources[len(sources)-1].Version
	if tables > 0 {
		have, err := provider.GetDBVersion(ctx)
		if err != nil {
			return err
		}
		if have > newest {
			return notice.New("book-newer", notice.Facts{"path": b.path(), "have": int(have), "known": int(newest)})
		}
		if have == newest {
			return nil
		}
	}
	return b.migrate(ctx, provider)
}

// migrate runs what is missing. Two programs may begin a book at the same moment: the one
// that comes second finds everything done, which it sees when it tries once more.
func (b *Book) migrate(ctx context.Context, provider *goose.Provider) error {
	if _, err := b.db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", mark)); err != nil {
		return err
	}
	var err error
	for range 5 {
		if _, err = provider.Up(ctx); err == nil {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(100 * time.Millisecond):
		}
	}
	return err
}

// Close closes the book.
func (b *Book) Close() error { return b.wrong(b.db.Close()) }

// FolderOf returns the folder of the book.
func (b *Book) FolderOf() string { return b.folder }

func (b *Book) path() string { return filepath.Join(b.folder, fileName) }

// write does what change does, as a whole or not at all.
func (b *Book) write(ctx context.Context, change func(tx *sql.Tx) error) error {
	b.writing.Lock()
	defer b.writing.Unlock()
	tx, err := b.db.BeginTx(ctx, nil)
	if err != nil {
		return b.wrong(err)
	}
	if err := change(tx); err != nil {
		return errors.Join(b.wrong(err), ignoreDone(tx.Rollback()))
	}
	return b.wrong(tx.Commit())
}

func ignoreDone(err error) error {
	if errors.Is(err, sql.ErrTxDone) {
		return nil
	}
	return err
}

// read runs a query and hands every row to row.
func (b *Book) read(ctx context.Context, row func(rows *sql.Rows) error, query string, args ...any) error {
	rows, err := b.db.QueryContext(ctx, query, args...)
	if err != nil {
		return b.wrong(err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := row(rows); err != nil {
			return b.wrong(err)
		}
	}
	return b.wrong(rows.Err())
}

// wrong turns an error of the database into one that says what to do.
func (b *Book) wrong(err error) error {
	var n *notice.Notice
	var e *sqlite.Error
	if err == nil || errors.As(err, &n) || !errors.As(err, &e) {
		return err
	}
	switch e.Code() & 0xff {
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		return notice.New("book-damaged", notice.Facts{"path": b.path()}).Because(err)
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return notice.New("book-busy", notice.Facts{"path": b.path()}).Because(err)
	}
	return notice.New("book-unusable", notice.Facts{"path": b.path()}).Because(err)
}
