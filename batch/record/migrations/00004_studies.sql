-- Gauge studies: a plan frozen at its start, readings as they were taken, how it ended, and whether its outcome became the
-- gauge's uncertainty.
-- +goose Up
CREATE TABLE studies (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  gauge_id TEXT NOT NULL, plan TEXT NOT NULL
);
CREATE INDEX studies_gauge ON studies (gauge_id, ord);
CREATE TABLE study_events (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  study_id TEXT NOT NULL REFERENCES studies (id), state TEXT NOT NULL, reason TEXT NOT NULL
);
CREATE INDEX study_events_study ON study_events (study_id, ord);
CREATE TABLE study_readings (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  study_id TEXT NOT NULL REFERENCES studies (id), seq INTEGER NOT NULL, part TEXT NOT NULL, appraiser TEXT NOT NULL,
  trial TEXT NOT NULL, reference_mm REAL NOT NULL, value_mm REAL NOT NULL, check_id TEXT NOT NULL, decoder TEXT NOT NULL,
  raw BLOB, sent TEXT NOT NULL, unit TEXT NOT NULL, withdrawn INTEGER NOT NULL, supersedes TEXT REFERENCES study_readings (id),
  UNIQUE (study_id, seq)
);
-- +goose StatementBegin
CREATE TRIGGER studies_not_changed BEFORE UPDATE ON studies BEGIN SELECT RAISE(ABORT, 'rows of studies are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER studies_not_removed BEFORE DELETE ON studies BEGIN SELECT RAISE(ABORT, 'rows of studies are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER study_events_not_changed BEFORE UPDATE ON study_events BEGIN SELECT RAISE(ABORT, 'rows of study_events are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER study_events_not_removed BEFORE DELETE ON study_events BEGIN SELECT RAISE(ABORT, 'rows of study_events are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER study_readings_not_changed BEFORE UPDATE ON study_readings BEGIN SELECT RAISE(ABORT, 'rows of study_readings are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER study_readings_not_removed BEFORE DELETE ON study_readings BEGIN SELECT RAISE(ABORT, 'rows of study_readings are never removed'); END;
-- +goose StatementEnd
