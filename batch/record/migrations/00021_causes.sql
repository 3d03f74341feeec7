-- What casts doubt has a row of its own: a failed check, a gauge that fell, a certificate, a person. A drop's doubt ends, or goes on as
-- the failed check's, by an answer of the next check. Certificates say how the gauge was found and left, and an import what its
-- gauges' checks tell of it.
-- +goose Up
PRAGMA legacy_alter_table = ON;

CREATE TABLE doubt_causes (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  kind TEXT NOT NULL, gauge_id TEXT NOT NULL, inspector TEXT NOT NULL, batch_id TEXT NOT NULL,
  from_at INTEGER NOT NULL, proof TEXT NOT NULL, to_at INTEGER NOT NULL, why TEXT NOT NULL, after TEXT NOT NULL, shift_mm REAL, masters TEXT NOT NULL
);
CREATE INDEX doubt_causes_gauge ON doubt_causes (gauge_id, kind);
-- A failed check of before is its doubts' cause under its own ID. Whether its zero was judged is not known of the oldest: it was
-- unless something had happened that may have moved it.
INSERT INTO doubt_causes (id, station, at, by, kind, gauge_id, inspector, batch_id, from_at, proof, to_at, why, after, shift_mm, masters)
SELECT c.id, c.station, c.at, c.by, 'failed check', c.gauge_id, '', '',
  coalesce((SELECT p.at FROM gauge_checks p WHERE p.gauge_id = c.gauge_id AND p.ord < c.ord AND p.good = 1 ORDER BY p.ord DESC LIMIT 1), 0),
  iif(EXISTS (SELECT 1 FROM gauge_checks p WHERE p.gauge_id = c.gauge_id AND p.ord < c.ord AND p.good = 1), 'check', ''), c.at, c.why, c.after,
  CASE WHEN coalesce(c.zero_judged, c.after NOT IN ('reconnection', 'power-up', 'low battery', 'silence', 'drop', 'changed entry')) THEN c.shift_mm END, c.masters
FROM gauge_checks c WHERE c.id IN (SELECT check_id FROM doubts) ORDER BY c.ord;

-- A doubt is about the readings of one gauge, or of all where gauge_id is empty, by their order numbers; the two are equal of an
-- inspection that was taken in without readings.
CREATE TABLE new_doubts (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  cause_id TEXT NOT NULL REFERENCES doubt_causes (id), gauge_id TEXT NOT NULL,
  inspection_id TEXT NOT NULL REFERENCES inspections (id), neck_id TEXT NOT NULL REFERENCES necks (id),
  batch_id TEXT NOT NULL REFERENCES batches (id), after_reading INTEGER NOT NULL, upto_reading INTEGER NOT NULL
);
INSERT INTO new_doubts (ord, id, station, at, by, cause_id, gauge_id, inspection_id, neck_id, batch_id, after_reading, upto_reading)
SELECT ord, id, station, at, by, check_id, gauge_id, inspection_id, neck_id, batch_id, after_reading, upto_reading FROM doubts ORDER BY ord;
DROP TABLE doubts;
ALTER TABLE new_doubts RENAME TO doubts;
CREATE INDEX doubts_cause ON doubts (cause_id);
CREATE INDEX doubts_gauge ON doubts (gauge_id, ord);
CREATE INDEX doubts_neck ON doubts (neck_id);
CREATE INDEX doubts_batch ON doubts (batch_id);

-- What a gauge's first check after it fell tells of it: 'proved' ends the drop's doubt, after 'failed' it is the check's own, 'not
-- judged' leaves it.
CREATE TABLE doubt_answers (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  cause_id TEXT NOT NULL REFERENCES doubt_causes (id), check_id TEXT NOT NULL REFERENCES gauge_checks (id), outcome TEXT NOT NULL
);
CREATE INDEX doubt_answers_cause ON doubt_answers (cause_id);
CREATE INDEX doubt_answers_check ON doubt_answers (check_id);

PRAGMA legacy_alter_table = OFF;

-- A doubt stands while a reading that it is about stands, or there is none to measure again; no check of the gauge has answered it, no
-- person cleared it, and no later attempt has a verdict that counts.
DROP VIEW standing_doubts;
CREATE VIEW standing_doubts AS
SELECT d.* FROM doubts d JOIN inspections i ON i.id = d.inspection_id
WHERE (d.after_reading = d.upto_reading OR EXISTS (SELECT 1 FROM standing_readings r WHERE r.inspection_id = d.inspection_id
    AND (d.gauge_id = '' OR r.gauge_id = d.gauge_id) AND r.ord > d.after_reading AND r.ord <= d.upto_reading AND r.kind <> 'sweep'))
  AND NOT EXISTS (SELECT 1 FROM doubt_answers a WHERE a.cause_id = d.cause_id AND a.outcome <> 'not judged')
  AND NOT EXISTS (SELECT 1 FROM doubt_clearances c WHERE c.neck_id = d.neck_id AND c.last_doubt >= d.ord)
  AND NOT EXISTS (SELECT 1 FROM inspections l JOIN counting_verdicts v ON v.inspection_id = l.id
    WHERE l.neck_id = d.neck_id AND l.attempt > i.attempt);

ALTER TABLE gauge_certificates ADD COLUMN found TEXT NOT NULL DEFAULT '';
ALTER TABLE imports ADD COLUMN checks TEXT NOT NULL DEFAULT '';

-- +goose StatementBegin
CREATE TRIGGER doubts_not_changed BEFORE UPDATE ON doubts BEGIN SELECT RAISE(ABORT, 'rows of doubts are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER doubts_not_removed BEFORE DELETE ON doubts BEGIN SELECT RAISE(ABORT, 'rows of doubts are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER doubt_causes_not_changed BEFORE UPDATE ON doubt_causes BEGIN SELECT RAISE(ABORT, 'rows of doubt_causes are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER doubt_causes_not_removed BEFORE DELETE ON doubt_causes BEGIN SELECT RAISE(ABORT, 'rows of doubt_causes are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER doubt_answers_not_changed BEFORE UPDATE ON doubt_answers BEGIN SELECT RAISE(ABORT, 'rows of doubt_answers are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER doubt_answers_not_removed BEFORE DELETE ON doubt_answers BEGIN SELECT RAISE(ABORT, 'rows of doubt_answers are never removed'); END;
-- +goose StatementEnd

CREATE TEMP TABLE orphans (of TEXT, row INTEGER, parent TEXT, reference INTEGER, CONSTRAINT "a row refers to one that is not there" CHECK (false));
INSERT INTO orphans SELECT f.* FROM sqlite_schema s JOIN pragma_foreign_key_check(s.name) f WHERE s.type = 'table' AND s.name LIKE 'doubt%';
DROP TABLE orphans;
