package book

import (
	"context"
	"database/sql"
)

// usedFiles are the hashes of the raw files that jobs refer to.
func usedFiles(ctx context.Context, tx *sql.Tx) (map[string]bool, error) {
	used := map[string]bool{}
	err := eachRow(ctx, tx, func(rows *sql.Rows) error {
		var hash string
		err := rows.Scan(&hash)
		used[hash] = true
		return err
	}, `SELECT sha256 FROM sweep UNION SELECT calibration FROM stage UNION SELECT sheet FROM driver`)
	delete(used, "") // no calibration, no sheet
	return used, err
}

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
		used, err := usedFiles(ctx, tx)
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
