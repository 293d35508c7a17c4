-- +goose Up
-- What the sweeps of a stage in the cabinet say of the box. The driver in it is not one in free air, so these stages have no
-- row in result; "job recompute" computes those that were held against the driver's sheet before.
CREATE TABLE cabinet (
    stage    INTEGER PRIMARY KEY REFERENCES stage ON DELETE CASCADE,
    kind     TEXT NOT NULL,             -- as stated: "closed", "vented"; "" if not said
    volume   TEXT NOT NULL,             -- as stated, with its unit; "" if not said
    tuning   TEXT NOT NULL,
    free     TEXT NOT NULL,             -- the stage whose driver it was held against; "" for none
    made     TEXT NOT NULL,
    version  TEXT NOT NULL,
    verdict  TEXT NOT NULL,             -- by the limits for the box in the sheet of the driver; "" without one
    report   TEXT NOT NULL              -- JSON (conewright/cabinet/1)
) STRICT;
DELETE FROM report WHERE stage IN (SELECT id FROM stage WHERE name = 'in-cabinet' OR name LIKE 'in-cabinet-%');
DELETE FROM result WHERE stage IN (SELECT id FROM stage WHERE name = 'in-cabinet' OR name LIKE 'in-cabinet-%');

-- A part of the network, measured at the stage "parts", and the known things that were recorded with the same leads.
CREATE TABLE part (
    id         INTEGER PRIMARY KEY,
    stage      INTEGER NOT NULL REFERENCES stage ON DELETE CASCADE,
    sha256     TEXT NOT NULL,           -- of its recording among the raw files
    name       TEXT NOT NULL,           -- of the file when it was added
    open       TEXT NOT NULL,           -- SHA-256 of the recording of the open lead ends; "" for none
    short      TEXT NOT NULL,           -- of the joined ones
    load       TEXT NOT NULL,           -- of the known resistor
    load_value TEXT NOT NULL,           -- its resistance, as stated
    kind       TEXT NOT NULL,           -- as stated: "capacitor", "coil", "resistor"; "" if not said
    nominal    TEXT NOT NULL,           -- as stated, with its unit; "" if not said
    tolerance  TEXT NOT NULL,
    operator   TEXT NOT NULL,
    added      TEXT NOT NULL,
    made       TEXT NOT NULL,
    version    TEXT NOT NULL,
    verdict    TEXT NOT NULL,           -- by nominal value and tolerance; "" without
    report     TEXT NOT NULL,           -- JSON (conewright/part/1)
    UNIQUE (stage, sha256)
) STRICT;
CREATE INDEX part_sha256 ON part (sha256);
