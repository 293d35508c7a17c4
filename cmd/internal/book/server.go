package book

import (
	"cmp"
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"io"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"conewright/cmd/internal/rawstore"
	"conewright/ts/notice"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
)

// RawVariable is the environment variable that names the place of the raw files of a book on a server:
// when the book is begun, and on a machine that reaches that place by another name.
const RawVariable = "CONEWRIGHT_RAW"

// serverSchema is the schema of the database in which everything of the book is.
const serverSchema = "conewright"

// connectPatience is how long a server may take to answer, unless its address or the environment says otherwise.
const connectPatience = 10 * time.Second

// changesLock is the advisory lock that every change holds, together with others or alone: "Cone" in ASCII.
const changesLock = 0x436f6e65

// server is a book on a PostgreSQL server.
type server struct {
	address string // without a password
	config  *pgx.ConnConfig
}

func newServer(address string) (*server, error) {
	u, err := url.Parse(address)
	if err != nil {
		var parse *url.Error // has the whole text in it
		if errors.As(err, &parse) {
			err = parse.Err
		}
		return nil, notice.New("book-bad-address", nil).Because(err)
	}
	if _, has := u.User.Password(); has || u.Query().Has("password") || u.Query().Has("sslpassword") {
		return nil, notice.New("book-password", nil)
	}
	config, err := pgx.ParseConfig(address)
	if err != nil {
		return nil, notice.New("book-bad-address", nil).Because(err)
	}
	config.ConnectTimeout = cmp.Or(config.ConnectTimeout, connectPatience)
	config.RuntimeParams["search_path"] = serverSchema
	config.RuntimeParams["application_name"] = cmp.Or(config.RuntimeParams["application_name"], "conewright")
	return &server{address, config}, nil
}

// ServerConfig is how to connect to the server of a book, for what else is kept there.
func ServerConfig(address string) (*pgx.ConnConfig, error) {
	s, err := newServer(address)
	if err != nil {
		return nil, err
	}
	return s.config, nil
}

func (s *server) name() string                    { return s.address }
func (s *server) schema() (string, goose.Dialect) { return "postgres", goose.DialectPostgres }
func (s *server) rowLock() string                 { return " FOR UPDATE" }
func (s *server) turn() func()                    { return func() {} }
func (s *server) setting(column, name string) string {
	return column + "::json ->> '" + name + "'"
}
func (s *server) oneMoment() *sql.TxOptions {
	return &sql.TxOptions{ReadOnly: true, Isolation: sql.LevelRepeatableRead}
}

func (s *server) connect() (*sql.DB, error) {
	db := stdlib.OpenDB(*s.config)
	db.SetMaxOpenConns(8)
	db.SetMaxIdleConns(8)
	return db, nil
}

func (s *server) found(ctx context.Context, db *sql.DB) (bool, error) {
	var ours, tables, let bool
	err := db.QueryRowContext(ctx, `SELECT count(*) FILTER (WHERE c.relname = 'goose_db_version') > 0, count(*) > 0, coalesce(bool_and(has_schema_privilege(n.oid, 'USAGE')), true)
		FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = $1`, serverSchema).Scan(&ours, &tables, &let)
	switch {
	case err != nil:
		return false, err
	case tables && !ours:
		return false, notice.New("book-other", notice.Facts{"path": s.address})
	case !let:
		return false, notice.New("book-no-right", notice.Facts{"path": s.address}).Because(errors.New("it has no right to the schema " + serverSchema))
	}
	return tables, nil
}

func (s *server) mark(ctx context.Context, db *sql.DB) error {
	if os.Getenv(RawVariable) == "" {
		return notice.New("book-no-raw", notice.Facts{"path": s.address})
	}
	_, err := db.ExecContext(ctx, `CREATE SCHEMA IF NOT EXISTS `+serverSchema)
	if isCode(err, "23505") {
		return nil // another program has made it at the same moment
	}
	return err
}

// raw opens the store that the book names, or the environment in its place. A new book keeps what the
// environment names.
func (s *server) raw(ctx context.Context, db *sql.DB) (rawstore.Store, error) {
	here := os.Getenv(RawVariable)
	var kept string
	err := db.QueryRowContext(ctx, `SELECT place FROM raw`).Scan(&kept)
	if err == sql.ErrNoRows {
		if here == "" {
			return nil, notice.New("book-no-raw", notice.Facts{"path": s.address})
		}
		_, err = db.ExecContext(ctx, `INSERT INTO raw (place) VALUES ($1) ON CONFLICT DO NOTHING`, here)
	}
	if err != nil {
		return nil, err
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		cache = os.TempDir()
	}
	return rawstore.Open(cmp.Or(here, kept), filepath.Join(cache, "conewright", "raw"))
}

// begun takes the lock of changes. Alone, nobody takes up a raw file that is being removed.
func (s *server) begun(ctx context.Context, tx *sql.Tx, alone bool) error {
	lock := `SELECT pg_advisory_xact_lock_shared($1)`
	if alone {
		lock = `SELECT pg_advisory_xact_lock($1)`
	}
	_, err := tx.ExecContext(ctx, lock, changesLock)
	return err
}

// dropped does nothing: looking for leftovers among all raw files of many benches would take too long.
func (s *server) dropped(context.Context, *sql.Tx) error { return nil }

// scrub does nothing: the server overwrites rows in its own time, and keeps them in its log and its
// backups as long as it was told to.
func (s *server) scrub(context.Context, *sql.DB) error { return nil }

func (s *server) check(context.Context, *sql.DB) error { return s.ownTools() }

func (s *server) backup(context.Context, *sql.DB, string) error { return s.ownTools() }

// ownTools is the refusal of what a server has better programs for.
func (s *server) ownTools() error {
	return notice.New("book-own-tools", notice.Facts{"path": s.address})
}

// isNetwork says whether the connection was the trouble.
func isNetwork(err error) bool {
	var network net.Error
	return errors.As(err, &network) || errors.Is(err, pgconn.ErrConnClosed) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, driver.ErrBadConn)
}

func isCode(err error, code string) bool {
	var said *pgconn.PgError
	return errors.As(err, &said) && said.Code == code
}

// wrong reads the class of the error: the appendix "PostgreSQL Error Codes" of its documentation.
func (s *server) wrong(err error) error {
	var said *pgconn.PgError
	if !errors.As(err, &said) {
		var connect *pgconn.ConnectError
		if errors.As(err, &connect) || pgconn.Timeout(err) || pgconn.SafeToRetry(err) || isNetwork(err) {
			return notice.New("book-unreachable", notice.Facts{"path": s.address}).Because(oneLine{err})
		}
		return err
	}
	err = saidBy{said}
	switch class := said.Code[:2]; {
	case class == "28" || said.Code == "3D000": // authorization, no such database
		return notice.New("book-not-let-in", notice.Facts{"path": s.address}).Because(err)
	case said.Code == "42501":
		return notice.New("book-no-right", notice.Facts{"path": s.address}).Because(err)
	case class == "40" || said.Code == "55P03": // deadlock and the like
		return notice.New("book-busy", notice.Facts{"path": s.address}).Because(err)
	case class == "57" || class == "08" || said.Code == "53300": // shut down, connection, too many clients
		return notice.New("book-unreachable", notice.Facts{"path": s.address}).Because(err)
	case class == "XX":
		return notice.New("book-damaged-server", notice.Facts{"path": s.address}).Because(err)
	}
	return notice.New("book-unusable", notice.Facts{"path": s.address}).Because(err)
}

// oneLine is an error whose text has several lines, one for each way that was tried. The network says most.
type oneLine struct{ error }

func (e oneLine) Error() string {
	var network *net.OpError
	if errors.As(e.error, &network) {
		return network.Error()
	}
	return strings.Join(strings.Fields(e.error.Error()), " ")
}
func (e oneLine) Unwrap() error { return e.error }

// saidBy is what a server says, without codes and places in its source.
type saidBy struct{ *pgconn.PgError }

func (e saidBy) Error() string { return e.Message }
func (e saidBy) Unwrap() error { return e.PgError }

// ServerError turns an error of the server at an address into one that says what to do.
func ServerError(address string, err error) error {
	if err == nil {
		return nil
	}
	return (&server{address: address}).wrong(err)
}
