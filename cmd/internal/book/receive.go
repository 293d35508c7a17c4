package book

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"slices"

	"conewright/ts/notice"
)

// hashOfSent is the hash by which a book knows what it has received last.
func hashOfSent(v any) (string, error) {
	data, err := json.Marshal(v)
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:]), err
}

// receiveJob makes a job that another book sends one of this book, with what it says of itself. One that was
// known to be here and is not has been deleted here.
func (b *Book) receiveJob(ctx context.Context, identity string, j Job, known bool) (s Sent, err error) {
	hash, err := hashOfSent([]string{j.Title, j.Customer, j.Contact, j.Work, stamp(j.Opened)})
	if err != nil {
		return s, err
	}
	err = b.write(ctx, func(tx *sql.Tx) error {
		number, received, err := b.received(ctx, tx, identity)
		if err == sql.ErrNoRows {
			if known {
				return notice.New("send-deleted", notice.Facts{"ref": Ref{Job: j.Number}.String()})
			}
			// Another program may send the same job at this moment: then this waits for it.
			_, err = tx.ExecContext(ctx, `INSERT INTO job (title, customer, contact, work, opened, identity) VALUES ('', '', '', '', '', $1) ON CONFLICT DO NOTHING`, identity)
			if err != nil {
				return err
			}
			number, received, err = b.received(ctx, tx, identity)
		}
		s.There, s.New = number, received != hash
		if err != nil || !s.New {
			return err
		}
		_, err = tx.ExecContext(ctx, `UPDATE job SET title = $1, customer = $2, contact = $3, work = $4, opened = $5, received = $6 WHERE number = $7`,
			j.Title, j.Customer, j.Contact, j.Work, stamp(j.Opened), hash, number)
		return err
	})
	return s, err
}

// received finds the job with an identity, which no other change gets until this one is done, and what was last
// received of it.
func (b *Book) received(ctx context.Context, tx *sql.Tx, identity string) (number int, hash string, err error) {
	err = tx.QueryRowContext(ctx, `SELECT number, received FROM job WHERE identity = $1`+b.home.rowLock(), identity).Scan(&number, &hash)
	return number, hash, err
}

// receiveStage takes over the only stage that a driver is sent with: its sweeps are added to those that were received of it
// before, the rest is replaced. At is where it is in the book that sends it.
func (b *Book) receiveStage(ctx context.Context, identity string, at Ref, d Driver, files []File) (s Sent, err error) {
	from := d.Stages[0]
	hash, err := hashOfSent(d)
	if err != nil {
		return s, err
	}
	bench, err := benchJSON(from.Bench)
	if err != nil {
		return s, err
	}
	err = b.keeping(ctx, files, nil, func(tx *sql.Tx) error {
		number, _, err := b.received(ctx, tx, identity)
		if err == sql.ErrNoRows {
			return notice.New("send-deleted", notice.Facts{"ref": Ref{Job: at.Job}.String()})
		}
		if err != nil {
			return err
		}
		s.There = number
		driver, err := b.driverID(ctx, tx, Ref{Job: number, Side: d.Side}, true)
		if err != nil {
			return err
		}
		stage, received, err := receivedStage(ctx, tx, driver, from.Name)
		s.New = received != hash
		if err != nil || !s.New {
			return err
		}
		if err := receiveSweeps(ctx, tx, driver, stage, at, from.Sweeps); err != nil {
			return err
		}
		if err := describe(ctx, tx, driver, d); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `UPDATE stage SET bench = $1, calibration = $2, received = $3 WHERE id = $4`, bench, from.Calibration, hash, stage); err != nil {
			return err
		}
		return from.computed().save(ctx, tx, stage)
	})
	return s, err
}

// receivedStage finds or begins a stage, and says what was last received of it.
func receivedStage(ctx context.Context, tx *sql.Tx, driver int64, name string) (id int64, hash string, err error) {
	err = tx.QueryRowContext(ctx, `SELECT id, received FROM stage WHERE driver = $1 AND name = $2`, driver, name).Scan(&id, &hash)
	if err == sql.ErrNoRows {
		id, err = insert(ctx, tx, `INSERT INTO stage (driver, name, bench, calibration) VALUES ($1, $2, '{}', '') RETURNING id`, driver, name)
	}
	return id, hash, err
}

// receiveSweeps adds the sweeps that the stage does not have. Those that it has must be the first ones: they are never
// changed, and a result is of all sweeps of a stage.
func receiveSweeps(ctx context.Context, tx *sql.Tx, driver, stage int64, at Ref, sweeps []Sweep) error {
	var have []string
	err := eachRow(ctx, tx, func(rows *sql.Rows) error {
		var hash string
		err := rows.Scan(&hash)
		have = append(have, hash)
		return err
	}, `SELECT sha256 FROM sweep WHERE stage = $1 ORDER BY id`, stage)
	if err != nil {
		return err
	}
	var all []string
	for _, w := range sweeps {
		all = append(all, w.SHA256)
	}
	if len(have) > len(all) || !slices.Equal(have, all[:len(have)]) {
		return notice.New("send-other-sweeps", notice.Facts{"ref": at.String()})
	}
	for _, w := range sweeps[len(have):] {
		if err := insertSweep(ctx, tx, driver, stage, w.SHA256, w); err != nil {
			return err
		}
	}
	return nil
}
