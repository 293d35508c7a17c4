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
	}, `SELECT sha256 FROM sweep UNION SELECT calibration FROM stage UNION SELECT sheet FROM driver
		UNION SELECT sha256 FROM part UNION SELECT open FROM part UNION SELECT short FROM part UNION SELECT load FROM part`)
	delete(used, "") // no calibration, no sheet, no known thing
	return used, err
}

// Delete removes a job with all that belongs to it: rows are overwritten in the file of a folder,
// raw files go that no other job uses. Copies that were made outside the book stay.
func (b *Book) Delete(ctx context.Context, number int) error {
	var hashes []string
	err := b.writeAlone(ctx, func(tx *sql.Tx) error {
		j, err := readJob(ctx, tx, number)
		if err != nil {
			return err
		}
		hashes = hashesOf(j)
		_, err = tx.ExecContext(ctx, `DELETE FROM job WHERE number = $1`, number)
		return err
	})
	if err != nil {
		return err
	}
	// No file may be taken up again by an addition while it is being removed, so this
	// is alone too.
	err = b.writeAlone(ctx, func(tx *sql.Tx) error {
		for _, hash := range hashes {
			var used bool
			err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM sweep WHERE sha256 = $1)
				OR EXISTS (SELECT 1 FROM stage WHERE calibration = $1) OR EXISTS (SELECT 1 FROM driver WHERE sheet = $1)
				OR EXISTS (SELECT 1 FROM part WHERE $1 IN (sha256, open, short, load))`, hash).Scan(&used)
			if err != nil {
				return err
			}
			if !used {
				if err := b.raw.Remove(ctx, hash); err != nil {
					return err
				}
			}
		}
		return b.home.dropped(ctx, tx)
	})
	if err != nil {
		return err
	}
	return b.wrong(b.home.scrub(ctx, b.db))
}
