-- +goose Up
-- A number is never given to two jobs, not even after the first was deleted.
CREATE TABLE job (
    number   INTEGER PRIMARY KEY AUTOINCREMENT,
    title    TEXT NOT NULL,
    customer TEXT NOT NULL,
    contact  TEXT NOT NULL,
    work     TEXT NOT NULL,             -- what was done, in the words of the customer's sheet
    opened   TEXT NOT NULL              -- all times: RFC 3339 in UTC
) STRICT;

CREATE TABLE driver (
    id         INTEGER PRIMARY KEY,
    job        INTEGER NOT NULL REFERENCES job ON DELETE CASCADE,
    side       TEXT NOT NULL,           -- "left"; of a lot the name of the unit
    type       TEXT NOT NULL,
    serial     TEXT NOT NULL,
    sheet      TEXT NOT NULL,           -- SHA-256 of the spec sheet among the raw files; "" for none
    sheet_name TEXT NOT NULL,           -- name of its file
    UNIQUE (job, side)
) STRICT;
CREATE INDEX driver_serial ON driver (serial);
CREATE INDEX driver_type ON driver (type);

CREATE TABLE stage (
    id          INTEGER PRIMARY KEY,    -- in the order of the work
    driver      INTEGER NOT NULL REFERENCES driver ON DELETE CASCADE,
    name        TEXT NOT NULL,          -- "as-received"
    bench       TEXT NOT NULL,          -- JSON: the bench options by name
    calibration TEXT NOT NULL,          -- SHA-256 of the calibration among the raw files; "" for none
    UNIQUE (driver, name)
) STRICT;

CREATE TABLE sweep (
    id         INTEGER PRIMARY KEY,
    stage      INTEGER NOT NULL REFERENCES stage ON DELETE CASCADE,
    sha256     TEXT NOT NULL,           -- of the raw file
    name       TEXT NOT NULL,           -- of the file when it was added
    load       TEXT NOT NULL,           -- "free", "mass", "box"
    load_value REAL NOT NULL,           -- kg, m^3
    load_std   REAL NOT NULL,
    repeat     TEXT NOT NULL,           -- what changed since the sweep before: "again", "re-clamped", ...; "" if not said
    operator   TEXT NOT NULL,
    added      TEXT NOT NULL,
    version    TEXT NOT NULL,           -- of the program
    UNIQUE (stage, sha256)
) STRICT;
CREATE INDEX sweep_sha256 ON sweep (sha256);

-- What was computed from the sweeps of a stage, in SI units; NULL: the sweeps do not give it.
CREATE TABLE result (
    stage    INTEGER PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    measured TEXT NOT NULL,             -- when the last of the sweeps was added; here so that lists are fast
    made     TEXT NOT NULL,
    version  TEXT NOT NULL,
    verdict  TEXT NOT NULL,             -- against the sheet of the driver; "" without one
    Re  REAL, Re_std  REAL,
    Fs  REAL, Fs_std  REAL,
    Qms REAL, Qms_std REAL,
    Qes REAL, Qes_std REAL,
    Qts REAL, Qts_std REAL,
    Mms REAL, Mms_std REAL,
    Cms REAL, Cms_std REAL,
    Rms REAL, Rms_std REAL,
    BL  REAL, BL_std  REAL,
    Vas REAL, Vas_std REAL
) STRICT;

-- The whole result as JSON (conewright/fit/1), apart from the values: lists do not read it.
CREATE TABLE report (
    stage INTEGER PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    fit   TEXT NOT NULL
) STRICT;
