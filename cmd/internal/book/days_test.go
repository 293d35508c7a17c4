package book

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"testing"

	"conewright/ts/measured"
)

// The results of some days are found by their day, without a look at those of all others.
func testDaysAreFound(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	b, _ := filled(t, place(t))
	n, err := b.NewJob(ctx, Job{Opened: day})
	if err != nil {
		t.Fatal(err)
	}
	later := sweepOf(t, "later", measured.Load{})
	later.Added = day.AddDate(0, 0, 2)
	if err := b.Add(ctx, Addition{Ref: Ref{n, "left", AsReceived}, Sweeps: []NewSweep{later}, Result: resultOf(44)}); err != nil {
		t.Fatal(err)
	}
	wanted := Days{From: "2026-03-05", To: "2026-03-06"}
	var found []string
	if err := b.EachMeasured(ctx, wanted, func(m Measured) error { found = append(found, m.Ref.String()); return nil }); err != nil || fmt.Sprint(found) != "[job:2/left/as-received]" {
		t.Errorf("%v, %v", found, err)
	}
	query, args := b.ofDays(wanted)
	var plan []string
	err = b.oneMoment(ctx, func(tx *sql.Tx) error {
		explain := "EXPLAIN QUERY PLAN "
		if b.FolderOf() == "" {
			explain = "EXPLAIN "
			if _, err := tx.ExecContext(ctx, "SET LOCAL enable_seqscan = off"); err != nil { // as if the tables were large
				return err
			}
		}
		return eachRow(ctx, tx, func(rows *sql.Rows) error {
			columns, err := rows.Columns()
			if err != nil {
				return err
			}
			line := make([]any, len(columns))
			for i := range line {
				line[i] = new(sql.NullString)
			}
			err = rows.Scan(line...)
			plan = append(plan, line[len(line)-1].(*sql.NullString).String)
			return err
		}, explain+query, args...)
	})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(strings.Join(plan, "\n"), "result_measured") {
		t.Errorf("the day is not looked up:\n%s", strings.Join(plan, "\n"))
	}
}
