-- Instruments over their lives. An instrument is known by its serial number; what is known of it is told again, and the newest row counts. A visit
-- is a batch of the one neck with a specification of its own, so a serial number is registered once a batch, no more once a station.
-- +goose Up
PRAGMA legacy_alter_table = ON;
CREATE TABLE new_necks (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  batch_id TEXT NOT NULL REFERENCES batches (id), serial TEXT NOT NULL,
  UNIQUE (serial, batch_id, station)
);
INSERT INTO new_necks (ord, id, station, at, by, batch_id, serial) SELECT ord, id, station, at, by, batch_id, serial FROM necks ORDER BY ord;
DROP TABLE necks;
ALTER TABLE new_necks RENAME TO necks;
CREATE INDEX necks_batch ON necks (batch_id, ord);
PRAGMA legacy_alter_table = OFF;

CREATE TABLE instruments (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  serial TEXT NOT NULL, kind TEXT NOT NULL, maker_number TEXT NOT NULL
);
CREATE INDEX instruments_serial ON instruments (serial, ord);
CREATE TABLE owners (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  serial TEXT NOT NULL, name TEXT NOT NULL, contact TEXT NOT NULL
);
CREATE INDEX owners_serial ON owners (serial, ord);
CREATE TABLE visits (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  serial TEXT NOT NULL, number INTEGER NOT NULL, batch_id TEXT NOT NULL REFERENCES batches (id), wishes TEXT NOT NULL,
  UNIQUE (batch_id, station), UNIQUE (serial, number, station)
);
CREATE TABLE visit_ends (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  visit_id TEXT NOT NULL REFERENCES visits (id), words TEXT NOT NULL,
  UNIQUE (visit_id, station)
);
CREATE TABLE string_sets (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  serial TEXT NOT NULL, fitted TEXT NOT NULL, name TEXT NOT NULL, strings TEXT NOT NULL
);
CREATE INDEX string_sets_serial ON string_sets (serial, ord);
CREATE TABLE instrument_notes (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  serial TEXT NOT NULL, visit_id TEXT NOT NULL, text TEXT NOT NULL
);
CREATE INDEX instrument_notes_serial ON instrument_notes (serial, ord);
CREATE TABLE promises (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  serial TEXT NOT NULL, due TEXT NOT NULL, what TEXT NOT NULL
);
CREATE INDEX promises_serial ON promises (serial, ord);
CREATE TABLE promise_ends (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  promise_id TEXT NOT NULL REFERENCES promises (id), words TEXT NOT NULL,
  UNIQUE (promise_id, station)
);
CREATE TABLE photographs (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  serial TEXT NOT NULL, visit_id TEXT NOT NULL, pin TEXT NOT NULL, digest TEXT NOT NULL, width INTEGER NOT NULL, height INTEGER NOT NULL,
  bytes INTEGER NOT NULL, caption TEXT NOT NULL
);
CREATE INDEX photographs_serial ON photographs (serial, ord);
CREATE INDEX photographs_digest ON photographs (digest);
CREATE TABLE photograph_ends (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  photograph_id TEXT NOT NULL REFERENCES photographs (id), words TEXT NOT NULL,
  UNIQUE (photograph_id, station)
);
CREATE TABLE houses (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL, kind TEXT NOT NULL
);

-- +goose StatementBegin
CREATE TRIGGER necks_not_changed BEFORE UPDATE ON necks BEGIN SELECT RAISE(ABORT, 'rows of necks are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER necks_not_removed BEFORE DELETE ON necks BEGIN SELECT RAISE(ABORT, 'rows of necks are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER instruments_not_changed BEFORE UPDATE ON instruments BEGIN SELECT RAISE(ABORT, 'rows of instruments are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER instruments_not_removed BEFORE DELETE ON instruments BEGIN SELECT RAISE(ABORT, 'rows of instruments are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER owners_not_changed BEFORE UPDATE ON owners BEGIN SELECT RAISE(ABORT, 'rows of owners are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER owners_not_removed BEFORE DELETE ON owners BEGIN SELECT RAISE(ABORT, 'rows of owners are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER visits_not_changed BEFORE UPDATE ON visits BEGIN SELECT RAISE(ABORT, 'rows of visits are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER visits_not_removed BEFORE DELETE ON visits BEGIN SELECT RAISE(ABORT, 'rows of visits are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER visit_ends_not_changed BEFORE UPDATE ON visit_ends BEGIN SELECT RAISE(ABORT, 'rows of visit_ends are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER visit_ends_not_removed BEFORE DELETE ON visit_ends BEGIN SELECT RAISE(ABORT, 'rows of visit_ends are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER string_sets_not_changed BEFORE UPDATE ON string_sets BEGIN SELECT RAISE(ABORT, 'rows of string_sets are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER string_sets_not_removed BEFORE DELETE ON string_sets BEGIN SELECT RAISE(ABORT, 'rows of string_sets are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER instrument_notes_not_changed BEFORE UPDATE ON instrument_notes BEGIN SELECT RAISE(ABORT, 'rows of instrument_notes are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER instrument_notes_not_removed BEFORE DELETE ON instrument_notes BEGIN SELECT RAISE(ABORT, 'rows of instrument_notes are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER promises_not_changed BEFORE UPDATE ON promises BEGIN SELECT RAISE(ABORT, 'rows of promises are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER promises_not_removed BEFORE DELETE ON promises BEGIN SELECT RAISE(ABORT, 'rows of promises are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER promise_ends_not_changed BEFORE UPDATE ON promise_ends BEGIN SELECT RAISE(ABORT, 'rows of promise_ends are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER promise_ends_not_removed BEFORE DELETE ON promise_ends BEGIN SELECT RAISE(ABORT, 'rows of promise_ends are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER photographs_not_changed BEFORE UPDATE ON photographs BEGIN SELECT RAISE(ABORT, 'rows of photographs are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER photographs_not_removed BEFORE DELETE ON photographs BEGIN SELECT RAISE(ABORT, 'rows of photographs are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER photograph_ends_not_changed BEFORE UPDATE ON photograph_ends BEGIN SELECT RAISE(ABORT, 'rows of photograph_ends are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER photograph_ends_not_removed BEFORE DELETE ON photograph_ends BEGIN SELECT RAISE(ABORT, 'rows of photograph_ends are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER houses_not_changed BEFORE UPDATE ON houses BEGIN SELECT RAISE(ABORT, 'rows of houses are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER houses_not_removed BEFORE DELETE ON houses BEGIN SELECT RAISE(ABORT, 'rows of houses are never removed'); END;
-- +goose StatementEnd

-- Every table that refers to necks, and necks itself.
CREATE TEMP TABLE orphans (of TEXT, row INTEGER, parent TEXT, reference INTEGER, CONSTRAINT "a row refers to one that is not there" CHECK (false));
INSERT INTO orphans SELECT f.* FROM sqlite_schema s JOIN pragma_foreign_key_check(s.name) f WHERE s.type = 'table' AND s.name <> 'characteristics';
DROP TABLE orphans;
