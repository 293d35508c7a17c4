-- +goose Up
-- The same tables as in a folder, in the types of PostgreSQL.
CREATE TABLE job (
    number   BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY, -- a number is never given twice
    title    TEXT NOT NULL,
    customer TEXT NOT NULL,
    contact  TEXT NOT NULL,
    work     TEXT NOT NULL,             -- what was done, in the words of the customer's sheet
    opened   TEXT NOT NULL              -- all times: RFC 3339 in UTC
);

CREATE TABLE driver (
    id         BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    job        BIGINT NOT NULL REFERENCES job ON DELETE CASCADE,
    side       TEXT NOT NULL,           -- "left"; of a lot the name of the unit
    type       TEXT NOT NULL,
    serial     TEXT NOT NULL,
    sheet      TEXT NOT NULL,           -- SHA-256 of the spec sheet among the raw files; "" for none
    sheet_name TEXT NOT NULL,           -- name of its file
    UNIQUE (job, side)
);
CREATE INDEX driver_serial ON driver (serial);
CREATE INDEX driver_type ON driver (type);
CREATE INDEX driver_sheet ON driver (sheet); -- a deletion asks whether a sheet is still used

CREATE TABLE stage (
    id          BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY, -- in the order of the work
    driver      BIGINT NOT NULL REFERENCES driver ON DELETE CASCADE,
    name        TEXT NOT NULL,          -- "as-received"
    bench       TEXT NOT NULL,          -- JSON: the bench options by name
    calibration TEXT NOT NULL,          -- SHA-256 of the calibration among the raw files; "" for none
    UNIQUE (driver, name)
);
CREATE INDEX stage_calibration ON stage (calibration);

CREATE TABLE sweep (
    id         BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    stage      BIGINT NOT NULL REFERENCES stage ON DELETE CASCADE,
    sha256     TEXT NOT NULL,           -- of the raw file
    name       TEXT NOT NULL,           -- of the file when it was added
    load       TEXT NOT NULL,           -- "free", "mass", "box"
    load_value DOUBLE PRECISION NOT NULL, -- kg, m^3
    load_std   DOUBLE PRECISION NOT NULL,
    repeat     TEXT NOT NULL,           -- what changed since the sweep before: "again", "re-clamped", ...; "" if not said
    operator   TEXT NOT NULL,
    added      TEXT NOT NULL,
    version    TEXT NOT NULL,           -- of the program
    UNIQUE (stage, sha256)
);
CREATE INDEX sweep_sha256 ON sweep (sha256);

-- What was computed from the sweeps of a stage, in SI units; NULL: the sweeps do not give it.
CREATE TABLE result (
    stage    BIGINT PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    measured TEXT NOT NULL,             -- when the last of the sweeps was added; here so that lists are fast
    made     TEXT NOT NULL,
    version  TEXT NOT NULL,
    verdict  TEXT NOT NULL,             -- against the sheet of the driver; "" without one
    Re  DOUBLE PRECISION, Re_std  DOUBLE PRECISION,
    Fs  DOUBLE PRECISION, Fs_std  DOUBLE PRECISION,
    Qms DOUBLE PRECISION, Qms_std DOUBLE PRECISION,
    Qes DOUBLE PRECISION, Qes_std DOUBLE PRECISION,
    Qts DOUBLE PRECISION, Qts_std DOUBLE PRECISION,
    Mms DOUBLE PRECISION, Mms_std DOUBLE PRECISION,
    Cms DOUBLE PRECISION, Cms_std DOUBLE PRECISION,
    Rms DOUBLE PRECISION, Rms_std DOUBLE PRECISION,
    BL  DOUBLE PRECISION, BL_std  DOUBLE PRECISION,
    Vas DOUBLE PRECISION, Vas_std DOUBLE PRECISION
);

-- The whole result as JSON (conewright/fit/1), apart from the values: lists do not read it.
CREATE TABLE report (
    stage BIGINT PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    fit   TEXT NOT NULL
);

-- Where the raw files are, for all benches: one row.
CREATE TABLE raw (
    one   BOOLEAN PRIMARY KEY DEFAULT true CHECK (one),
    place TEXT NOT NULL
);
