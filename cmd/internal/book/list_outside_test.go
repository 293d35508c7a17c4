//go:build outside && unix

package book

import (
	"context"
	"database/sql"
	"strings"
	"testing"

	"conewright/cmd/internal/pgtest"
)

// The newest stage of a job is looked up among its own: a server that goes through those of all jobs needs a minute for a list of
// 50 jobs with 500 units each.
func TestOutsideLastStagePlan(t *testing.T) {
	ctx := context.Background()
	s := pgtest.Start(t, "fsync = off")
	t.Setenv(RawVariable, t.TempDir())
	address := s.Database(t)
	b := open(t, address)
	s.SQL(t, address, `SET search_path = conewright;
		INSERT INTO job (title, customer, contact, work, opened) SELECT 'Lot', '', '', '', '' FROM generate_series(1, 100);
		INSERT INTO driver (job, side, type, serial, sheet, sheet_name) SELECT 1 + i / 200, 'u' || i, '', '', '', '' FROM generate_series(0, 19999) i;
		INSERT INTO stage (driver, name, bench, calibration) SELECT id, 'as-received', '{}', '' FROM driver ORDER BY id;
		ANALYZE;`)
	var plan []string
	err := b.read(ctx, func(rows *sql.Rows) error {
		var line string
		err := rows.Scan(&line)
		plan = append(plan, line)
		return err
	}, `EXPLAIN SELECT (`+lastStage+`) FROM job j ORDER BY j.number DESC LIMIT 50`)
	if err != nil {
		t.Fatal(err)
	}
	if whole := strings.Join(plan, "\n"); !strings.Contains(whole, "driver_job_side_key") || strings.Contains(whole, "Backward using stage_pkey") {
		t.Error(whole)
	}
}
