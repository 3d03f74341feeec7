-- Alarms, and who acknowledged them; the base periods that control limits were frozen from.
-- +goose Up
CREATE TABLE alarms (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL,
  kind TEXT NOT NULL, subject TEXT NOT NULL, batch_id TEXT REFERENCES batches (id), gauge_id TEXT NOT NULL, about TEXT NOT NULL,
  serial TEXT NOT NULL, seen INTEGER NOT NULL, words TEXT NOT NULL, look_at TEXT NOT NULL
);
CREATE INDEX alarms_subject ON alarms (subject, ord);
CREATE INDEX alarms_batch ON alarms (batch_id, ord);
CREATE TABLE alarm_acknowledgements (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  alarm_id TEXT NOT NULL UNIQUE REFERENCES alarms (id), note TEXT NOT NULL
);
CREATE TABLE chart_bases (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  batch_id TEXT NOT NULL REFERENCES batches (id), first INTEGER NOT NULL, last INTEGER NOT NULL, reason TEXT NOT NULL
);
CREATE INDEX chart_bases_batch ON chart_bases (batch_id, ord);
-- +goose StatementBegin
CREATE TRIGGER alarms_not_changed BEFORE UPDATE ON alarms BEGIN SELECT RAISE(ABORT, 'rows of alarms are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER alarms_not_removed BEFORE DELETE ON alarms BEGIN SELECT RAISE(ABORT, 'rows of alarms are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER alarm_acknowledgements_not_changed BEFORE UPDATE ON alarm_acknowledgements BEGIN SELECT RAISE(ABORT, 'rows of alarm_acknowledgements are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER alarm_acknowledgements_not_removed BEFORE DELETE ON alarm_acknowledgements BEGIN SELECT RAISE(ABORT, 'rows of alarm_acknowledgements are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER chart_bases_not_changed BEFORE UPDATE ON chart_bases BEGIN SELECT RAISE(ABORT, 'rows of chart_bases are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER chart_bases_not_removed BEFORE DELETE ON chart_bases BEGIN SELECT RAISE(ABORT, 'rows of chart_bases are never removed'); END;
-- +goose StatementEnd
