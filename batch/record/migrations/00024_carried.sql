-- What an inspection carries over from an earlier one of its neck: the attempt that a value was measured in, 0 for its own; which readings of that
-- attempt such values rest on, by gauge and order number; and inspections that somebody had measured whole. A doubt about readings that a later
-- verdict's values rest on stands on.
-- +goose Up
ALTER TABLE characteristics ADD COLUMN carried_from INTEGER NOT NULL DEFAULT 0;

CREATE TABLE carried (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL,
  verdict_id TEXT NOT NULL REFERENCES verdicts (id), inspection_id TEXT NOT NULL REFERENCES inspections (id), gauge_id TEXT NOT NULL,
  after_reading INTEGER NOT NULL, upto_reading INTEGER NOT NULL
);
CREATE INDEX carried_verdict ON carried (verdict_id);
CREATE INDEX carried_inspection ON carried (inspection_id);

CREATE TABLE whole_inspections (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  inspection_id TEXT NOT NULL REFERENCES inspections (id)
);
CREATE INDEX whole_inspections_inspection ON whole_inspections (inspection_id);

-- A doubt stands while a reading that it is about stands, or there is none to measure again; no check of the gauge has answered it, no
-- person cleared it, and no later attempt has a verdict that counts and carries nothing over that rests on those readings.
DROP VIEW standing_doubts;
CREATE VIEW standing_doubts AS
SELECT d.* FROM doubts d JOIN inspections i ON i.id = d.inspection_id
WHERE (d.after_reading = d.upto_reading OR EXISTS (SELECT 1 FROM standing_readings r WHERE r.inspection_id = d.inspection_id
    AND (d.gauge_id = '' OR r.gauge_id = d.gauge_id) AND r.ord > d.after_reading AND r.ord <= d.upto_reading AND r.kind <> 'sweep'))
  AND NOT EXISTS (SELECT 1 FROM doubt_answers a WHERE a.cause_id = d.cause_id AND a.outcome <> 'not judged')
  AND NOT EXISTS (SELECT 1 FROM doubt_clearances c WHERE c.neck_id = d.neck_id AND c.last_doubt >= d.ord)
  AND NOT EXISTS (SELECT 1 FROM inspections l JOIN counting_verdicts v ON v.inspection_id = l.id
    WHERE l.neck_id = d.neck_id AND l.attempt > i.attempt
      AND NOT EXISTS (SELECT 1 FROM carried k WHERE k.verdict_id = v.id AND k.inspection_id = d.inspection_id
        AND (d.gauge_id = '' OR k.gauge_id = d.gauge_id) AND k.upto_reading > d.after_reading AND k.after_reading < d.upto_reading));

-- +goose StatementBegin
CREATE TRIGGER carried_not_changed BEFORE UPDATE ON carried BEGIN SELECT RAISE(ABORT, 'rows of carried are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER carried_not_removed BEFORE DELETE ON carried BEGIN SELECT RAISE(ABORT, 'rows of carried are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER whole_inspections_not_changed BEFORE UPDATE ON whole_inspections BEGIN SELECT RAISE(ABORT, 'rows of whole_inspections are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER whole_inspections_not_removed BEFORE DELETE ON whole_inspections BEGIN SELECT RAISE(ABORT, 'rows of whole_inspections are never removed'); END;
-- +goose StatementEnd
