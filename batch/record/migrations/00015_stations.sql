-- Rows of several stations can lie in one file: what must be unique is so in one station. A table whose uniqueness changes is
-- made anew with its rows, their order numbers and keys; meanwhile references are not checked (see unchecked), and before the
-- end those to the new tables are.
-- +goose Up
PRAGMA legacy_alter_table = ON;

CREATE TABLE new_batches (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  number TEXT NOT NULL, spec_id TEXT NOT NULL REFERENCES specs (id), planned INTEGER NOT NULL,
  pattern TEXT NOT NULL, note TEXT NOT NULL,
  UNIQUE (number, station)
);
INSERT INTO new_batches (ord, id, station, at, by, number, spec_id, planned, pattern, note)
SELECT ord, id, station, at, by, number, spec_id, planned, pattern, note FROM batches ORDER BY ord;
DROP TABLE batches;
ALTER TABLE new_batches RENAME TO batches;
CREATE INDEX batches_spec ON batches (spec_id);
-- +goose StatementBegin
CREATE TRIGGER batches_not_changed BEFORE UPDATE ON batches BEGIN SELECT RAISE(ABORT, 'rows of batches are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER batches_not_removed BEFORE DELETE ON batches BEGIN SELECT RAISE(ABORT, 'rows of batches are never removed'); END;
-- +goose StatementEnd

CREATE TABLE new_batch_closures (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  batch_id TEXT NOT NULL REFERENCES batches (id),
  UNIQUE (batch_id, station)
);
INSERT INTO new_batch_closures (ord, id, station, at, by, batch_id) SELECT ord, id, station, at, by, batch_id FROM batch_closures ORDER BY ord;
DROP TABLE batch_closures;
ALTER TABLE new_batch_closures RENAME TO batch_closures;
-- +goose StatementBegin
CREATE TRIGGER batch_closures_not_changed BEFORE UPDATE ON batch_closures BEGIN SELECT RAISE(ABORT, 'rows of batch_closures are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER batch_closures_not_removed BEFORE DELETE ON batch_closures BEGIN SELECT RAISE(ABORT, 'rows of batch_closures are never removed'); END;
-- +goose StatementEnd

CREATE TABLE new_necks (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  batch_id TEXT NOT NULL REFERENCES batches (id), serial TEXT NOT NULL,
  UNIQUE (serial, station)
);
INSERT INTO new_necks (ord, id, station, at, by, batch_id, serial) SELECT ord, id, station, at, by, batch_id, serial FROM necks ORDER BY ord;
DROP TABLE necks;
ALTER TABLE new_necks RENAME TO necks;
CREATE INDEX necks_batch ON necks (batch_id, ord);
-- +goose StatementBegin
CREATE TRIGGER necks_not_changed BEFORE UPDATE ON necks BEGIN SELECT RAISE(ABORT, 'rows of necks are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER necks_not_removed BEFORE DELETE ON necks BEGIN SELECT RAISE(ABORT, 'rows of necks are never removed'); END;
-- +goose StatementEnd

CREATE TABLE new_inspections (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, inspector TEXT NOT NULL,
  neck_id TEXT NOT NULL REFERENCES necks (id), attempt INTEGER NOT NULL, posture TEXT NOT NULL, handed TEXT NOT NULL,
  UNIQUE (neck_id, attempt, station)
);
INSERT INTO new_inspections (ord, id, station, at, inspector, neck_id, attempt, posture, handed)
SELECT ord, id, station, at, inspector, neck_id, attempt, posture, handed FROM inspections ORDER BY ord;
DROP TABLE inspections;
ALTER TABLE new_inspections RENAME TO inspections;
-- +goose StatementBegin
CREATE TRIGGER inspections_not_changed BEFORE UPDATE ON inspections BEGIN SELECT RAISE(ABORT, 'rows of inspections are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER inspections_not_removed BEFORE DELETE ON inspections BEGIN SELECT RAISE(ABORT, 'rows of inspections are never removed'); END;
-- +goose StatementEnd

CREATE TABLE new_alarm_acknowledgements (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  alarm_id TEXT NOT NULL REFERENCES alarms (id), note TEXT NOT NULL,
  UNIQUE (alarm_id, station)
);
INSERT INTO new_alarm_acknowledgements (ord, id, station, at, by, alarm_id, note) SELECT ord, id, station, at, by, alarm_id, note FROM alarm_acknowledgements ORDER BY ord;
DROP TABLE alarm_acknowledgements;
ALTER TABLE new_alarm_acknowledgements RENAME TO alarm_acknowledgements;
-- +goose StatementBegin
CREATE TRIGGER alarm_acknowledgements_not_changed BEFORE UPDATE ON alarm_acknowledgements BEGIN SELECT RAISE(ABORT, 'rows of alarm_acknowledgements are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER alarm_acknowledgements_not_removed BEFORE DELETE ON alarm_acknowledgements BEGIN SELECT RAISE(ABORT, 'rows of alarm_acknowledgements are never removed'); END;
-- +goose StatementEnd

CREATE TABLE new_outgoing_results (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  audit_id TEXT NOT NULL REFERENCES outgoing_audits (id), state TEXT NOT NULL, nonconforming INTEGER NOT NULL,
  may_reduce INTEGER NOT NULL, unsteady INTEGER NOT NULL, note TEXT NOT NULL,
  UNIQUE (audit_id, station)
);
INSERT INTO new_outgoing_results (ord, id, station, at, by, audit_id, state, nonconforming, may_reduce, unsteady, note)
SELECT ord, id, station, at, by, audit_id, state, nonconforming, may_reduce, unsteady, note FROM outgoing_results ORDER BY ord;
DROP TABLE outgoing_results;
ALTER TABLE new_outgoing_results RENAME TO outgoing_results;
-- +goose StatementBegin
CREATE TRIGGER outgoing_results_not_changed BEFORE UPDATE ON outgoing_results BEGIN SELECT RAISE(ABORT, 'rows of outgoing_results are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outgoing_results_not_removed BEFORE DELETE ON outgoing_results BEGIN SELECT RAISE(ABORT, 'rows of outgoing_results are never removed'); END;
-- +goose StatementEnd

PRAGMA legacy_alter_table = OFF;

-- Every table that refers to one of those, and they themselves.
CREATE TEMP TABLE orphans (of TEXT, row INTEGER, parent TEXT, reference INTEGER, CONSTRAINT "a row refers to one that is not there" CHECK (false));
INSERT INTO orphans SELECT f.* FROM sqlite_schema s JOIN pragma_foreign_key_check(s.name) f WHERE s.type = 'table' AND s.name <> 'characteristics';
DROP TABLE orphans;
