package work

import (
	"context"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// within is the transaction that is open on a connection, for statements only: who has begun it also ends it.
type within struct {
	pgx.Tx // nil
	conn   *pgx.Conn
}

func (w within) Exec(ctx context.Context, sql string, args ...any) (pgconn.CommandTag, error) {
	return w.conn.Exec(ctx, sql, args...)
}

func (w within) Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error) {
	return w.conn.Query(ctx, sql, args...)
}

func (w within) QueryRow(ctx context.Context, sql string, args ...any) pgx.Row {
	return w.conn.QueryRow(ctx, sql, args...)
}

func (w within) Conn() *pgx.Conn { return w.conn }
