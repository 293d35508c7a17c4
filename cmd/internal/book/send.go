package book

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"slices"

	"conewright/ts/notice"
)

// A book in a folder is sent to another one, mostly on a server, in steps: a job with what it says of itself, and each of
// its stages. A step is one change of the other book. It is known by the identity of the job and the hash of what is
// sent, so that one whose answer was lost changes nothing when it comes again.

// Sent is one step that was made, or refused.
type Sent struct {
	Ref   Ref // of a job as a whole, or of one of its stages
	There int // the number of the job in the other book
	New   bool
	Err   error // why the other book does not have it; the steps after it are made all the same
}

// unsentStage is a stage that has changed since it was sent.
type unsentStage struct {
	id  int64
	ref Ref
}

// Send brings what has changed since the last time into another book: jobs in the order of their numbers, stages in
// the order in which they began. With all, it is not relied on what the other book is known to have. Said is told of every
// step. An error is the trouble of a book as a whole; what was sent before it is not sent again.
func (b *Book) Send(ctx context.Context, to *Book, all bool, said func(Sent)) error {
	if err := b.receiver(ctx, to, all); err != nil {
		return err
	}
	jobs, stages, err := b.unsent(ctx)
	if err != nil {
		return err
	}
	refused := map[int]bool{}
	step := func(ref Ref, make func() (Sent, error)) error {
		s, err := make()
		switch {
		case hasCode(err, "book-missing"):
			return nil // deleted meanwhile
		case err != nil && !hasCode(err, ofOneStep...):
			return err
		case err != nil && ref.Stage == "":
			refused[ref.Job] = true
		}
		s.Ref, s.Err = ref, err
		said(s)
		return nil
	}
	jobsUpTo := func(number int) error {
		for len(jobs) > 0 && jobs[0] <= number {
			if err := step(Ref{Job: jobs[0]}, func() (Sent, error) { return b.sendJob(ctx, to, jobs[0]) }); err != nil {
				return err
			}
			jobs = jobs[1:]
		}
		return nil
	}
	for _, s := range stages {
		if err := jobsUpTo(s.ref.Job); err != nil {
			return err
		}
		if refused[s.ref.Job] {
			continue
		}
		if err := step(s.ref, func() (Sent, error) { return b.sendStage(ctx, to, s) }); err != nil {
			return err
		}
	}
	if len(jobs) > 0 {
		return jobsUpTo(jobs[len(jobs)-1])
	}
	return nil
}

// ofOneStep are the codes of errors that are about a job or a stage alone.
var ofOneStep = []string{"book-lost-file", "book-changed-file", "book-same-sweep", "send-deleted", "send-other-sweeps"}

func hasCode(err error, codes ...string) bool {
	var n *notice.Notice
	return errors.As(err, &n) && slices.Contains(codes, n.Code)
}

// receiver notes to which book this one is sent. What another one had is forgotten.
func (b *Book) receiver(ctx context.Context, to *Book, all bool) error {
	if b.FolderOf() == "" {
		return notice.New("send-from-server", notice.Facts{"path": b.Name()})
	}
	const identity = `SELECT identity FROM itself`
	var ours, theirs, last string
	if err := to.db.QueryRowContext(ctx, identity).Scan(&theirs); err != nil {
		return to.wrong(err)
	}
	return b.write(ctx, func(tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, identity).Scan(&ours); err != nil {
			return err
		}
		if ours == theirs {
			return notice.New("send-itself", notice.Facts{"path": b.Name()})
		}
		if err := tx.QueryRowContext(ctx, `SELECT coalesce((SELECT identity FROM receiver), '')`).Scan(&last); err != nil {
			return err
		}
		if last != theirs || all {
			for _, table := range []string{`job_change SET sent = 0, there = 0`, `stage_change SET sent = 0`} {
				if _, err := tx.ExecContext(ctx, `UPDATE `+table); err != nil {
					return err
				}
			}
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO receiver (one, identity, place) VALUES (1, $1, $2) ON CONFLICT (one) DO UPDATE SET identity = $1, place = $2`,
			theirs, cmp.Or(to.FolderOf(), to.Name()))
		return err
	})
}

// unsent lists what is to be sent: numbers of jobs, and stages, each of which has its job among the sent or these.
func (b *Book) unsent(ctx context.Context) (jobs []int, stages []unsentStage, err error) {
	err = b.oneMoment(ctx, func(tx *sql.Tx) error {
		err := eachRow(ctx, tx, func(rows *sql.Rows) error {
			var n int
			err := rows.Scan(&n)
			jobs = append(jobs, n)
			return err
		}, `SELECT job FROM job_change WHERE changes > sent ORDER BY job`)
		if err != nil {
			return err
		}
		return eachRow(ctx, tx, func(rows *sql.Rows) error {
			var s unsentStage
			err := rows.Scan(&s.id, &s.ref.Job, &s.ref.Side, &s.ref.Stage)
			stages = append(stages, s)
			return err
		}, `SELECT s.id, d.job, d.side, s.name FROM stage_change c JOIN stage s ON s.id = c.stage JOIN driver d ON d.id = s.driver
			WHERE c.changes > c.sent ORDER BY s.id`)
	})
	return jobs, stages, err
}

// sendJob sends what a job says of itself.
func (b *Book) sendJob(ctx context.Context, to *Book, number int) (Sent, error) {
	var identity string
	var changes, there int
	j := Job{Number: number}
	err := b.oneMoment(ctx, func(tx *sql.Tx) error {
		var opened string
		err := tx.QueryRowContext(ctx, `SELECT j.identity, c.changes, c.there, j.title, j.customer, j.contact, j.work, j.opened
			FROM job j JOIN job_change c ON c.job = j.number WHERE j.number = $1`, number).
			Scan(&identity, &changes, &there, &j.Title, &j.Customer, &j.Contact, &j.Work, &opened)
		j.Opened = moment(opened)
		if err == sql.ErrNoRows {
			return missing(Ref{Job: number}) // deleted meanwhile
		}
		return err
	})
	if err != nil {
		return Sent{}, err
	}
	s, err := to.receiveJob(ctx, identity, j, there > 0)
	if err != nil {
		return s, err
	}
	return s, b.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE job_change SET sent = max(sent, $1), there = $2 WHERE job = $3`, changes, s.There, number)
		return err
	})
}

// sendStage sends a stage with its driver, its raw files first.
func (b *Book) sendStage(ctx context.Context, to *Book, at unsentStage) (Sent, error) {
	var identity string
	var changes int
	var d Driver
	err := b.oneMoment(ctx, func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, `SELECT j.identity, c.changes FROM job j, stage_change c WHERE j.number = $1 AND c.stage = $2`, at.ref.Job, at.id).Scan(&identity, &changes)
		if err == sql.ErrNoRows {
			return missing(at.ref) // deleted meanwhile
		}
		if err == nil {
			d, err = readDriver(ctx, tx, at.ref)
		}
		return err
	})
	if err != nil {
		return Sent{}, err
	}
	s, _ := d.Stage(at.ref.Stage)
	d.Stages = []Stage{s}
	var files []File
	for _, hash := range hashesOf(Job{Drivers: []Driver{d}}) {
		f := File{Path: b.RawPath(hash), SHA256: hash}
		if _, err := os.Stat(f.Path); errors.Is(err, fs.ErrNotExist) {
			return Sent{}, notice.New("book-lost-file", notice.Facts{"path": f.Path})
		}
		files = append(files, f)
	}
	sent, err := to.receiveStage(ctx, identity, at.ref, d, files)
	var n *notice.Notice
	switch {
	case errors.As(err, &n) && n.Code == "book-other-content":
		return sent, notice.New("book-changed-file", notice.Facts{"path": b.RawPath(n.Text("hash"))})
	case err != nil:
		return sent, err
	}
	return sent, b.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE stage_change SET sent = max(sent, $1) WHERE stage = $2`, changes, at.id)
		return err
	})
}

// Outgoing is what a book has sent, and what it still has to send.
type Outgoing struct {
	Place  string      // the book that it is sent to; "" for none
	There  map[int]int // the number that a job has there, by its own
	Jobs   map[int]bool
	Stages map[int]int // how many are to be sent, by the number of their job
}

// Outgoing says how far the sending is.
func (b *Book) Outgoing(ctx context.Context) (Outgoing, error) {
	o := Outgoing{There: map[int]int{}, Jobs: map[int]bool{}, Stages: map[int]int{}}
	if b.FolderOf() == "" {
		return o, nil
	}
	err := b.read(ctx, func(rows *sql.Rows) error { return rows.Scan(&o.Place) }, `SELECT place FROM receiver`)
	if err != nil || o.Place == "" {
		return o, err
	}
	err = b.read(ctx, func(rows *sql.Rows) error {
		var number, there int
		err := rows.Scan(&number, &there)
		o.There[number] = there
		return err
	}, `SELECT job, there FROM job_change WHERE there > 0`)
	if err != nil {
		return o, err
	}
	jobs, stages, err := b.unsent(ctx)
	for _, n := range jobs {
		o.Jobs[n] = true
	}
	for _, s := range stages {
		o.Stages[s.ref.Job]++
	}
	return o, err
}
