-- What befalls gauges between checks, several masters at a check, inspections in doubt after a failed check, and
-- calibration certificates with their files.
-- +goose Up
ALTER TABLE gauge_checks ADD COLUMN masters TEXT NOT NULL DEFAULT '';
ALTER TABLE gauge_checks ADD COLUMN last_reading INTEGER;
CREATE TABLE gauge_events (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  gauge_id TEXT NOT NULL, check_id TEXT NOT NULL, what TEXT NOT NULL, detail TEXT NOT NULL
);
CREATE INDEX gauge_events_gauge ON gauge_events (gauge_id, ord);
CREATE TABLE doubts (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  check_id TEXT NOT NULL REFERENCES gauge_checks (id), gauge_id TEXT NOT NULL,
  inspection_id TEXT NOT NULL REFERENCES inspections (id), neck_id TEXT NOT NULL REFERENCES necks (id),
  batch_id TEXT NOT NULL REFERENCES batches (id), after_reading INTEGER NOT NULL, upto_reading INTEGER NOT NULL
);
CREATE INDEX doubts_check ON doubts (check_id);
CREATE INDEX doubts_gauge ON doubts (gauge_id, ord);
CREATE INDEX doubts_neck ON doubts (neck_id);
CREATE INDEX doubts_batch ON doubts (batch_id);
CREATE TABLE doubt_clearances (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  neck_id TEXT NOT NULL REFERENCES necks (id), last_doubt INTEGER NOT NULL, reason TEXT NOT NULL
);
CREATE INDEX doubt_clearances_neck ON doubt_clearances (neck_id, last_doubt);
CREATE TABLE gauge_certificates (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  gauge_id TEXT NOT NULL, number TEXT NOT NULL, laboratory TEXT NOT NULL, issued INTEGER NOT NULL, due INTEGER NOT NULL,
  correction TEXT NOT NULL, u REAL NOT NULL, file_name TEXT NOT NULL, file_sha256 TEXT NOT NULL, file BLOB
);
CREATE INDEX gauge_certificates_gauge ON gauge_certificates (gauge_id, ord);

-- A doubt stands while a reading that it is about stands, nobody has cleared it and no later attempt has a verdict.
CREATE VIEW standing_doubts AS
SELECT d.* FROM doubts d JOIN inspections i ON i.id = d.inspection_id
WHERE EXISTS (SELECT 1 FROM readings r WHERE r.inspection_id = d.inspection_id AND r.gauge_id = d.gauge_id
    AND r.ord > d.after_reading AND r.ord <= d.upto_reading AND r.withdrawn = 0
    AND NOT EXISTS (SELECT 1 FROM readings s WHERE s.inspection_id = r.inspection_id AND s.supersedes = r.id))
  AND NOT EXISTS (SELECT 1 FROM doubt_clearances c WHERE c.neck_id = d.neck_id AND c.last_doubt >= d.ord)
  AND NOT EXISTS (SELECT 1 FROM inspections l JOIN verdicts v ON v.inspection_id = l.id WHERE l.neck_id = d.neck_id AND l.attempt > i.attempt);

-- +goose StatementBegin
CREATE TRIGGER gauge_events_not_changed BEFORE UPDATE ON gauge_events BEGIN SELECT RAISE(ABORT, 'rows of gauge_events are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER gauge_events_not_removed BEFORE DELETE ON gauge_events BEGIN SELECT RAISE(ABORT, 'rows of gauge_events are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER doubts_not_changed BEFORE UPDATE ON doubts BEGIN SELECT RAISE(ABORT, 'rows of doubts are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER doubts_not_removed BEFORE DELETE ON doubts BEGIN SELECT RAISE(ABORT, 'rows of doubts are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER doubt_clearances_not_changed BEFORE UPDATE ON doubt_clearances BEGIN SELECT RAISE(ABORT, 'rows of doubt_clearances are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER doubt_clearances_not_removed BEFORE DELETE ON doubt_clearances BEGIN SELECT RAISE(ABORT, 'rows of doubt_clearances are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER gauge_certificates_not_changed BEFORE UPDATE ON gauge_certificates BEGIN SELECT RAISE(ABORT, 'rows of gauge_certificates are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER gauge_certificates_not_removed BEFORE DELETE ON gauge_certificates BEGIN SELECT RAISE(ABORT, 'rows of gauge_certificates are never removed'); END;
-- +goose StatementEnd
