package book

import (
	"context"
	"io/fs"
	"testing"

	"github.com/pressly/goose/v3"
)

// A book in the first form is brought to the newest one with what is in it: its jobs get identities, and are to be sent.
func testOlderForm(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	at := place(t)
	h, err := homeAt(at)
	if err != nil {
		t.Fatal(err)
	}
	db, err := h.connect()
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := h.mark(ctx, db); err != nil {
		t.Fatal(err)
	}
	name, dialect := h.schema()
	scripts, err := fs.Sub(migrations, "migrations/"+name)
	if err != nil {
		t.Fatal(err)
	}
	provider, err := goose.NewProvider(dialect, db, scripts)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := provider.UpTo(ctx, 1); err != nil {
		t.Fatal(err)
	}
	for _, s := range []string{
		`INSERT INTO job (title, customer, contact, work, opened) VALUES ('one', '', '', '', '2026-03-04T10:00:00Z'), ('two', '', '', '', '2026-03-04T10:00:00Z')`,
		`INSERT INTO driver (job, side, type, serial, sheet, sheet_name) VALUES (2, 'left', '', '', '', '')`,
		`INSERT INTO stage (driver, name, bench, calibration) VALUES (1, 'as-received', '{}', '')`,
	} {
		if _, err := db.ExecContext(ctx, s); err != nil {
			t.Fatal(err)
		}
	}
	b := open(t, at)
	var jobs, identities int
	if err := b.db.QueryRowContext(ctx, `SELECT count(*), count(DISTINCT identity) FROM job WHERE identity <> ''`).Scan(&jobs, &identities); err != nil || jobs != 2 || identities != 2 {
		t.Errorf("%d jobs with %d identities, %v", jobs, identities, err)
	}
	if b.FolderOf() == "" {
		return
	}
	to := open(t, t.TempDir())
	if made, refused := send(t, b, to, false); len(made) != 3 || len(refused) > 0 {
		t.Errorf("%v, %v", made, refused)
	}
	sameJobs(t, to, b)
}
