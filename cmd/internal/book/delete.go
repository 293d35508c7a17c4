package book

import (
	"context"
	"database/sql"
)

// Delete removes a job with all that belongs to it: rows are overwritten in the file,
// raw files go that no other job uses. Copies that were made outside the book stay.
func (b *Book) Delete(ctx context.Context, number int) error {
	dropped := map[string]bool{}
	err := b.write(ctx, func(tx *sql.Tx) error {
		j, err := readJob(ctx, tx, number)
		if err != nil {
			return err
		}
		for _, h := range hashesOf(j) {
			dropped[h] = true
		}
		_, err = tx.ExecContext(ctx, `DELETE FROM job WHERE number = ?`, number)
		return err
	})
	if err != nil {
		return err
	}
	// No file may be taken up again by an addition while it is being removed, so this
	// is within the one writer's turn too.
	err = b.write(ctx, func(tx *sql.Tx) error {
		used := map[string]bool{}
		err := eachRow(ctx, tx, func(rows *sql.Rows) error {
			var hash string
			if err := rows.Scan(&hash); err != nil {
				return err
			}
			used[hash] = true
			return nil
		}, `SELECT sha256 FROM sweep UNION SELECT calibration FROM stage UNION SELECT sheet FROM driver`)
		if err != nil {
			return err
		}
		return b.removeUnused(used, dropped)
	})
	if err != nil {
		return err
	}
	// What was deleted still stands in the log of the last writes, and in pages that
	// are no longer used.
	if _, err := b.db.ExecContext(ctx, `VACUUM`); err != nil {
		return b.wrong(err)
	}
	_, err = b.db.ExecContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`)
	return b.wrong(err)
}
