package book

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"conewright/cmd/internal/rawstore"
	"conewright/ts/notice"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
)

//go:embed migrations
var migrations embed.FS

// Book is an open book. Its methods may be called from several goroutines.
type Book struct {
	home home
	db   *sql.DB
	raw  rawstore.Store
}

// Open opens the book in a folder or on a server, which is begun if it is not there yet. A book
// that a newer program has written, or that is damaged, is refused and left as it is.
func Open(ctx context.Context, place string) (*Book, error) { return openAt(ctx, place, true) }

// OpenExisting is [Open] of a book that must be there.
func OpenExisting(ctx context.Context, place string) (*Book, error) {
	if IsServer(place) {
		return openAt(ctx, place, false)
	}
	if _, err := os.Stat(filepath.Join(place, fileName)); errors.Is(err, fs.ErrNotExist) {
		return nil, notice.New("book-none", notice.Facts{"path": place})
	}
	return openAt(ctx, place, true)
}

func openAt(ctx context.Context, place string, begin bool) (*Book, error) {
	h, err := homeAt(place)
	if err != nil {
		return nil, err
	}
	b := &Book{home: h}
	if b.db, err = h.connect(); err != nil {
		return nil, b.wrong(err)
	}
	if err := b.prepare(ctx, begin); err != nil {
		return nil, errors.Join(b.wrong(err), b.db.Close())
	}
	return b, nil
}

// prepare checks what is there and brings it to the newest form.
func (b *Book) prepare(ctx context.Context, begin bool) error {
	found, err := b.home.found(ctx, b.db)
	if err != nil {
		return err
	}
	if !found && !begin {
		return notice.New("book-none", notice.Facts{"path": b.home.name()})
	}
	if err := b.renew(ctx, found); err != nil {
		return err
	}
	b.raw, err = b.home.raw(ctx, b.db)
	return err
}

// renew runs the migrations that are missing.
func (b *Book) renew(ctx context.Context, found bool) error {
	name, dialect := b.home.schema()
	scripts, err := fs.Sub(migrations, "migrations/"+name)
	if err != nil {
		return err
	}
	if !found {
		if err := b.home.mark(ctx, b.db); err != nil {
			return err
		}
	}
	provider, err := goose.NewProvider(dialect, b.db, scripts)
	if err != nil {
		return err
	}
	if found {
		sources := provider.ListSources()
		newest := sources[len(sources)-1].Version
		have, err := provider.GetDBVersion(ctx)
		if err != nil {
			return err
		}
		if have > newest {
			return notice.New("book-newer", notice.Facts{"path": b.home.name(), "have": int(have), "known": int(newest)})
		}
		if have == newest {
			return nil
		}
	}
	return migrate(ctx, provider)
}

// migrate runs what is missing. Two programs may begin a book at the same moment: the one
// that comes second finds everything done, which it sees when it tries once more.
func migrate(ctx context.Context, provider *goose.Provider) error {
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

// Name returns how messages name the book: its file, or the address on the server.
func (b *Book) Name() string { return b.home.name() }

// FolderOf returns the folder of the book, empty where it is on a server.
func (b *Book) FolderOf() string {
	if f, ok := b.home.(*folder); ok {
		return f.path
	}
	return ""
}

// Also is what else belongs into the transaction that makes a change of a book on a server: it gets the
// connection on which the transaction is open.
type Also func(conn *pgx.Conn) error

// write does what change does, as a whole or not at all.
func (b *Book) write(ctx context.Context, change func(tx *sql.Tx) error) error {
	return b.writeWith(ctx, false, nil, change)
}

// writeAlone is write while nobody else makes a change.
func (b *Book) writeAlone(ctx context.Context, change func(tx *sql.Tx) error) error {
	return b.writeWith(ctx, true, nil, change)
}

func (b *Book) writeWith(ctx context.Context, alone bool, also Also, change func(tx *sql.Tx) error) error {
	defer b.home.turn()()
	conn, err := b.db.Conn(ctx)
	if err != nil {
		return b.wrong(err)
	}
	defer conn.Close()
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return b.wrong(err)
	}
	err = b.home.begun(ctx, tx, alone)
	if err == nil {
		err = change(tx)
	}
	if err == nil && also != nil {
		err = conn.Raw(func(driver any) (err error) {
			defer func() { // a panic would wait here for the end of the transaction, for ever
				if p := recover(); p != nil {
					err = fmt.Errorf("internal error: %v", p)
				}
			}()
			return also(driver.(*stdlib.Conn).Conn())
		})
	}
	if err != nil {
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

// oneMoment reads the book as it is at one moment.
func (b *Book) oneMoment(ctx context.Context, read func(tx *sql.Tx) error) error {
	tx, err := b.db.BeginTx(ctx, b.home.oneMoment())
	if err != nil {
		return b.wrong(err)
	}
	defer tx.Rollback()
	return b.wrong(read(tx))
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
	if err == nil || errors.As(err, &n) {
		return err
	}
	return b.home.wrong(err)
}
