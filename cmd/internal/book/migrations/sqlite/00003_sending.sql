-- +goose Up
-- A job has the same identity in every book that it was sent to; received is the SHA-256 of what another book has last
-- sent, "" for nothing.
ALTER TABLE job ADD COLUMN identity TEXT NOT NULL DEFAULT '';
ALTER TABLE job ADD COLUMN received TEXT NOT NULL DEFAULT '';
ALTER TABLE stage ADD COLUMN received TEXT NOT NULL DEFAULT '';
UPDATE job SET identity = lower(hex(randomblob(16)));
CREATE UNIQUE INDEX job_identity ON job (identity);

-- What tells this book from others: one row.
CREATE TABLE itself (
    one      INTEGER PRIMARY KEY CHECK (one = 1),
    identity TEXT NOT NULL
) STRICT;
INSERT INTO itself (one, identity) VALUES (1, lower(hex(randomblob(16))));

-- The book to which this one is sent: one row, or none.
CREATE TABLE receiver (
    one      INTEGER PRIMARY KEY CHECK (one = 1),
    identity TEXT NOT NULL,
    place    TEXT NOT NULL
) STRICT;

-- How often a job or a stage has changed, and how many of these changes the receiver has.
CREATE TABLE job_change (
    job     INTEGER PRIMARY KEY REFERENCES job ON DELETE CASCADE,
    changes INTEGER NOT NULL DEFAULT 1,
    sent    INTEGER NOT NULL DEFAULT 0,
    there   INTEGER NOT NULL DEFAULT 0  -- the number that the job has there; 0: not known to be there
) STRICT;
CREATE INDEX job_unsent ON job_change (job) WHERE changes > sent;
CREATE TABLE stage_change (
    stage   INTEGER PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    changes INTEGER NOT NULL DEFAULT 1,
    sent    INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX stage_unsent ON stage_change (stage) WHERE changes > sent;
INSERT INTO job_change (job) SELECT number FROM job;
INSERT INTO stage_change (stage) SELECT id FROM stage;

-- +goose StatementBegin
CREATE TRIGGER job_begun AFTER INSERT ON job BEGIN
    INSERT INTO job_change (job) VALUES (new.number);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER job_changed AFTER UPDATE OF title, customer, contact, work, opened ON job BEGIN
    UPDATE job_change SET changes = changes + 1 WHERE job = new.number;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER driver_changed AFTER UPDATE ON driver BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage IN (SELECT id FROM stage WHERE driver = new.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER stage_begun AFTER INSERT ON stage BEGIN
    INSERT INTO stage_change (stage) VALUES (new.id);
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER stage_changed AFTER UPDATE OF name, bench, calibration ON stage BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage = new.id;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sweep_added AFTER INSERT ON sweep BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage = new.stage;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER result_made AFTER INSERT ON result BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage = new.stage;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER result_changed AFTER UPDATE ON result BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage = new.stage;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER result_removed AFTER DELETE ON result BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage = old.stage;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER cabinet_made AFTER INSERT ON cabinet BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage = new.stage;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER cabinet_changed AFTER UPDATE ON cabinet BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage = new.stage;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER part_added AFTER INSERT ON part BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage = new.stage;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER part_changed AFTER UPDATE ON part BEGIN
    UPDATE stage_change SET changes = changes + 1 WHERE stage = new.stage;
END;
-- +goose StatementEnd
