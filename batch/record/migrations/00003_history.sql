-- Necks whose inspections were taken from elsewhere, the search by a part of a serial number, and what is counted beside
-- the rows so that a million necks need no scan.
-- +goose Up
-- +goose StatementBegin
CREATE TABLE imports (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  batch_id TEXT NOT NULL REFERENCES batches (id), origin TEXT NOT NULL, source TEXT NOT NULL, sha256 TEXT NOT NULL,
  first_neck INTEGER NOT NULL, last_neck INTEGER NOT NULL
);
CREATE INDEX imports_file ON imports (sha256);
CREATE INDEX imports_necks ON imports (first_neck);

-- The gauges of a verdict without readings of its own, as JSON.
ALTER TABLE verdicts ADD COLUMN gauges TEXT NOT NULL DEFAULT '';

CREATE VIRTUAL TABLE serial_parts USING fts5 (serial, content = 'necks', content_rowid = 'ord', tokenize = 'trigram');
INSERT INTO serial_parts (serial_parts) VALUES ('rebuild');

-- Derived: the first judged inspection of each neck, in the record's local time at writing.
CREATE TABLE neck_first (
  neck_ord INTEGER PRIMARY KEY REFERENCES necks (ord), batch_ord INTEGER NOT NULL, verdict_ord INTEGER NOT NULL, at INTEGER NOT NULL,
  month INTEGER NOT NULL, weekday INTEGER NOT NULL, hour INTEGER NOT NULL, inspector TEXT NOT NULL, station TEXT NOT NULL,
  gauges TEXT NOT NULL, temperature_c REAL, humidity_percent REAL, passed INTEGER NOT NULL, final INTEGER NOT NULL,
  near INTEGER NOT NULL, reason TEXT NOT NULL, failing TEXT NOT NULL
);
CREATE INDEX neck_first_order ON neck_first (batch_ord, at, neck_ord);
CREATE INDEX neck_first_time ON neck_first (at, neck_ord);

-- Derived: sums over neck_first.
CREATE TABLE first_tally (
  batch_ord INTEGER NOT NULL, month INTEGER NOT NULL, dimension TEXT NOT NULL, value TEXT NOT NULL,
  inspected INTEGER NOT NULL, passed INTEGER NOT NULL, final INTEGER NOT NULL,
  PRIMARY KEY (batch_ord, month, dimension, value)
) WITHOUT ROWID;

-- Derived: sums over the limited characteristics of those verdicts; s1 and s2 are the sums of (value - ref) and of its
-- square, with a ref among the values so that no digits cancel.
CREATE TABLE characteristic_tally (
  batch_ord INTEGER NOT NULL, month INTEGER NOT NULL, gauge_id TEXT NOT NULL, name TEXT NOT NULL, track TEXT NOT NULL,
  string INTEGER NOT NULL, fret INTEGER NOT NULL, held_fret INTEGER NOT NULL, unit TEXT NOT NULL,
  n INTEGER NOT NULL, ref REAL NOT NULL, s1 REAL NOT NULL, s2 REAL NOT NULL,
  nonconforming INTEGER NOT NULL, undecided INTEGER NOT NULL, unmeasured INTEGER NOT NULL, near INTEGER NOT NULL,
  PRIMARY KEY (batch_ord, month, gauge_id, name, track, string, fret, held_fret, unit)
) WITHOUT ROWID;

-- Necks of an older record that are not counted yet; opening the record counts them.
CREATE TABLE uncounted (neck_id TEXT PRIMARY KEY) WITHOUT ROWID;
INSERT INTO uncounted SELECT neck_id FROM neck_status WHERE judged > 0;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER necks_searched AFTER INSERT ON necks BEGIN INSERT INTO serial_parts (rowid, serial) VALUES (NEW.ord, NEW.serial); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER imports_not_changed BEFORE UPDATE ON imports BEGIN SELECT RAISE(ABORT, 'rows of imports are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER imports_not_removed BEFORE DELETE ON imports BEGIN SELECT RAISE(ABORT, 'rows of imports are never removed'); END;
-- +goose StatementEnd
