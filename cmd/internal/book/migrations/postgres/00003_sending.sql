-- +goose Up
-- A job has the same identity in every book that it was sent to; received is the SHA-256 of what another book has last
-- sent, "" for nothing. A book on a server is not sent itself.
ALTER TABLE job ADD COLUMN identity TEXT NOT NULL DEFAULT replace(gen_random_uuid()::text, '-', '');
ALTER TABLE job ADD COLUMN received TEXT NOT NULL DEFAULT '';
ALTER TABLE stage ADD COLUMN received TEXT NOT NULL DEFAULT '';
CREATE UNIQUE INDEX job_identity ON job (identity);

-- What tells this book from others: one row.
CREATE TABLE itself (
    one      BOOLEAN PRIMARY KEY DEFAULT true CHECK (one),
    identity TEXT NOT NULL
);
INSERT INTO itself (identity) VALUES (replace(gen_random_uuid()::text, '-', ''));

-- The usual compression of a text costs the server as much time as everything else of a result together.
-- +goose StatementBegin
DO $$ BEGIN
    EXECUTE 'ALTER TABLE report ALTER COLUMN fit SET COMPRESSION lz4';
EXCEPTION WHEN feature_not_supported OR syntax_error THEN -- built without it, or older than PostgreSQL 14
    NULL;
END $$;
-- +goose StatementEnd
